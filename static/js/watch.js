// Asks the recorder what is new. Shows the link as it is known: checking, linked, lost. A form in use is never swapped.
import { say, warn } from './say.js';

const LIMIT = 9000, PAUSE = 1000, AFTER_LOSS = 3000, LIVE = 5000;
let missed = 0;

const bench = () => document.getElementById('bench');
const busy = () => document.querySelector('[data-sent]') !== null;

export function inUse(root = bench()) {
  if (!root) return false;
  if (root.contains(document.activeElement) && document.activeElement.matches('input, textarea, select')) return true;
  return [...root.querySelectorAll('input:not([type="hidden"]), textarea')]
    .some(i => (i.type === 'checkbox' || i.type === 'radio' ? i.checked !== i.defaultChecked : i.value !== i.defaultValue || i.files?.length));
}
function link(strip, state, words) {
  if (strip.dataset.state === state && strip.dataset.words === words) return;
  const was = strip.dataset.state;
  Object.assign(strip.dataset, { state, words });
  strip.querySelector('[data-words]').textContent = words;
  if (state === 'lost' && was !== 'lost') warn('Link lost. This tablet cannot reach the recorder. Finish the movement in your hands. Start nothing new.');
  if (state === 'linked' && was === 'lost') { warn(''); say('The link is back.'); }
  if ((state === 'lost') !== (was === 'lost')) document.body.toggleAttribute('data-unlinked', state === 'lost');
  for (const act of document.querySelectorAll('[data-hold]')) off(act, state === 'lost');
}
function off(act, lost) {                               // no link, no ticks: the button says why on its own face
  const how = act.querySelector('.how');
  if (lost && act.getAttribute('aria-disabled') !== 'true') {
    act.dataset.how = how?.textContent ?? '';
    act.setAttribute('aria-disabled', 'true');
    if (how) how.textContent = 'Off: no link to the recorder';
  } else if (!lost && 'how' in act.dataset) {
    if (how) how.textContent = act.dataset.how;
    act.removeAttribute('aria-disabled');
    delete act.dataset.how;
  }
}
async function show() {
  const at = bench();
  if (!at || busy()) return;
  await window.htmx.ajax('GET', at.dataset.self, { target: '#bench', swap: 'outerMorph' });
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
  if (!at || answer.seq <= Number(at.dataset.seq)) return;
  if (!inUse()) return show();
  const button = document.getElementById('changed');
  if (button?.hidden) { button.hidden = false; say('Changed on another tablet.'); }
}
const words = () => (bench()?.dataset.saved ? `Linked. Saved ${bench().dataset.saved}` : 'Linked');

async function ask(strip) {
  const after = bench()?.dataset.seq ?? strip.dataset.after;
  const answer = await fetch(`${strip.dataset.watch}?after=${after}`, { headers: { Accept: 'application/json' }, cache: 'no-store', signal: AbortSignal.timeout(LIMIT) });
  if (!answer.ok) throw new Error(String(answer.status));
  return answer.json();
}
async function turn(strip) {
  try {
    const answer = await ask(strip);
    missed = 0;
    link(strip, 'linked', words());
    await news(answer);
    setTimeout(turn, PAUSE, strip);
  } catch {
    missed += 1;
    link(strip, missed > 1 ? 'lost' : 'checking', missed > 1 ? 'LINK LOST' : 'Checking the link');
    setTimeout(turn, missed > 1 ? AFTER_LOSS : PAUSE, strip);
  }
}

export function start(root) {
  root.addEventListener('click', e => { if (e.target.closest('#changed')) show(); });
  setInterval(() => { if (bench()?.dataset.live === 'yes' && missed === 0 && !inUse()) show(); }, LIVE);
  const strip = root.querySelector('[data-watch]');
  if (strip) turn(strip);
}
