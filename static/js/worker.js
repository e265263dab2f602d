// Reading copies only: pages of a run, and what they are drawn with. It never touches what is entered: that waits in the page.
// The server puts SHELL (the static files) and VERSION (their digest) above this line.
const STATIC = `static-${VERSION}`, PAGES = 'reading-copies', PATIENCE = 3000, DOWN = 5000;
let down = 0;                                             // until when the link is taken to be down, so that nothing waits in vain

self.addEventListener('install', e => e.waitUntil(caches.open(STATIC)
  .then(c => c.addAll(SHELL.map(u => new Request(u, { cache: 'reload' })))).then(() => self.skipWaiting())));
self.addEventListener('activate', e => e.waitUntil((async () => {
  for (const name of await caches.keys()) if (name !== STATIC && name !== PAGES) await caches.delete(name);
  await self.clients.claim();
  for (const client of await self.clients.matchAll({ type: 'window' })) await keep(client.url);
})()));
self.addEventListener('message', e => { if (e.data?.keep && new URL(e.data.keep).origin === location.origin) e.waitUntil(keep(e.data.keep)); });

const late = ms => new Promise((_, no) => { setTimeout(() => no(new Error('late')), ms); });
const mayKeep = answer => answer.ok && !answer.redirected && answer.headers.get('X-Reading-Copy') === 'yes';

async function keep(url) {
  try {
    const answer = await fetch(url, { credentials: 'same-origin' });
    if (mayKeep(answer)) await (await caches.open(PAGES)).put(url, answer);
  } catch { /* asked again by the page */ }
}
async function soon(request) {
  if (Date.now() < down) throw new Error('down');
  const answer = fetch(request);
  answer.catch(() => undefined);
  try { return await Promise.race([answer, late(PATIENCE)]); } catch (broken) { down = Date.now() + DOWN; throw broken; }
}
// Where there is no copy, nothing is gained by not waiting: a record is printed for longer than a page takes.
async function without(request) {
  try { return await fetch(request); } catch { return (await caches.match('/offline')) ?? Response.error(); }
}
async function page(request) {
  const copies = await caches.open(PAGES), copy = await copies.match(request.url, { ignoreVary: true });
  if (!copy) {
    const answer = await without(request);
    if (mayKeep(answer)) await copies.put(request.url, answer.clone());
    return answer;
  }
  try {
    const answer = await soon(request);
    if (mayKeep(answer)) await copies.put(request.url, answer.clone());
    return answer;
  } catch {
    const html = (await copy.text()).replace('<html ', `<html data-copy-of="${copy.headers.get('date') ?? ''}" `);
    return new Response(html, { status: 200, headers: copy.headers });
  }
}
async function part(request) {
  try { return await soon(request); } catch { return (await (await caches.open(STATIC)).match(request, { ignoreSearch: true })) ?? Response.error(); }
}
self.addEventListener('fetch', e => {
  const url = new URL(e.request.url);
  if (e.request.method !== 'GET' || url.origin !== location.origin) return;
  if (e.request.mode === 'navigate') e.respondWith(page(e.request));
  else if (url.pathname.startsWith('/static/')) e.respondWith(part(e.request));
});
