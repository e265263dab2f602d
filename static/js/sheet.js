// A signature whose answer was lost: the page asks what became of that sheet, and never sends the secret a second time.
import { renew } from './key.js';
import { say, warn } from './say.js';

const PATIENCE = 8000, AGAIN = 2000;
let asking = null;                                        // the sheet whose outcome is not known

export const isSheet = request => request.method === 'POST' && Boolean(request.body?.get?.('secret'));
export const open = () => asking !== null;

function line(text) {
  const at = document.getElementById('unsure'), told = document.getElementById('told');
  if (at) { at.hidden = !text; at.querySelector('[data-words]').textContent = text; }
  else if (told) { told.className = text ? 'told' : ''; told.textContent = text; }
  else say(text);
  if (text) warn(text);
}
function free(text) {                                     // another sheet, with a key of its own
  asking = null;
  renew();
  for (const button of document.querySelectorAll('[data-sent]')) delete button.dataset.sent;
  line(text);
}
async function ask() {
  const sheet = asking;
  try {
    const answer = await fetch(`/runs/${sheet.run}/outcome?key=${encodeURIComponent(sheet.key)}`, { cache: 'no-store', signal: AbortSignal.timeout(PATIENCE) });
    if (!answer.ok) throw new Error(String(answer.status));
    const { outcome, sentence } = await answer.json();
    if (outcome === 'done') { asking = null; line('Signed, and in the record.'); return location.reload(); }
    if (outcome === 'refused') return free(`Not signed: ${sentence}`);
    if (outcome === 'given up') return free('Nothing was signed. Sign again on this sheet.');
  } catch { /* still no link */ }
  return setTimeout(ask, AGAIN);
}
// The answer did not come: nothing more is sent but the question.
export function lost(request) {
  const run = /\/runs\/([^/]+)\//.exec(request.action)?.[1];
  if (asking || !run) return false;
  asking = { run, key: request.body.get('key') };
  for (const field of document.querySelectorAll('input[name="secret"]')) field.value = '';
  line('The link dropped. It is not known whether it was signed. Do not sign again. Checking.');
  ask();
  return true;
}
let timer;
export function sent(ctx) {
  clearTimeout(timer);
  timer = setTimeout(() => { lost(ctx.request); ctx.request.abort?.(); }, PATIENCE);
}
export const answered = () => clearTimeout(timer);
