// The service worker of this release; VERSION and FILES (addresses of its static files) stand above,
// written by inventory/views/installing.py. Pages come from the network first; without signal the
// copy that was kept for the one person who is signed in. A new version waits until somebody taps.

const STATIC = `static ${VERSION}`;
const NO_SIGNAL = "/no-signal";
const PATIENCE = 4_000; // ms that a page may take where a copy is kept
const PERSON = /<body[^>]*\sdata-person="([^"]+)"/;
const OURS = /(?:href|src)="(\/static\/[^"?#]+)"/g;
const LOOSE = { ignoreVary: true, ignoreSearch: true };
let noting = Promise.resolve(); // whose page came last is known before a copy is shown

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

async function install() {
  const cache = await caches.open(STATIC);
  await cache.addAll(FILES.map((address) => new Request(address, { cache: "no-cache" })));
  await cache.put(NO_SIGNAL, await fetch(NO_SIGNAL, { credentials: "omit" }));
}

self.addEventListener("message", ({ data }) => {
  if (data === "take") self.skipWaiting();
  // Files of a release that waits, or is on its way in, are not old ones.
  const newer = self.registration.waiting ?? self.registration.installing;
  if (data === "tidy" && !newer) tidy((name) => name.startsWith("static ") && name !== STATIC);
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if (request.mode === "navigate") {
    event.respondWith(request.method === "GET" ? page(event, url) : posted(request, url));
  } else if (request.method === "GET" && url.pathname.startsWith("/static/")) {
    event.respondWith(file(request));
  }
});

async function page(event, url) {
  await noting;
  const kept = await copyOf(url.pathname);
  try {
    const reply = await (kept ? inTime(fetch(event.request)) : fetch(event.request));
    if (kept && reply.status > 501) return kept; // nobody behind the proxy
    noting = note(url, reply.clone()).catch(() => {});
    event.waitUntil(noting);
    return reply;
  } catch {
    return kept ?? caches.match(NO_SIGNAL, LOOSE);
  }
}

/** The kept copy of a page; the home page leads a technician on to the own jobs. */
async function copyOf(path) {
  if (path !== "/") return caches.match(path, LOOSE);
  return (await caches.match("/my/", LOOSE)) && Response.redirect("/my/");
}

/** A form that was sent. Who signs out leaves no page here, with signal or without. */
async function posted(request, url) {
  if (url.pathname === "/sign-out") await tidy((name) => name.startsWith("pages "));
  return fetch(request).catch(() => caches.match(NO_SIGNAL, LOOSE));
}

/** See whose page came: copies of anybody else's go, the fresh one of this person's takes its place. */
async function note(url, reply) {
  if (!reply.ok || !reply.headers.get("Content-Type")?.startsWith("text/html")) return;
  const text = await reply.clone().text();
  const mine = `pages ${text.match(PERSON)?.[1] ?? ""}`;
  await tidy((name) => name.startsWith("pages ") && name !== mine);
  const copy = (await caches.has(mine)) && (await (await caches.open(mine)).match(url.pathname, LOOSE));
  if (!copy) return;
  for (const [, address] of text.matchAll(OURS)) {
    if (!(await caches.match(address, LOOSE))) return; // of a release that was not taken yet
  }
  await (await caches.open(mine)).put(url.pathname, reply);
}

async function file(request) {
  const kept = await caches.match(request.url, LOOSE);
  if (kept) return kept;
  const reply = await fetch(request);
  if (reply.ok) await (await caches.open(STATIC)).put(request.url, reply.clone());
  return reply;
}

async function tidy(gone) {
  for (const name of await caches.keys()) if (gone(name)) await caches.delete(name);
}

function inTime(answer) {
  return new Promise((resolve, reject) => {
    setTimeout(reject, PATIENCE);
    answer.then(resolve, reject);
  });
}
