// Asks the recorder what is new, and so knows the link. A form in use is never swapped; a stop shows over everything.
import { link, set } from './link.js';
import * as outbox from './outbox.js';
import { say, warn } from './say.js';
import * as touch from './touch.js';

const LIMIT = 6500, SOON = 3000, PAUSE = 300, AFTER_MISS = 500, AFTER_LOSS = 3000, LIVE = 5000;
let missed = 0;

const bench = () => document.getElementById('bench');
const busy = () => document.querySelector('[data-sent], .holding') !== null;

export function inUse(root = bench()) {
  if (!root) return false;
  if (root.contains(document.activeElement) && document.activeElement.matches('input, textarea, select')) return true;
  return [...root.querySelectorAll('input:not([type="hidden"]), textarea')]
    .some(i => (i.type === 'checkbox' || i.type === 'radio' ? i.checked !== i.defaultChecked : i.value !== i.defaultValue || i.files?.length));
}
async function show() {
  const at = bench();
  if (!at || busy()) return;
  await window.htmx.ajax('GET', at.dataset.self, { target: '#bench', swap: 'outerMorph' });
}
// News that arrives under a finger, or after what an act has already shown, is let go: the next turn brings it anew.
function guard(event) {
  const ctx = event.detail.ctx;
  if (ctx.request?.method !== 'GET' || !/id="bench"/.test(ctx.text ?? '')) return;
  const drawn = Number(/data-seq="([0-9]+)"/.exec(ctx.text)?.[1]);
  if (busy() || drawn < Number(bench()?.dataset.seq)) event.preventDefault();
}
// A stop shows at once, over whatever is being typed; the lines are in the page already.
function halt(stopped) {
  const cover = document.getElementById('halt');
  if (!cover || document.querySelector('[data-stopping]') || cover.hidden !== stopped) return;
  cover.hidden = !stopped;
  if (!stopped) return say('Work goes on.');
  const who = cover.querySelector('[data-sending]');
  if (!who.textContent) who.textContent = 'Someone on this run has stopped work.';
  warn('Work is stopped.');
  cover.querySelector('h1').focus();
}
async function news(answer) {
  halt(answer.stopped);
  const at = bench();
  if (!at || answer.seq <= Number(at.dataset.seq) || outbox.status.pending) return;
  if (!inUse()) return show();
  const button = document.getElementById('changed');
  if (button?.hidden) { button.hidden = false; say('Changed on another tablet.'); }
}
const words = () => (bench()?.dataset.saved ? `Linked. Saved ${bench().dataset.saved}` : 'Linked');

async function ask(strip) {
  const after = missed || link.state === 'checking' ? -1 : bench()?.dataset.seq ?? strip.dataset.after, unsent = outbox.status.pending + outbox.status.parked;
  const signal = AbortSignal.timeout(missed ? SOON : LIMIT);   // where the link is not known, it answers at once
  const answer = await fetch(`${strip.dataset.watch}?after=${after}&unsent=${unsent}&${touch.told()}`, { headers: { Accept: 'application/json' }, cache: 'no-store', signal });
  if (!answer.ok) throw new Error(String(answer.status));
  touch.wasTold();
  return answer.json();
}
let again;
async function turn(strip) {
  clearTimeout(again);
  try {
    const answer = await ask(strip);
    missed = 0;
    set('linked', words());
    await news(answer).catch(() => undefined);
    again = setTimeout(turn, PAUSE, strip);
  } catch {
    missed += 1;
    const lost = missed > 1;
    set(lost ? 'lost' : 'checking', lost ? 'LINK LOST' : 'Checking the link');
    again = setTimeout(turn, lost ? AFTER_LOSS : AFTER_MISS, strip);
  }
}

export function start(root) {
  root.addEventListener('click', e => { if (e.target.closest('#changed')) show(); });
  root.addEventListener('htmx:before:swap', guard);
  setInterval(() => { if (bench()?.dataset.live === 'yes' && missed === 0 && !inUse() && link.state === 'linked') show(); }, LIVE);
  const strip = root.querySelector('[data-watch]');
  if (strip) turn(strip);
}
