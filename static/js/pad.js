// The number pad in the page, for gloves: types into the number field last touched, and the bar says what was read.
let field = null;

const numbers = () => [...document.querySelectorAll('input[data-number]')];
const target = () => (field?.isConnected ? field : numbers()[0]);
const NUMBER = /^[-\u2212]?\d+([.,]\d+)?$/;

function put(input, text) {
  input.value = text;
  input.dispatchEvent(new Event('input', { bubbles: true }));
}
function press(key) {
  const input = target();
  if (!input) return;
  const text = input.value;
  if (key === 'rub') put(input, text.slice(0, -1));
  else if (key === 'clear') put(input, '');
  else if (key === 'sign') put(input, text.startsWith('-') ? text.slice(1) : `-${text}`);
  else if (key === 'next') { const all = numbers(); field = all[(all.indexOf(input) + 1) % all.length]; }
  else put(input, text + key);
  target().focus({ preventScroll: key !== 'next' });
  mark();
}
function mark() { for (const each of numbers()) each.toggleAttribute('data-at-pad', each === target()); }

// One value with a unit is said on the button itself, so that a slip is seen before it is recorded.
function echo() {
  const face = document.querySelector('[data-echo]'), all = numbers().filter(each => each.form?.id === 'entry');
  if (!face || all.length !== 1) return;
  const typed = all[0].value.trim(), unit = all[0].dataset.unit;
  face.textContent = unit && NUMBER.test(typed) ? `Record ${typed.replace(',', '.')} ${unit}${face.dataset.on ? ` on ${face.dataset.on}` : ''}` : face.dataset.echo;
}

export function start(root) {
  for (const pad of root.querySelectorAll('[data-pad]:not([data-ready])')) {
    pad.dataset.ready = '';
    pad.addEventListener('click', e => { const key = e.target.closest('[data-key]'); if (key) press(key.dataset.key); });
  }
  for (const input of numbers()) {
    if ('ready' in input.dataset) continue;
    input.dataset.ready = '';
    input.addEventListener('focus', () => { field = input; mark(); });
    input.addEventListener('input', echo);
    if (!root.querySelector('[data-pad]')) input.inputMode = input.dataset.number === 'whole' ? 'numeric' : 'decimal';
  }
  mark();
  echo();
}
