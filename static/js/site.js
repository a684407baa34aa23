// On site the signal comes and goes: a tick that did not reach the office says so beside itself.
"use strict";

function sayUnsent(event, words) {
  const place = event.target.closest(".tick-row")?.querySelector(".unsent");
  if (!place) return;
  place.textContent = words;
  place.hidden = false;
}
document.addEventListener("htmx:sendError", (event) => sayUnsent(event, "Not saved: no signal. Press again when there is."));
document.addEventListener("htmx:timeout", (event) => sayUnsent(event, "Not saved: no answer. Press again."));
document.addEventListener("htmx:responseError", (event) => sayUnsent(event, "Not saved. Load the page again, then ring the office if it stays so."));

// Signed out in the meantime: go and sign in, rather than put that page into the row.
document.addEventListener("htmx:beforeSwap", (event) => {
  const asked = new URL(event.detail.pathInfo.requestPath, location.href).pathname;
  const answered = event.detail.xhr.responseURL && new URL(event.detail.xhr.responseURL).pathname;
  if (answered && answered !== asked) {
    event.detail.shouldSwap = false;
    location.reload();
  }
});
