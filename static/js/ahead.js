// The next steps that may be entered without a link, drawn by the recorder beforehand and kept on this tablet.
import { changes, link } from './link.js';
import * as store from './outbox_store.js';

const FEW = 8, REST = 10000;
let held = { run: '', seq: 0, cards: [] }, asked = -REST;

const bench = () => document.getElementById('bench');
const parse = html => [...new DOMParser().parseFromString(html, 'text/html').querySelectorAll('template[data-step]')]
  .map(t => ({ step: t.dataset.step, part: t.dataset.part, html: t.innerHTML }));
const place = card => `${card.step}/${card.part}`;

export const holds = run => held.run === run && held.run !== '';

async function load(run) {
  if (held.run === run) return;
  const kept = await store.recall(`ahead:${run}`).catch(() => null);
  held = { run: kept ? run : '', seq: kept?.seq ?? 0, cards: kept ? parse(kept.html) : [] };
}
function left() {
  const at = held.cards.findIndex(card => card.step === bench().dataset.step && card.part === bench().dataset.part);
  return at < 0 ? 0 : held.cards.length - at;
}
async function refresh() {
  const at = bench();
  if (!at || link.state !== 'linked' || at.dataset.by === '') return;
  const { run, seq } = at.dataset;
  await load(run);
  const enough = holds(run) && (Number(seq) === held.seq || left() >= FEW);
  if (enough || performance.now() - asked < REST) return;
  asked = performance.now();
  try {
    const answer = await fetch(`/runs/${run}/_ahead`, { headers: { 'HX-Request': 'true' }, signal: AbortSignal.timeout(8000) });
    if (!answer.ok) return;
    const html = await answer.text();
    await store.remember(`ahead:${run}`, { seq: Number(seq), html });
    held = { run, seq: Number(seq), cards: parse(html) };
  } catch { /* asked again soon */ }
}
// Puts the first card on the bench that nothing is kept for. False when there is none.
export async function show(taken) {
  const at = bench();
  if (!at) return false;
  await load(at.dataset.run);
  const card = held.cards.find(each => !taken.has(place(each)));
  if (!card) return false;
  const box = document.createElement('template');
  box.innerHTML = card.html;
  const next = box.content.querySelector('#bench');
  at.replaceWith(next);
  window.htmx.process(next);
  document.dispatchEvent(new CustomEvent('bench:shown'));
  next.querySelector('h1')?.focus({ preventScroll: true });
  window.scrollTo(0, 0);
  return true;
}
export function start() {
  changes.addEventListener('link', refresh);
  setInterval(refresh, 1000);
}
