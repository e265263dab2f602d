// What becomes of a press: the answer is read out and focus goes to it; no answer is said as not known, never as saved.
import { renew } from './key.js';
import { say, warn } from './say.js';
import * as sheet from './sheet.js';

const PATIENCE = 4000;
let timer, before = '';

const clock = () => new Date().toLocaleTimeString('en-GB');
const place = () => { const b = document.getElementById('bench'); return b ? `${b.dataset.step} ${b.dataset.part}` : ''; };

function unsure(text) {
  const line = document.getElementById('unsure');
  if (line) { line.hidden = !text; line.querySelector('[data-words]').textContent = text; }
  if (text) warn(text);
}
function again() { for (const button of document.querySelectorAll('[data-sent]')) delete button.dataset.sent; }

function sent(event) {
  if (event.detail.ctx.request.method === 'GET') return;
  const pressed = clock();
  before = place();
  clearTimeout(timer);
  if (sheet.isSheet(event.detail.ctx.request)) return sheet.sent(event.detail.ctx);
  timer = setTimeout(() => unsure(`Pressed ${pressed}, no answer yet. It is not known whether it was saved.`), PATIENCE);
}
function failed(event) {
  const request = event.detail?.ctx?.request;
  if (request?.method === 'GET') return;
  clearTimeout(timer);
  sheet.answered();
  if (request && sheet.isSheet(request)) return sheet.lost(request);
  unsure(`No answer at ${clock()}. It is not known whether it was saved. Press again: it cannot count twice.`);
  again();
}
// The recorder itself is in trouble: its own sentence says what was not saved. Without one, nothing is known.
function troubled(event) {
  const page = new DOMParser().parseFromString(event.detail.ctx.text ?? '', 'text/html'), told = page.querySelector('#told p');
  if (!told) return failed(event);
  unsure(told.textContent.replace(/\s+/g, ' ').trim());
  again();
}
function answered(event) {
  if (event.detail?.ctx?.request?.method === 'GET') return;
  clearTimeout(timer);
  sheet.answered();
  if (event.detail.ctx.response.status >= 500) return troubled(event);
  unsure('');
  renew();
  again();
}
// After a swap: a refusal, else the new step's heading, else leave focus and say what was saved.
function settled() {
  const told = document.querySelector('[data-told]:not([data-read])'), bench = document.getElementById('bench');
  if (told) { told.dataset.read = ''; told.focus(); return; }
  if (!before) return;
  if (bench?.dataset.said) say(bench.dataset.said);
  if (bench && before !== place()) bench.querySelector('h1')?.focus({ preventScroll: true });
  if (bench && before !== place()) window.scrollTo(0, 0);
  before = '';
}

export function start(root) {
  root.addEventListener('htmx:before:request', sent);
  root.addEventListener('htmx:after:request', answered);
  root.addEventListener('htmx:error', failed);
  root.addEventListener('htmx:after:settle', settled);
  root.addEventListener('submit', e => { if (e.target.matches('[data-by-hold]')) e.preventDefault(); });
}
