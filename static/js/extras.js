// Keeps the sum above the button as extras are ticked. Without this file a button shows it, and nothing is accepted for a
// sum that was not on the page.
"use strict";

(() => {
  const form = document.querySelector("[data-sum-form]");
  if (!form) return;
  const said = form.querySelector("[data-sum]");
  const ticks = [...form.querySelectorAll("[name=extras]")];
  form.querySelector("[data-show-sum]").hidden = true;

  function reckon() {
    const chosen = form.dataset.pence ? null : form.querySelector("[name=option]:checked");
    for (const tick of ticks) tick.disabled = Boolean(chosen) && !tick.dataset.options.split(" ").includes(chosen.value);
    if (!form.dataset.pence && !chosen) return;
    let pence = Number(chosen ? chosen.dataset.pence : form.dataset.pence);
    for (const tick of ticks) if (tick.checked && !tick.disabled) pence += Number(tick.dataset.pence);
    const pounds = (pence / 100).toLocaleString("en-GB", { style: "currency", currency: "GBP" });
    said.replaceChildren("What you order comes to ", Object.assign(document.createElement("strong"), { textContent: pounds }), said.dataset.end);
    form.elements.sum_shown.value = (pence / 100).toFixed(2);
  }

  form.addEventListener("change", reckon);
  window.addEventListener("pageshow", reckon);
  reckon();
})();
