// Service worker: keeps the page working without a network after the first visit. The network comes first, so a
// new version is never held back; the copy kept here answers when it fails or stalls. `pkg/version.js`, written by the
// builder, names the version and the files. Knows nothing of jobs or paints, and keeps no query of an address.
// An address with `?nosw` retires it.

importScripts('./pkg/version.js');

// Several pages may share an origin, each in a folder of its own.
const PREFIX = `fanlap-${new URL(self.registration.scope).pathname}`;
const CACHE = PREFIX + self.fanlapVersion;
const FILES = self.fanlapFiles.map((file) => addressOf(file === 'index.html' ? './' : file));
let retired = false;

function addressOf(file) {
  return new URL(file, self.registration.scope).href;
}

/** The address a file is kept under: `./` and `index.html` are one, and queries do not count. */
function keyOf(url) {
  const bare = url.origin + url.pathname;
  return bare === addressOf('index.html') ? addressOf('./') : bare;
}

async function keepAll() {
  const cache = await caches.open(CACHE);
  await cache.addAll(FILES.map((file) => new Request(file, { cache: 'reload' })));
  await self.skipWaiting();
}

/** A cache of this folder's page: named by it, or, of an older version, by no folder. */
function isOwn(name) {
  return /^fanlap-[^/]*$/.test(name) || (name.startsWith(PREFIX) && !name.slice(PREFIX.length).includes('/'));
}

async function removeCaches(besides) {
  const names = await caches.keys();
  const old = names.filter((name) => isOwn(name) && name !== besides);
  await Promise.all(old.map((name) => caches.delete(name)));
}

async function takeOver() {
  await removeCaches(CACHE);
  await self.clients.claim();
}

async function retire() {
  retired = true;
  await self.registration.unregister();
  await removeCaches(null);
}

async function keep(key, response) {
  if (!(await caches.has(CACHE)) || retired) return;
  const cache = await caches.open(CACHE);
  await cache.put(key, response);
}

/** A network that does not answer within this many ms stalls, and is not waited for again for a while. */
const PATIENCE = 1000;
const STALLS_FOR = 15_000;
let stalledUntil = 0;

/** The kept copy of a file, once the network has been given its time; nothing where none is kept. */
async function onceStalled(key) {
  const kept = await caches.match(key, { cacheName: CACHE });
  if (!kept) return undefined;
  if (Date.now() > stalledUntil) await new Promise((then) => setTimeout(then, PATIENCE));
  return kept;
}

async function answer(event, key) {
  const network = fetch(event.request).catch(() => undefined);
  event.waitUntil(network);
  const stalled = onceStalled(key).then((kept) => kept ?? network);
  const late = stalled.then((response) => ({ response, late: true }));
  const first = await Promise.race([network.then((response) => ({ response })), late]);
  const fresh = first.late ? undefined : first.response;
  stalledUntil = first.late && first.response ? Date.now() + STALLS_FOR : 0;
  if (fresh?.status === 200 && !fresh.redirected && FILES.includes(key)) {
    event.waitUntil(keep(key, fresh.clone()));
  }
  return first.response ?? (await caches.match(key, { cacheName: CACHE })) ?? Response.error();
}

self.addEventListener('install', (event) => event.waitUntil(keepAll()));
self.addEventListener('activate', (event) => event.waitUntil(takeOver()));
self.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== self.location.origin) return;
  if (request.mode === 'navigate' && url.searchParams.has('nosw')) {
    event.waitUntil(retire());
    return;
  }
  event.respondWith(answer(event, keyOf(url)));
});
