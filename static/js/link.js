// The link as it is known: checking, linked, lost. Shown on the strip; what needs the recorder says so on its own face.
import { say, warn } from './say.js';

export const link = { state: 'checking', since: 0 };      // since: when it was lost, by the page's own clock
export const changes = new EventTarget();

const strip = () => document.querySelector('[data-watch]');

function off(act, lost) {                                 // no link, no ticks, but for entries that may be kept
  const how = act.querySelector('.how');
  if (lost && act.getAttribute('aria-disabled') !== 'true' && !('keep' in act.dataset)) {
    act.dataset.how = how?.textContent ?? '';
    act.setAttribute('aria-disabled', 'true');
    if (how) how.textContent = 'Off: no link to the recorder';
  } else if (!lost && 'how' in act.dataset) {
    if (how) how.textContent = act.dataset.how;
    act.removeAttribute('aria-disabled');
    delete act.dataset.how;
  }
}
export function draw() { for (const act of document.querySelectorAll('[data-hold]')) off(act, link.state === 'lost'); }

export function set(state, words) {
  const at = strip(), was = link.state;
  if (at && (at.dataset.state !== state || at.dataset.words !== words)) {
    Object.assign(at.dataset, { state, words });
    at.querySelector('[data-words]').textContent = words;
  }
  if (state === 'lost' && was !== 'lost') {
    link.since = performance.now();
    warn('Link lost. This tablet cannot reach the recorder. Finish the movement in your hands. Start nothing new.');
  }
  if (state === 'linked' && was === 'lost') { warn(''); say('The link is back.'); }
  link.state = state;
  document.body.toggleAttribute('data-unlinked', state === 'lost');
  draw();
  if (state !== was) changes.dispatchEvent(new Event('link'));
}
export function start() { draw(); }                       // again for every new fragment: its buttons follow the link too
