// Sends what this tablet keeps: one at a time, the oldest first, a stop before all else. Only the recorder's yes takes it away.
import * as store from './outbox_store.js';

const yes = status => status >= 200 && status < 300;
const no = status => [400, 403, 404, 409, 410, 413, 415, 421, 422, 423].includes(status);   // understood, and refused
const FIRST = 1000, LONGEST = 30000, PATIENCE = 10000, FOR_PHOTOS = 60000;
const STUCK = 3;                                          // answers in a row by a recorder that is there and cannot take it

export const status = { pending: 0, parked: 0, stuck: false, signedOut: false };
export const events = new EventTarget();                  // change: {rows}; answer: {entry, status, told, live}
const waiters = new Map();                                // key -> what the page in front of the person waits with
const others = 'BroadcastChannel' in window ? new BroadcastChannel('outbox') : null;
let timer, pause = FIRST, running = false;

export async function changed() {
  const rows = await store.all(), before = JSON.stringify(status);
  status.pending = rows.filter(r => r.state === 'pending').length;
  status.parked = rows.filter(r => r.state === 'parked').length;
  status.stuck = rows.some(r => r.stuck >= STUCK);
  events.dispatchEvent(new CustomEvent('change', { detail: { rows, news: before !== JSON.stringify(status) } }));
}
export async function put(entry, photos) {
  const kept = await store.put(entry, photos);
  await changed();
  others?.postMessage('changed');
  return kept;
}
export async function forget(entry) { await store.drop(entry); await changed(); others?.postMessage('changed'); }

function headers(entry, live) {
  const own = entry.boot === store.BOOT ? { 'Kept-Age-Ms': String(Math.max(0, Math.round(store.mono() - entry.mono))) } : {};
  return { 'Idempotency-Key': entry.key, 'Kept-By': entry.by, 'Kept-Made': entry.made, 'Kept-Sent': new Date().toISOString(), 'Kept-After': entry.after ?? '', 'Kept-Hands': entry.hands ?? '',
    ...own, ...(live ? { 'HX-Request': 'true', Accept: 'text/html' } : { Accept: 'application/json' }) };
}
async function send(entry) {
  const body = new FormData(), live = waiters.has(entry.key);
  for (const [name, value] of entry.fields) body.append(name, value);
  for (const [name, blob] of await store.photosOf(entry)) body.append(name, blob, 'photo.jpg');
  const signal = AbortSignal.timeout(entry.photos.length ? FOR_PHOTOS : PATIENCE);
  const answer = await fetch(entry.url, { method: 'POST', body, signal, credentials: 'same-origin', headers: headers(entry, live) });
  return { status: answer.status, headers: answer.headers, text: await answer.text() };       // a whole answer, or none
}
function told(answer) {                                   // a refusal is the same four texts, wherever it comes from
  try { return JSON.parse(answer.text); } catch { /* drawn as a page: its own place for it */ }
  const said = new DOMParser().parseFromString(answer.text, 'text/html').querySelector('#told p');
  return { sentence: said?.textContent.replace(/\s+/g, ' ').trim() ?? '' };
}
async function settle(entry, answer) {
  const refused = no(answer.status), words = refused ? told(answer) : null;
  if (refused) await store.change(entry.seq, { state: 'parked', status: answer.status, sentence: words.sentence });
  else await store.drop(entry);
  const waiter = waiters.get(entry.key);
  waiters.delete(entry.key);
  waiter?.(answer);
  const detail = { entry: { ...entry, sentence: words?.sentence }, status: answer.status, live: !!waiter };
  events.dispatchEvent(new CustomEvent('answer', { detail }));
  others?.postMessage({ ...detail, live: false });
}
function first(rows) {                                    // what was refused holds back what was entered after it on that step
  const held = new Set(rows.filter(r => r.state === 'parked').map(r => `${r.run}/${r.step}`));
  const waiting = rows.filter(r => r.state === 'pending');
  return waiting.find(r => r.sort === 'stop') ?? waiting.find(r => !held.has(`${r.run}/${r.step}`));
}
async function drain() {
  for (let entry = first(await store.all()); entry; entry = first(await store.all())) {
    let answer = null;
    try { answer = await send(entry); } catch { /* no link, or no answer in time */ }
    status.signedOut = answer?.status === 401;
    if (!answer || !(yes(answer.status) || no(answer.status))) {
      await store.change(entry.seq, { tries: entry.tries + 1, stuck: answer?.status >= 500 ? entry.stuck + 1 : 0 });
      events.dispatchEvent(new CustomEvent('missed', { detail: { entry, status: answer?.status ?? 0 } }));
      return changed();
    }
    pause = FIRST;
    await settle(entry, answer);
    await changed();
  }
  return undefined;
}
export async function kick() {
  if (running) return;
  running = true;
  clearTimeout(timer);
  try { await store.alone(drain); } catch (broken) { console.warn('outbox', broken); } finally { running = false; }
  if (!first(await store.all())) { pause = FIRST; return; }
  timer = setTimeout(kick, pause * (0.7 + Math.random() * 0.6));
  pause = Math.min(pause * 2, LONGEST);
}
export function now() { pause = FIRST; return kick(); }

// A stop waits for nothing that is under way: sent twice, it still counts once.
export async function urgent(key) {
  const entry = (await store.all()).find(row => row.key === key);
  try {
    const answer = await send(entry);
    if (!yes(answer.status) && !no(answer.status)) throw new Error(String(answer.status));
    await settle(entry, answer);
  } catch { events.dispatchEvent(new CustomEvent('missed', { detail: { entry, status: 0 } })); }
  await changed();
  return now();
}

// Resolves with the recorder's answer, or with null when it has not come in time: then it is kept, and no more than that.
export function answerTo(entry, wait) {
  const answered = new Promise(ok => { waiters.set(entry.key, ok); });
  const late = new Promise(ok => { setTimeout(ok, wait, null); });
  now();
  return Promise.race([answered, late]).then(answer => { waiters.delete(entry.key); return answer; });
}
function heard({ data }) {                                // another tab of this tablet has sent something
  if (data !== 'changed') {
    const waiter = waiters.get(data.entry.key);
    waiters.delete(data.entry.key);
    waiter?.({ status: data.status, elsewhere: true });
    events.dispatchEvent(new CustomEvent('answer', { detail: data }));
  }
  changed();
}
export function start() {
  others?.addEventListener('message', heard);
  for (const [at, what] of [[window, 'online'], [window, 'pageshow'], [window, 'focus'], [document, 'visibilitychange']]) at.addEventListener(what, now);
  changed().then(kick);
}
