// "Ready without the link" is said only when it is so: the reading copies are here, this page among them, and the steps ahead.
import { holds } from './ahead.js';
import { link } from './link.js';

const COPIES = 'reading-copies';
let state = 'no';

const WORDS = {
  yes: 'Ready to be used without the link.',
  no: 'Not yet ready to be used without the link.',
  insecure: 'Without the link this page works only until it is loaded anew: its address is not a secure one.',
  may: 'Ready to be used without the link. This browser may delete what is kept: open it from the home screen.',
};
async function look() {
  const bench = document.getElementById('bench');
  if (!bench) return 'no';
  if (!('serviceWorker' in navigator)) return 'insecure';
  const worker = await navigator.serviceWorker.register('/worker.js', { scope: '/' });
  if (!worker.active) return 'no';
  const copy = await (await caches.open(COPIES)).match(location.href);
  if (!copy) { if (link.state === 'linked') worker.active.postMessage({ keep: location.href }); return 'no'; }
  if (!holds(bench.dataset.run)) return 'no';
  return await navigator.storage?.persisted?.() ? 'yes' : 'may';
}
async function turn() {
  try { state = await look(); } catch { state = 'no'; }
  for (const line of document.querySelectorAll('[data-ready-words]')) {
    line.dataset.readyWords = state;
    line.textContent = WORDS[state];
  }
}
export function start() {
  navigator.storage?.persist?.().catch(() => undefined);
  turn();
  setInterval(turn, 500);
}
