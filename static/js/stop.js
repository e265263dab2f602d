// Stop work: one tap. The make-safe lines are in the page already, so they show with no link. It is kept, sent first, and
// survives a reload; until the recorder has it, the page says that it has not been sent.
import { uuid7 } from './key.js';
import * as outbox from './outbox.js';
import { warn } from './say.js';

const AGAIN = 2000;
const halt = () => document.getElementById('halt');

function unsent() {
  const line = halt()?.querySelector('[data-sending]');
  if (!line) return;
  line.textContent = 'Work is stopped on this tablet. Not sent yet: say it out loud and by radio.';
  line.dataset.unsent = '';
  warn(line.textContent);
}
function cover() {
  if (!halt().hidden) return;
  halt().hidden = false;
  halt().querySelector('h1').focus();
}
async function keep(form) {
  const body = new FormData(form), run = document.getElementById('bench')?.dataset.run ?? '';
  body.set('key', uuid7());
  const entry = { sort: 'stop', key: body.get('key'), run, step: '', part: '', by: document.getElementById('bench')?.dataset.by ?? '',
    url: new URL(form.action).pathname, fields: [...body.entries()] };
  setTimeout(() => { if ('stopping' in form.dataset) unsent(); }, AGAIN);
  try { await outbox.put(entry); } catch { return bare(entry); }
  outbox.events.addEventListener('missed', e => { if (e.detail.entry.sort === 'stop') unsent(); });
  return outbox.urgent(entry.key);
}
// A tablet that cannot keep anything still sends its stop, for as long as the page is open.
async function bare(entry) {
  try {
    const answer = await fetch(entry.url, { method: 'POST', body: new URLSearchParams(entry.fields), credentials: 'same-origin', signal: AbortSignal.timeout(8000) });
    if (!answer.ok) throw new Error(String(answer.status));
    location.assign(answer.redirected ? answer.url : location.href);
  } catch { unsent(); setTimeout(bare, AGAIN, entry); }
}
function pressed(event) {
  const form = event.target.closest('form[data-stop]');
  if (!form || !halt()) return;                            // no make-safe lines on this page: an ordinary form
  event.preventDefault();
  if ('stopping' in form.dataset) return;
  form.dataset.stopping = '';
  halt().querySelector('[data-sending]').textContent = 'Sending it to the recorder.';
  cover();
  keep(form);
}
function sent({ detail }) {
  const { entry, status } = detail;
  if (entry.sort !== 'stop') return;
  if (status >= 400) outbox.forget(entry);                 // such a run is not open: there is nothing to stop
  if (halt()) location.assign(entry.run ? `/runs/${entry.run}/stopped` : '/stopped');
}

export function start(root) {
  root.addEventListener('submit', pressed);
  outbox.events.addEventListener('answer', sent);
  outbox.events.addEventListener('change', ({ detail }) => {   // pressed before a reload, and still not sent
    const run = document.getElementById('bench')?.dataset.run;
    const waits = detail.rows.some(r => r.sort === 'stop' && r.state === 'pending' && (r.run === run || r.run === ''));
    const form = root.querySelector('form[data-stop]');
    if (!waits || !halt() || !form || 'stopping' in form.dataset) return;
    form.dataset.stopping = '';
    cover();
    unsent();
  });
}
