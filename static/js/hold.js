// Press and hold, for buttons marked data-hold. Fires one bubbling "held" event: use hx-trigger="held", never "click".
// Finger: data-hold ms (700). Keyboard, switch or screen reader (a click with detail 0): two presses, 0.4 to 6 s apart.
import { say } from './say.js';

const MOVED = 24, SOON = 400, LATE = 6000;
let now = null;                                         // the press under way: button, where, timer

const off = b => b.getAttribute('aria-disabled') === 'true' || 'sent' in b.dataset;
const armed = new WeakMap();                            // button -> when the first of two presses was

function fire(button) {
  button.dataset.sent = '';
  button.dispatchEvent(new CustomEvent('held', { bubbles: true }));
}
function end(why) {
  if (!now) return;
  clearTimeout(now.timer);
  now.button.classList.remove('holding');
  now = null;
  if (why) say(why);
}
function down(event) {
  if (now) return end('Two touches. Not saved.');
  const button = event.target.closest('[data-hold]');
  if (!button || !event.isPrimary || event.button > 0 || off(button)) return;
  button.classList.add('holding');
  const long = Number(button.dataset.hold) || 700, timer = setTimeout(() => { end(''); fire(button); }, long);
  now = { button, x: event.clientX, y: event.clientY, timer, until: event.timeStamp + long };
}
// A busy page's timer comes late: the finger counts, which was there for as long as it had to be.
function up(event) {
  const { button, until } = now ?? {};
  if (!button || event.timeStamp < until) return end('Held too short. Not saved.');
  end('');
  fire(button);
}
function click(event) {
  const button = event.target.closest('[data-hold]');
  if (!button) return;
  event.preventDefault();
  if (off(button)) return say(button.innerText.replaceAll('\n', '. '));
  if (event.detail !== 0) return;                       // a finger's click never fires
  const first = armed.get(button) ?? -LATE, gap = event.timeStamp - first;
  if (gap > SOON && gap < LATE) { armed.delete(button); fire(button); }
  else if (gap >= LATE) { armed.set(button, event.timeStamp); say(`Press again to confirm: ${button.innerText.split('\n')[0]}`); }
}

export function start(root = document) {
  root.addEventListener('pointerdown', down);
  root.addEventListener('pointermove', e => { if (now && Math.hypot(e.clientX - now.x, e.clientY - now.y) > MOVED) end('Finger moved. Not saved.'); });
  root.addEventListener('pointerup', up);
  root.addEventListener('pointercancel', () => end('Not saved.'));
  root.addEventListener('contextmenu', e => { if (e.target.closest('[data-hold]')) e.preventDefault(); });
  root.addEventListener('keydown', e => { if (e.repeat && e.target.closest?.('[data-hold]')) e.preventDefault(); });
  root.addEventListener('click', click);
  root.addEventListener('focusout', e => armed.delete(e.target));
  window.addEventListener('blur', () => end(''));
}
