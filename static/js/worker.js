// Keeps the pages of the day for when there is no signal. What is sent from a phone goes through phone.js, never here.
"use strict";

const PAGES = "pages-1";
const FILES = "files-1";
const PATIENCE_MS = 2500; // longer than this without an answer, and the kept page is shown
const KEPT = [/^\/today\/$/, /^\/jobs\/\d+\/site\/(?!.*\.pdf$)/, /^\/site\/photos\/[0-9a-f-]+\/small\/$/];

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(tidy()));

async function tidy() {
  for (const name of await caches.keys()) if (name !== PAGES && name !== FILES) await caches.delete(name);
  await self.clients.claim();
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (url.pathname.startsWith("/static/") || url.pathname === "/manifest.webmanifest") event.respondWith(file(request));
  else if (KEPT.some((path) => path.test(url.pathname)) && !request.headers.has("HX-Request")) event.respondWith(page(request, url));
});

// Files: the kept copy at once, renewed behind it unless its name carries the hash of what is in it.
const HASHED = /\.[0-9a-f]{12}\.\w+$/;
async function file(request) {
  const cache = await caches.open(FILES);
  const kept = await cache.match(request);
  if (kept && HASHED.test(request.url)) return kept;
  const fresh = fetch(request).then((answer) => keep(cache, request, answer));
  if (!kept) return fresh;
  fresh.catch(() => {});
  return kept;
}

// Pages: fresh while there is signal, else as kept.
async function page(request, url) {
  const cache = await caches.open(PAGES);
  const kept = await cache.match(url.pathname, { ignoreVary: true });
  if (kept && !navigator.onLine) return kept;
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), kept ? PATIENCE_MS : 60_000);
  try {
    const answer = await fetch(request, { signal: stop.signal });
    if (answer.status >= 500) return kept || answer;
    return await keep(cache, url.pathname, answer);
  } catch (problem) {
    return kept || new Response(NOTHING, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
  } finally {
    clearTimeout(timer);
  }
}

async function keep(cache, key, answer) {
  if (answer.ok && !answer.redirected && answer.type === "basic") await cache.put(key, answer.clone());
  return answer;
}

const NOTHING = `<!doctype html><html lang="en-GB"><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>No signal</title><h1>No signal, and this page is not kept here</h1>
<p>What you did is on this phone and goes out when there is signal. <a href="/today/">Today's pages</a> are kept.</p></html>`;
