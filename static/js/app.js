// Small manners for every page. No page needs this file to work.
"use strict";

// Counted so that a test can assert that the page breaks none of its own rules.
window.policyViolations = [];
document.addEventListener("securitypolicyviolation", (event) => {
  window.policyViolations.push(`${event.violatedDirective} ${event.blockedURI}`);
});

// After an htmx swap or a full load, take the reader to the first field in error.
function focusFirstError(root) {
  const field = root.querySelector(".field.bad input, .field.bad select, .field.bad textarea");
  if (field) field.focus();
}
// Once the page has settled: an address that ends in #form would take the focus away again.
window.addEventListener("pageshow", () => focusFirstError(document));
document.addEventListener("htmx:afterSwap", (event) => focusFirstError(event.target));

// A second press of a sending button does nothing while the first is under way.
document.addEventListener("submit", (event) => {
  if (event.defaultPrevented) return;
  for (const button of event.target.querySelectorAll("button[type=submit]")) {
    setTimeout(() => { button.disabled = true; }, 0);
  }
});
window.addEventListener("pageshow", () => {
  for (const button of document.querySelectorAll("button[type=submit]")) button.disabled = false;
});

// Buttons that ask first: data-confirm holds the question.
document.addEventListener("click", (event) => {
  const asking = event.target.closest("[data-confirm]");
  if (asking && !window.confirm(asking.dataset.confirm)) event.preventDefault();
});

// Buttons that copy: data-copy names the element whose value is taken.
document.addEventListener("click", async (event) => {
  const button = event.target.closest("[data-copy]");
  if (!button) return;
  const source = document.getElementById(button.dataset.copy);
  await navigator.clipboard.writeText(source.value || source.textContent.trim());
  button.textContent = "Copied";
});
