// What is typed into a form with data-keep stays on this device until it is saved, so a lost connection loses nothing.
"use strict";

(() => {
  const PREFIX = "typed ";
  const SENDING = "sending";
  const DAYS_KEPT = 14;

  const values = (form) => {
    const typed = [...new FormData(form)].filter(([name]) => name !== "csrfmiddlewaretoken");
    return JSON.stringify(typed);
  };

  function forgetOld() {
    const oldest = Date.now() - DAYS_KEPT * 24 * 3600 * 1000;
    for (const key of Object.keys(localStorage)) {
      if (key.startsWith(PREFIX) && JSON.parse(localStorage.getItem(key)).at < oldest) localStorage.removeItem(key);
    }
  }

  function forgetSaved() {
    const key = sessionStorage.getItem(SENDING);
    sessionStorage.removeItem(SENDING);
    if (key && document.querySelector(".messages li.success")) localStorage.removeItem(key);
  }

  function putBack(form, typed) {
    for (const field of form.elements) {
      if (!field.name || field.name === "csrfmiddlewaretoken" || field.type === "submit") continue;
      const found = typed.filter(([name]) => name === field.name).map(([, value]) => value);
      if (field.type === "checkbox" || field.type === "radio") field.checked = found.includes(field.value);
      else if (found.length) field.value = found[0];
      field.dispatchEvent(new Event("input", { bubbles: true }));
    }
  }

  // Rows that the page does not show yet: it is asked for again with them.
  function askAgain(form, typed) {
    const order = form.dataset.keepRows;
    if (!order || typed.every(([name]) => form.elements[name])) return false;
    for (const field of [...form.elements]) if (field.name && field.name !== "csrfmiddlewaretoken") field.disabled = true;
    for (const [name, value] of [...typed, [order, "again"]]) {
      const field = document.createElement("input");
      [field.type, field.name, field.value] = ["hidden", name, value];
      form.append(field);
    }
    form.submit();
    return true;
  }

  function offer(form, key, kept) {
    const note = document.createElement("div");
    note.className = "note note-care cluster";
    note.setAttribute("role", "status");
    const words = document.createElement("p");
    const when = new Date(kept.at).toLocaleString("en-GB", { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });
    words.textContent = `Something typed here on ${when} was never saved.`;
    note.append(words);
    for (const [label, act] of [["Put it back", () => askAgain(form, JSON.parse(kept.typed)) || putBack(form, JSON.parse(kept.typed))], ["Forget it", () => localStorage.removeItem(key)]]) {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "btn btn-small";
      button.textContent = label;
      button.addEventListener("click", () => { act(); note.remove(); });
      note.append(button);
    }
    form.prepend(note);
  }

  // Sent without a connection, the page would give way to the browser's own error.
  function tellOffline(form, button) {
    form.querySelector("[data-offline]")?.remove();
    const note = document.createElement("p");
    note.className = "note note-care";
    note.dataset.offline = "";
    note.setAttribute("role", "alert");
    note.textContent = `No connection. What you typed is kept on this device: press ${button?.textContent.trim() || "Save"} again when the signal is back.`;
    const last = button?.closest(".actions, .cluster");
    if (last) last.before(note);
    else form.append(note);
    addEventListener("online", () => note.remove(), { once: true });
  }

  function keep(form) {
    const key = PREFIX + form.dataset.keep;
    const shown = values(form);
    const store = () => localStorage.setItem(key, JSON.stringify({ at: Date.now(), typed: values(form) }));
    if ("keepNow" in form.dataset) store(); // what is shown is what was typed, with a row more or less
    const kept = JSON.parse(localStorage.getItem(key));
    if (kept && kept.typed !== shown) offer(form, key, kept);
    form.addEventListener("input", store);
    form.addEventListener("submit", (event) => {
      if (navigator.onLine) return sessionStorage.setItem(SENDING, key);
      event.preventDefault();
      store();
      tellOffline(form, event.submitter);
    });
  }

  document.addEventListener("DOMContentLoaded", () => {
    forgetOld();
    forgetSaved();
    for (const form of document.querySelectorAll("form[data-keep]")) keep(form);
  });
})();
