// Keeps the pages of an orchard that were opened, for times without signal. The server is always asked first; what was
// kept is shown only when it does not answer. Signing out clears all of it.
"use strict";

const SHELF = "underbough";
const PATIENCE = 8000; // ms; then what was kept is shown, if there is any
const ANY = { ignoreVary: true }; // one browser, one person: how it was packed or by whom it was asked is all the same
const KEPT_PAGES = /^\/at\/[a-z0-9-]+\/(walk|this-week)$/;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const asked = event.request;
  const address = new URL(asked.url);
  if (asked.method !== "GET" || address.origin !== self.location.origin) return;
  if (address.pathname.startsWith("/static/")) event.respondWith(keptFirst(asked));
  else if (asked.mode === "navigate" && KEPT_PAGES.test(address.pathname)) event.respondWith(serverFirst(asked, address));
});

// A file's address changes with its content, so what is kept under an address is right. A page that was kept before the
// files changed still finds them without signal, under their newer address.
async function keptFirst(asked) {
  const shelf = await caches.open(SHELF);
  const kept = await shelf.match(asked, ANY);
  if (kept) return kept;
  try {
    const answer = await fetch(asked);
    if (answer.ok) {
      const name = new URL(asked.url).pathname;
      const old = (await shelf.keys()).filter((one) => new URL(one.url).pathname === name);
      await shelf.put(asked, answer.clone());
      await Promise.all(old.map((one) => shelf.delete(one, ANY)));
    }
    return answer;
  } catch (fault) {
    const newer = await shelf.match(asked, { ...ANY, ignoreSearch: true });
    if (newer) return newer;
    throw fault;
  }
}

async function serverFirst(asked, address) {
  const shelf = await caches.open(SHELF);
  const kept = await shelf.match(address.pathname, ANY);
  const fresh = fetch(asked).then(async (answer) => {
    if (answer.ok && answer.type === "basic" && !address.search) await shelf.put(address.pathname, answer.clone());
    return answer;
  });
  if (!kept) return fresh;
  const tired = new Promise((give) => { setTimeout(() => give(kept), PATIENCE); });
  return Promise.race([fresh, tired]).catch(() => kept);
}
