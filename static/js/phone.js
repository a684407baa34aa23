// On site the signal comes and goes. Everything done here is first written down on the phone, then sent in its order;
// the server knows each act by its key and does it once. Photographs follow by pieces. Nothing is dropped: what the
// server refuses is shown until it was read, what another person did is kept until they sign in again.
"use strict";

(() => {
  const person = document.querySelector("meta[name=person]")?.content;
  const status = document.getElementById("sent");
  if (!person || !window.indexedDB) return;

  // --- the store -------------------------------------------------------------------------------------------------
  const ACTS = "acts", PHOTOS = "photos", TOLD = "told", FACTS = "facts";
  const opened = new Promise((resolve, reject) => {
    const asked = indexedDB.open("site", 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore(ACTS, { keyPath: "order", autoIncrement: true });
      asked.result.createObjectStore(PHOTOS, { keyPath: "key" });
      asked.result.createObjectStore(TOLD, { keyPath: "key" });
      asked.result.createObjectStore(FACTS, { keyPath: "name" });
    };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  const run = async (stores, mode, work) => {
    const db = await opened;
    return new Promise((resolve, reject) => {
      const transaction = db.transaction(stores, mode, mode === "readwrite" ? { durability: "strict" } : {});
      const asked = work(transaction);
      transaction.oncomplete = () => resolve(asked?.result);
      transaction.onerror = transaction.onabort = () => reject(transaction.error);
    });
  };
  const all = (store) => run([store], "readonly", (t) => t.objectStore(store).getAll());
  const put = (store, value) => run([store], "readwrite", (t) => t.objectStore(store).put(value));
  const drop = (store, key) => run([store], "readwrite", (t) => t.objectStore(store).delete(key));

  // --- writing down ----------------------------------------------------------------------------------------------
  async function act(job, kind, payload, words, photo) {
    const key = crypto.randomUUID();
    const at = new Date().toISOString();
    if (photo) await put(PHOTOS, { key: crypto.randomUUID(), job, about: key, caption: "", at, person, blob: photo, received: 0 });
    await put(ACTS, { key, job, kind, payload, at, person, words });
    await show();
    send();
  }
  async function photograph(job, about, blob) {
    const at = new Date().toISOString();
    await put(PHOTOS, { key: crypto.randomUUID(), job, about, caption: "", at, person, blob, received: 0 });
    await show();
    send();
  }

  // --- sending ---------------------------------------------------------------------------------------------------
  const BATCH = 50, PIECE = 256 * 1024, ANSWER_MS = 15_000;
  const FIRST_WAIT_MS = window.siteWaitMs || 2_000;
  let trouble = "", waitMs = FIRST_WAIT_MS, timer = null, token = null, going = null;

  const ask = async (path, options = {}) => {
    const stop = new AbortController();
    const late = setTimeout(() => stop.abort(), window.siteAnswerMs || ANSWER_MS);
    try {
      return await fetch(path, { credentials: "same-origin", redirect: "error", ...options, signal: stop.signal });
    } finally {
      clearTimeout(late);
    }
  };
  class Later extends Error {}
  const SOMEBODY_ELSE = "Somebody else is signed in on this phone now.";

  async function greet() {
    const answer = await ask("/site/hello/");
    if (answer.status === 401) throw new Later("Signed out. Sign in and it goes out.");
    if (!answer.ok) throw new Later("The office does not answer.");
    const said = await answer.json();
    if (String(said.person) !== person) throw new Later(SOMEBODY_ELSE);
    token = said.token;
  }
  async function post(path, body, headers) {
    if (!token) await greet();
    let answer = await ask(path, { method: "POST", body, headers: { ...headers, "X-Person": person, "X-CSRFToken": token } });
    if (answer.status === 403) {
      await greet();
      answer = await ask(path, { method: "POST", body, headers: { ...headers, "X-Person": person, "X-CSRFToken": token } });
    }
    if (answer.status === 401) { token = null; throw new Later("Signed out. Sign in and it goes out."); }
    if (answer.status === 412) { token = null; throw new Later(SOMEBODY_ELSE); }
    return answer;
  }

  async function sendActs() {
    for (;;) {
      const mine = (await all(ACTS)).filter((one) => one.person === person).slice(0, BATCH);
      if (!mine.length) return;
      const acts = mine.map(({ key, job, kind, at, payload }) => ({ key, job, kind, at, payload }));
      const answer = await post("/site/acts/", JSON.stringify({ acts }), { "Content-Type": "application/json" });
      if (!answer.ok) throw new Later("The office does not take it just now.");
      const { results } = await answer.json();
      const byKey = new Map(results.map((one) => [one.key, one]));
      if (!mine.every((one) => byKey.has(one.key))) throw new Later("The office took only a part.");
      for (const one of mine) {
        const result = byKey.get(one.key);
        if (result.outcome !== "applied" || result.told) await put(TOLD, { key: one.key, words: one.words, told: result.told, outcome: result.outcome });
        if (one.kind === "tick" && result.outcome === "applied") {
          await put(FACTS, { name: `tick:${one.payload.row}`, done: one.payload.done, at: new Date().toISOString() });
        }
        if (one.kind === "override" && result.outcome === "applied") {
          const passed = [...document.querySelectorAll(".tick-row[data-asked]")].find((row) => row.dataset.key === one.payload.row_key);
          if (passed) passed.dataset.passed = "";
        }
        await drop(ACTS, one.order);
        swap(result.html);
      }
      await show();
    }
  }
  async function sendPhotos() {
    for (const photo of (await all(PHOTOS)).filter((one) => one.person === person)) {
      const { key, job, blob } = photo;
      let offset = photo.received;
      for (;;) {
        const headers = {
          "Content-Type": "application/octet-stream", "X-Offset": String(offset), "X-Size": String(blob.size),
          "X-Taken": photo.at, "X-About": encodeURIComponent(photo.about), "X-Caption": encodeURIComponent(photo.caption),
        };
        const answer = await post(`/jobs/${job}/site/photos/${key}/`, blob.slice(offset, offset + PIECE), headers);
        if (answer.status === 422 || answer.status === 404) {
          const told = answer.status === 404 ? "The job is not among yours any more." : (await answer.json()).problem;
          await put(TOLD, { key, words: "A photograph", told, outcome: "refused" });
          break;
        }
        if (!answer.ok && answer.status !== 409) throw new Later("The office does not take the photograph just now.");
        const said = await answer.json();
        offset = said.received;
        if (said.done) break;
        await put(PHOTOS, { ...photo, received: offset });
        await show();
      }
      await drop(PHOTOS, key);
      await show();
    }
  }
  async function sendNow() {
    try {
      await sendActs();
      await sendPhotos();
      trouble = "";
      waitMs = FIRST_WAIT_MS;
    } catch (problem) {
      trouble = problem instanceof Later ? problem.message : "No signal.";
      clearTimeout(timer);
      timer = setTimeout(send, waitMs);
      waitMs = Math.min(waitMs * 2, 60_000);
    }
    await show();
  }
  // One tab sends at a time, and one round at a time: who comes meanwhile has it gone through once more.
  let again = false;
  function send() {
    if (going) { again = true; return going; }
    const alone = navigator.locks ? (work) => navigator.locks.request("site-send", work) : (work) => work();
    going = alone(sendNow).finally(() => {
      going = null;
      if (again) { again = false; send(); }
    });
    return going;
  }

  // --- showing ---------------------------------------------------------------------------------------------------
  function swap(html) {
    if (!html) return;
    const holder = document.createElement("template");
    holder.innerHTML = html;
    for (const fresh of holder.content.querySelectorAll("[id]")) {
      if (fresh.parentElement?.closest("[id]")) continue;
      document.getElementById(fresh.id)?.replaceWith(fresh);
    }
    window.htmx?.process(document.body);
  }
  function marked(form, done, isSent) {
    const row = form.closest(".tick-row");
    const button = form.querySelector("button");
    button.setAttribute("aria-pressed", String(done));
    if (button.matches(".tick")) {
      row.classList.toggle("done", done);
      button.innerHTML = done ? '<span aria-hidden="true">✓</span>' : "";
    }
    form.elements.done.value = done ? "0" : "1";
    const unsent = row.querySelector(".unsent");
    if (unsent && !isSent) { unsent.textContent = "Written down here, not sent yet."; unsent.hidden = false; }
  }
  // A page kept before a tick went out does not know of it yet.
  const madeAt = document.querySelector("meta[name=made-at]")?.content || "";
  async function catchUp() {
    if (!madeAt) return;
    const dayAgo = new Date(Date.now() - 86_400_000).toISOString();
    for (const fact of (await all(FACTS)).filter((one) => one.name.startsWith("tick:"))) {
      const form = new Date(fact.at) > new Date(madeAt) && formOf(fact.name.slice(5));
      if (form) marked(form, fact.done, true);
      if (fact.at < dayAgo) await drop(FACTS, fact.name);
    }
  }
  function formOf(key) {
    return [...document.querySelectorAll(".tick-form input[name=key]")].find((one) => one.value === key)?.form;
  }
  // What a hold point closes opens here as soon as its photographs, its tick or a reason are written down on the phone.
  function relock(acts, photos) {
    const here = (key) => photos.filter((one) => one.about === key).length;
    const passed = (key) => acts.some((one) => one.kind === "override" && one.payload.row_key === key);
    const settled = (key, asked) =>
      passed(key) || acts.some((one) => one.kind === "tick" && one.payload.row === key && one.payload.done && (one.payload.photos || 0) >= asked);
    for (const list of document.querySelectorAll(".ticks")) {
      let isClosed = false;
      for (const row of list.querySelectorAll(":scope > .tick-row[data-key]")) {
        setClosed(row, isClosed);
        if (!row.dataset.asked) continue;
        const { key, asked, there } = row.dataset;
        const count = Number(there) + here(key);
        const said = row.querySelector(".evidence strong");
        if (said) said.textContent = `${count} of ${asked} photos${here(key) ? `, ${here(key)} on this phone` : ""}`;
        const isOpen = "passed" in row.dataset || passed(key) || (row.classList.contains("done") && count >= Number(asked));
        isClosed = isClosed || !isOpen;
      }
    }
    for (const row of document.querySelectorAll("[data-lock]")) {
      const isSettled = settled(row.dataset.lock, Number(row.dataset.lockAsked));
      setClosed(row, !isSettled);
      if (isSettled) row.dataset.wasLocked = ""; // and stays open when what settled it has been sent
    }
  }
  function setClosed(row, wouldClose) {
    row.dataset.wasLocked ??= row.classList.contains("locked") ? "yes" : "";
    const isClosed = wouldClose && Boolean(row.dataset.wasLocked);
    row.classList.toggle("locked", isClosed);
    const button = row.querySelector("button.tick");
    if (button) button.disabled = isClosed && !row.classList.contains("done");
  }
  async function show() {
    const [acts, photos, told] = await Promise.all([all(ACTS), all(PHOTOS), all(TOLD)]);
    const mine = acts.filter((one) => one.person === person);
    const pictures = photos.filter((one) => one.person === person);
    for (const one of mine) {
      const form = one.kind === "tick" && formOf(one.payload.row);
      if (form) marked(form, one.payload.done);
    }
    relock(mine, pictures);
    if (!status) return;
    const others = acts.length - mine.length + photos.length - pictures.length;
    const parts = [];
    if (mine.length) parts.push(`${mine.length} ${mine.length === 1 ? "act" : "acts"}`);
    if (pictures.length) parts.push(`${pictures.length} ${pictures.length === 1 ? "photo" : "photos"}`);
    status.querySelector("summary span").textContent = parts.length
      ? `Not sent yet: ${parts.join(" and ")}. ${trouble}`.trim()
      : told.length ? "All sent, with something to read" : others ? "All yours is sent" : "All sent";
    status.hidden = false;
    status.dataset.state = parts.length ? "waiting" : told.length ? "told" : "sent";
    const list = status.querySelector("ul");
    list.replaceChildren(
      ...mine.map((one) => line(`${one.words}, ${clock(one.at)}`)),
      ...pictures.map((one) => line(`A photograph, ${clock(one.at)}: ${Math.round(100 * one.received / one.blob.size)} % sent`)),
      ...told.map(toldLine),
      ...(others ? [line(`${others} of somebody else, kept until they sign in on this phone again`)] : []),
    );
    document.documentElement.dataset.unsent = String(mine.length + pictures.length);
  }
  const clock = (at) => new Date(at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  function line(text) {
    const item = document.createElement("li");
    item.textContent = text;
    return item;
  }
  function toldLine(one) {
    const item = line(`${one.words}: ${one.told || "the office did not take it"} `);
    const button = document.createElement("button");
    button.type = "button";
    button.className = "btn btn-small";
    button.textContent = "I have read it";
    button.addEventListener("click", async () => { await drop(TOLD, one.key); await show(); });
    item.append(button);
    return item;
  }

  // --- what the page offers --------------------------------------------------------------------------------------
  const jobOf = (form) => Number(form.closest("[data-job]")?.dataset.job || document.querySelector("[data-job]")?.dataset.job);
  async function tick(form) {
    const row = form.closest(".tick-row");
    const key = form.elements.key.value;
    const done = form.elements.done.value === "1";
    const payload = { row: key, done, seen: form.dataset.seen || "" };
    if (row.dataset.asked) payload.photos = Number(row.dataset.there) + (await all(PHOTOS)).filter((one) => one.about === key).length;
    const words = `${row.querySelector(".title")?.textContent.trim() || "A step"}: ${done ? "done" : "not done"}`;
    await act(jobOf(form), "tick", payload, words);
  }
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.matches(".tick-form")) {
      event.preventDefault();
      event.stopImmediatePropagation();
      tick(form);
    } else if (form.matches("form[data-each]")) { // one press for many: each of them is an act of its own
      event.preventDefault();
      event.stopImmediatePropagation();
      for (const one of form.parentElement.querySelectorAll(form.dataset.each)) one.requestSubmit();
      form.hidden = true;
    } else if (form.matches("form[data-act]")) {
      event.preventDefault();
      event.stopImmediatePropagation();
      if (!form.reportValidity()) return;
      const payload = {};
      let photo = null;
      for (const [name, value] of new FormData(form)) {
        if (value instanceof File) photo = value.size ? value : null;
        else if (name !== "csrfmiddlewaretoken") payload[name] = value;
      }
      act(jobOf(form), form.dataset.act, payload, form.dataset.words || "A note", photo).then(() => {
        form.reset();
        form.querySelector(".kept")?.removeAttribute("hidden");
      });
    }
  }, true);
  document.addEventListener("change", (event) => {
    const input = event.target;
    if (!input.matches("input[type=file][data-about]") || !input.files.length) return;
    const files = [...input.files];
    Promise.all(files.map((file) => photograph(jobOf(input), input.dataset.about, file))).then(() => {
      input.value = "";
      const said = input.closest("label, form, .evidence")?.querySelector(".kept");
      if (said) { said.hidden = false; said.textContent = `${files.length === 1 ? "The photo is" : `${files.length} photos are`} written down here.`; }
    });
  });
  // Signing out leaves what is not sent on the phone, and takes the kept pages off it.
  document.addEventListener("submit", (event) => {
    if (!event.target.action?.endsWith("/sign-out/")) return;
    window.caches?.delete("pages-1");
  });

  // --- the pages of the days ahead: kept anew from Today, elsewhere when the last time is a while ago --------------
  const FRESH_MS = 10 * 60_000;
  async function keepPages() {
    if (!("serviceWorker" in navigator) || !window.caches) return;
    await navigator.serviceWorker.register("/worker.js");
    const facts = Object.fromEntries((await all(FACTS)).map((one) => [one.name, one.value]));
    if (facts.person && facts.person !== person) await caches.delete("pages-1");
    await put(FACTS, { name: "person", value: person });
    const isFresh = (await caches.match("/today/")) && Date.now() - Date.parse(facts["pages-kept-at"]) < FRESH_MS;
    if (isFresh && location.pathname !== "/today/") return;
    const answer = await ask("/site/pages/");
    if (!answer.ok) return;
    const { pages } = await answer.json();
    const cache = await caches.open("pages-1");
    for (const kept of await cache.keys()) if (!pages.includes(new URL(kept.url).pathname)) await cache.delete(kept);
    for (const path of pages) {
      const page = await ask(path);
      if (page.ok && !page.redirected) await cache.put(path, page);
    }
    await put(FACTS, { name: "pages-kept-at", value: new Date().toISOString() });
    document.documentElement.dataset.pagesKept = String(pages.length);
  }

  window.addEventListener("online", () => { waitMs = FIRST_WAIT_MS; send(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
  navigator.storage?.persist?.().catch(() => {});
  catchUp().then(show).then(send).then(keepPages).catch(() => {});
  window.siteQueue = { send, act, photograph };
})();
