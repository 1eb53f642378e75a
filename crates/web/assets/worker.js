// Before this stand SHELL, our files, and LASTS, how long a page may be shown, in ms.
"use strict";

const FILES = "files-" + SHELL.join("").split("").reduce((sum, c) =>
  (Math.imul(sum, 31) + c.charCodeAt(0)) | 0, 7);
const PAGES = "pages";
const MOST = 40;
// Pages of today: they are read, and each says when it was made.
const KEPT = /^\/(today|parts|card\/[^/]+)?$/;
const AT = "x-kept-at";

addEventListener("install", (event) => {
  event.waitUntil(caches.open(FILES).then((all) => all.addAll(SHELL)).then(() => skipWaiting()));
});

addEventListener("activate", (event) => {
  const old = (name) => name.startsWith("files-") && name !== FILES;
  event.waitUntil(caches.keys()
    .then((names) => Promise.all(names.filter(old).map((name) => caches.delete(name))))
    .then(() => clients.claim()));
});

const away = async () => (await caches.match(SHELL[0])) || Response.error();

// Keeps a copy of a page, with the time, and not more of them than a few.
const keep = async (url, answer) => {
  const headers = new Headers(answer.headers);
  headers.set(AT, String(Date.now()));
  headers.delete("content-encoding");
  const pages = await caches.open(PAGES);
  await pages.put(url, new Response(await answer.text(), { headers }));
  const keys = await pages.keys();
  for (const key of keys.slice(0, Math.max(0, keys.length - MOST))) await pages.delete(key);
};

// A page that was kept, marked with the time at which it was made.
const old = async (url) => {
  const pages = await caches.open(PAGES);
  const found = await pages.match(url, { ignoreVary: true });
  if (!found) return away();
  const at = Number(found.headers.get(AT));
  if (!(Date.now() - at < LASTS)) {
    await pages.delete(url);
    return away();
  }
  const text = (await found.text()).replace("<body", `<body data-old="${at}"`);
  return new Response(text, { headers: found.headers });
};

const page = async (event, url) => {
  // Whoever has to sign in finds nothing of whoever was there before.
  if (url.pathname === "/sign-in") await caches.delete(PAGES);
  let answer;
  try {
    answer = await fetch(event.request);
  } catch {
    return url.pathname === "/sign-in" ? away() : old(url.href);
  }
  if (answer.ok && !answer.redirected && KEPT.test(url.pathname)) {
    event.waitUntil(keep(url.href, answer.clone()));
  }
  return answer;
};

const file = async (request) => (await caches.match(request)) || fetch(request);

addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if (request.method === "POST") {
    const out = url.pathname.startsWith("/sign-out");
    const before = out ? caches.delete(PAGES) : Promise.resolve();
    if (out || request.mode === "navigate") {
      event.respondWith(before.then(() => fetch(request)).catch(away));
    }
  } else if (url.pathname.startsWith("/assets/")) {
    event.respondWith(file(request));
  } else if (request.mode === "navigate") {
    event.respondWith(page(event, url));
  }
});
