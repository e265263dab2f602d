// What this tablet keeps until the recorder has it: one IndexedDB, written to the disk before anything is sent.
import { uuid7 } from './key.js';

const NAME = 'mirrorwright', STRICT = { durability: 'strict' };
export const BOOT = uuid7();                              // this page's life: its own clock is no other's

const asked = r => new Promise((ok, no) => { r.onsuccess = () => ok(r.result); r.onerror = () => no(r.error); });
const done = t => new Promise((ok, no) => { t.oncomplete = () => ok(); t.onerror = t.onabort = () => no(t.error); });
export const mono = () => performance.timeOrigin + performance.now();

let opened;
function db() {
  return opened ??= new Promise((ok, no) => {
    const r = indexedDB.open(NAME, 1);
    r.onupgradeneeded = () => {                           // a later version carries the entries over, or is not opened
      r.result.createObjectStore('out', { keyPath: 'seq', autoIncrement: true }).createIndex('key', 'key', { unique: true });
      r.result.createObjectStore('photos');
      r.result.createObjectStore('meta');
    };
    r.onsuccess = () => { r.result.onversionchange = () => { r.result.close(); opened = null; }; ok(r.result); };
    r.onerror = () => { opened = null; no(r.error); };
  });
}
const tx = async (stores, mode) => (await db()).transaction(stores, mode, STRICT);
const line = e => `last:${e.run}/${e.step}/${e.part}`;

// Resolves only once it is on the disk. The same press twice is kept once; an entry knows the tablet's own one before it.
export async function put(entry, photos = {}) {
  const t = await tx(['out', 'photos', 'meta'], 'readwrite'), out = t.objectStore('out'), meta = t.objectStore('meta');
  const before = await asked(out.index('key').get(entry.key));
  if (before) return before;
  const kept = { state: 'pending', tries: 0, stuck: 0, ...entry, made: new Date().toISOString(), mono: mono(), boot: BOOT, photos: Object.keys(photos) };
  if (entry.sort === 'entry') {
    kept.after = await asked(meta.get(line(entry))) ?? '';
    meta.put(entry.key, line(entry));
  }
  for (const [name, blob] of Object.entries(photos)) t.objectStore('photos').put(blob, `${entry.key}/${name}`);
  kept.seq = await asked(out.add(kept));
  await done(t);
  return kept;
}
export async function all() {
  const t = await tx('out', 'readonly');
  return asked(t.objectStore('out').getAll());
}
export async function photosOf(entry) {
  const t = await tx('photos', 'readonly');
  return Promise.all(entry.photos.map(async name => [name, await asked(t.objectStore('photos').get(`${entry.key}/${name}`))]));
}
// Changed only while it is there: what another tab has sent and taken away does not come back.
export async function change(seq, changes) {
  const t = await tx('out', 'readwrite'), out = t.objectStore('out'), kept = await asked(out.get(seq));
  if (kept) out.put({ ...kept, ...changes });
  await done(t);
}
export async function drop(entry) {
  const t = await tx(['out', 'photos'], 'readwrite');
  t.objectStore('out').delete(entry.seq);
  for (const name of entry.photos) t.objectStore('photos').delete(`${entry.key}/${name}`);
  await done(t);
}
export async function remember(name, value) {
  const t = await tx('meta', 'readwrite');
  t.objectStore('meta').put(value, name);
  await done(t);
}
export async function recall(name) {
  const t = await tx('meta', 'readonly');
  return asked(t.objectStore('meta').get(name));
}
// One tab sends at a time. Without Web Locks (plain http) a lease in the database does it.
export async function alone(errand) {
  if (navigator.locks) return navigator.locks.request('outbox', { ifAvailable: true }, lock => lock && errand());
  const take = async () => {
    const t = await tx('meta', 'readwrite'), meta = t.objectStore('meta'), lease = await asked(meta.get('lease'));
    const ours = !lease || lease.who === BOOT || lease.until < Date.now();
    if (ours) meta.put({ who: BOOT, until: Date.now() + 15000 }, 'lease');
    await done(t);
    return ours;
  };
  if (!await take()) return undefined;
  const beat = setInterval(take, 5000);
  try { return await errand(); } finally { clearInterval(beat); await remember('lease', null); }
}
