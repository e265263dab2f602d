// Stop work: one tap. The make-safe lines are in the page already, so they show with no link; the stop is sent until it arrives.
import { warn } from './say.js';

const AGAIN = 2000;

async function send(form, halt) {
  const line = halt.querySelector('[data-sending]');
  try {
    const answer = await fetch(form.action, { method: 'POST', body: new URLSearchParams(new FormData(form)), credentials: 'same-origin', signal: AbortSignal.timeout(8000) });
    if (!answer.ok) throw new Error(String(answer.status));
    location.assign(answer.redirected ? answer.url : location.href);
  } catch {
    line.textContent = 'Work is stopped on this tablet. Not sent yet: say it out loud and by radio.';
    warn(line.textContent);
    setTimeout(send, AGAIN, form, halt);
  }
}
function pressed(event) {
  const form = event.target.closest('form[data-stop]'), halt = document.getElementById('halt');
  if (!form || !halt) return;                           // no make-safe lines on this page: an ordinary form
  event.preventDefault();
  if ('stopping' in form.dataset) return;
  form.dataset.stopping = '';
  halt.hidden = false;
  halt.querySelector('[data-sending]').textContent = 'Sending it to the recorder.';
  halt.querySelector('h1').focus();
  send(form, halt);
}

export function start(root) { root.addEventListener('submit', pressed); }
