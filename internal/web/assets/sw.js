// Keeps pages that were opened on this device, so that they open again without the shop's
// computer. It runs over https only. The server writes the first lines: assets, version.
"use strict";
const shell = "buttonup-" + version, pages = "buttonup-pages", patience = 4000, fresh = 10 * 60 * 1000;
const never = /^\/(events|token|sw\.js|trust|pair|devices|people|photos?)(\/|$)|\/events$/;

self.addEventListener("install", (e) => {
  self.skipWaiting();
  e.waitUntil(caches.open(shell).then((c) => c.addAll(assets.concat("/offline"))));
});
self.addEventListener("activate", (e) => {
  e.waitUntil(caches.keys().then((names) => Promise.all(names.filter((n) => n !== shell && n !== pages).map((n) => caches.delete(n)))).then(() => self.clients.claim()));
});
self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || url.origin !== location.origin || never.test(url.pathname)) return;
  if (assets.includes(url.pathname)) {
    e.respondWith(caches.match(e.request).then((kept) => kept || fetch(e.request)));
    return;
  }
  if (e.request.mode === "navigate" || e.request.headers.get("HX-Request") || url.pathname.startsWith("/assets/")) e.respondWith(page(e.request, e));
});

async function page(request, e) {
  const stop = new AbortController(), limit = setTimeout(() => stop.abort(), patience);
  try {
    const answer = await fetch(request, { signal: stop.signal });
    clearTimeout(limit);
    // A device that was sent away keeps nothing.
    if (answer.status === 401) e.waitUntil(caches.delete(pages));
    if (answer.ok && !answer.redirected && (answer.headers.get("Content-Type") || "").startsWith("text/html")) {
      const copy = answer.clone();
      e.waitUntil(caches.open(pages).then((c) => c.put(plain(request.url), copy)));
    }
    return answer;
  } catch (failed) {
    clearTimeout(limit);
    const c = await caches.open(pages);
    const kept = (await c.match(plain(request.url), { ignoreVary: true })) || (await c.match(plain(request.url), { ignoreSearch: true, ignoreVary: true }));
    if (kept) return kept;
    if (request.mode === "navigate") return (await caches.match("/offline")) || Response.error();
    throw failed;
  }
}
// The lit cell and its like do not make another page.
function plain(address) {
  const url = new URL(address);
  url.hash = "";
  url.searchParams.delete("at");
  return url.href;
}

// A page names the pages that lead on from it, to be kept before they are needed.
self.addEventListener("message", (e) => {
  if (e.data && Array.isArray(e.data.keep)) e.waitUntil(keep(e.data.keep.slice(0, 80)));
});
async function keep(paths) {
  const c = await caches.open(pages);
  for (const path of paths) {
    const address = plain(new URL(path, location.origin)), url = new URL(address);
    if (url.origin !== location.origin || never.test(url.pathname)) continue;
    const there = await c.match(address, { ignoreVary: true });
    if (there && Date.now() - Date.parse(there.headers.get("Date")) < fresh) continue;
    const answer = await fetch(address).catch(() => null);
    if (!answer) return;
    if (answer.ok && !answer.redirected && (answer.headers.get("Content-Type") || "").startsWith("text/html")) await c.put(address, answer);
    await new Promise((go) => setTimeout(go, 100));
  }
}
