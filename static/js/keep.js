// An entry on a keepable step goes through the outbox: first onto this tablet, then to the recorder. Nothing else does.
import * as ahead from './ahead.js';
import { link } from './link.js';
import * as outbox from './outbox.js';
import { shrunk } from './photo.js';
import { say } from './say.js';
import { inUse } from './watch.js';

const WAIT = 2500;                                        // ms: after that it is said to be kept, not that it is recorded

async function entryOf(form, body, url) {
  const bench = document.getElementById('bench'), fields = [], photos = {};
  for (const [name, value] of body.entries()) {
    if (!(value instanceof Blob)) fields.push([name, value]);
    else if (value.size) photos[name] = await shrunk(value);
  }
  const { run, step, what, by } = bench.dataset;
  const entry = { sort: 'entry', key: body.get('key'), run, step, part: body.get('part') ?? '', what, by, url, fields, hands: document.body.dataset.hands ?? '' };
  return { entry, photos };
}
const FULL = 'This tablet could not keep the entry: its storage is full or shut. It is not recorded. Write it on paper.';
const EMPTY = 'Something is not filled in. Nothing was kept.';
function notKept(words) {
  say('');
  const told = document.getElementById('unsure');
  if (!told) return;
  told.hidden = false;
  told.querySelector('[data-words]').textContent = words;
}
// Without a link nobody says at once that something is missing: the page does, so that it is not found out hours later.
function isEmpty(form) {
  const bare = [...form.querySelectorAll('input[aria-required="true"], textarea[aria-required="true"]')].some(i => !i.value.trim());
  return bare || [...form.querySelectorAll('[data-required]')].some(box => !box.querySelector('input:checked') && !box.querySelector('input[type="file"]')?.files.length);
}
// What htmx calls in place of fetch. A 204 says: nothing to show from the recorder, it is kept.
function through(ctx, form) {
  return async (url, request) => {
    let kept;
    if (link.state === 'lost' && isEmpty(form)) {
      ctx.notKept = EMPTY;
      return new Response(null, { status: 204 });
    }
    try {
      const { entry, photos } = await entryOf(form, request.body, url);
      kept = await outbox.put(entry, photos);
    } catch (broken) {
      console.warn('outbox', broken);
      ctx.notKept = FULL;
      return new Response(null, { status: 204 });
    }
    const answer = await outbox.answerTo(kept, link.state === 'lost' ? 0 : WAIT);
    ctx.entry = kept;
    if (!answer) ctx.kept = true;
    if (!answer || answer.elsewhere) return new Response(null, { status: 204 });
    ctx.refused = answer.status >= 400;
    return new Response(answer.text, { status: answer.status, headers: answer.headers });
  };
}
function asked(event) {
  const { ctx } = event.detail, act = ctx.sourceElement;
  if (ctx.request.method === 'POST' && act?.matches?.('[data-keep]')) ctx.fetch = through(ctx, act.form);
}
async function over(event) {
  const { ctx } = event.detail;
  if (ctx?.notKept) return notKept(ctx.notKept);
  if (!ctx?.entry) return undefined;
  if (ctx.refused) return outbox.forget(ctx.entry);       // the person has it before them, with what they typed
  if (!ctx.kept) return undefined;
  say('Kept on this tablet. Not in the record yet.');
  return goOn();
}
// Shows the next thing that this tablet may take without a link, or says that there is none.
async function goOn() {
  const taken = new Set((await outboxRows()).map(r => `${r.step}/${r.part}`));
  if (await ahead.show(taken)) return;
  const bench = document.getElementById('bench'), act = bench?.querySelector('[data-keep]');
  if (!act || !taken.has(`${bench.dataset.step}/${bench.dataset.part}`)) return;
  act.setAttribute('aria-disabled', 'true');
  const how = act.querySelector('.how');
  if (how) how.textContent = 'Off: kept on this tablet. What comes next needs the link';
  document.dispatchEvent(new CustomEvent('bench:shown'));
}
let rows = [];
async function outboxRows() {
  await outbox.changed();
  const run = document.getElementById('bench')?.dataset.run;
  return rows.filter(r => r.sort === 'entry' && r.run === run);
}
// A page that was read from a copy may show what is already kept here: it goes on from there.
async function begin() {
  const bench = document.getElementById('bench');
  const asked = location.pathname.includes('/steps/');     // who asks for one step means it
  if (!bench || asked || document.documentElement.dataset.copyOf === undefined) return;
  const taken = new Set((await outboxRows()).map(r => `${r.step}/${r.part}`));
  if (taken.has(`${bench.dataset.step}/${bench.dataset.part}`) && !inUse()) await goOn();
}

export function start(root) {
  root.addEventListener('htmx:config:request', asked);
  root.addEventListener('htmx:finally:request', over);
  outbox.events.addEventListener('change', e => { rows = e.detail.rows; });
  outbox.start();
  begin();
}
