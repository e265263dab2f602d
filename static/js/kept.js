// Says what is in the record and what is only on this tablet. The two never look alike, and only the recorder's yes says "recorded".
import { changes, link } from './link.js';
import * as outbox from './outbox.js';

const clock = iso => new Date(iso).toLocaleTimeString('en-GB');
const several = (n, one, more) => `${n} ${n === 1 ? one : more}`;
const HEADS = {
  lost: 'This tablet cannot reach the recorder',
  works: 'No link. What you enter here is kept on this tablet',
  stuck: 'The recorder cannot take an entry. Tell the lead',
  signedOut: 'Sign on again: what is kept here is sent after that',
  parked: 'Not accepted by the recorder. Still kept here',
  waits: 'Entries are kept on this tablet, not in the record yet',
};
const recorded = [];                                       // the last few that went out while this page lived
const SHOWN = 20000;
let rows = [];

function words(row, behind) {
  if (row.sort === 'stop') return 'Work is stopped on this tablet. Not sent yet: say it out loud and by radio.';
  if (row.state === 'recorded') return `Recorded ${row.at} (entered on this tablet ${clock(row.made)}).`;
  if (row.state === 'parked') return `Not accepted: ${row.sentence || 'the recorder said no more.'} Still kept here.`;
  if (behind) return 'Waiting: an earlier entry on this step was not accepted. Kept here.';
  return `Kept on this tablet at ${clock(row.made)}. Not in the record yet.`;
}
function item(row, behind) {
  const li = document.createElement('li'), what = document.createElement('b'), said = document.createElement('span');
  li.dataset.entry = row.key;
  li.dataset.state = behind ? 'behind' : row.state;
  what.textContent = `${row.what ?? 'Stop work'}. `;
  said.textContent = words(row, behind);
  li.append(what, said);
  return li;
}
function lists(box) {
  const held = new Set(rows.filter(r => r.state === 'parked').map(r => `${r.run}/${r.step}`));
  const fill = (name, which) => {
    const list = box.querySelector(`[data-list="${name}"]`);
    list.replaceChildren(...which);
    list.parentElement.hidden = which.length === 0;
  };
  fill('kept', rows.filter(r => r.state === 'pending').map(r => item(r, held.has(`${r.run}/${r.step}`))));
  fill('parked', rows.filter(r => r.state === 'parked').map(r => item(r, false)));
  fill('recorded', recorded.map(r => item(r, false)));
}
function state() {
  if (outbox.status.signedOut && outbox.status.pending) return 'signedOut';
  if (outbox.status.stuck) return 'stuck';
  if (link.state === 'lost') return document.querySelector('#bench [data-keep]:not([aria-disabled="true"])') ? 'works' : 'lost';
  if (outbox.status.parked) return 'parked';
  return outbox.status.pending ? 'waits' : '';
}
function draw() {
  const box = document.getElementById('unlinked');
  if (!box) return;
  const now = state();
  box.hidden = now === '' && recorded.length === 0;
  box.dataset.state = now || 'sent';
  box.querySelector('[data-head]').textContent = now ? HEADS[now] : 'What was kept here is in the record';
  const { pending, parked } = outbox.status;
  box.querySelector('[data-count]').textContent = pending + parked
    ? `${several(pending + parked, 'entry is', 'entries are')} on this tablet and not in the record. Keep this page open.` : '';
  for (const part of box.querySelectorAll('[data-when]')) part.hidden = !part.dataset.when.split(' ').includes(box.dataset.state);
  lists(box);
}
function passed() {
  const at = document.querySelector('#unlinked [data-lost-for]');
  if (!at || link.state !== 'lost') return;
  const s = Math.floor((performance.now() - link.since) / 1000);
  at.textContent = s < 60 ? `${s} s` : `${Math.floor(s / 60)} min ${s % 60} s`;
}
function answered({ detail }) {
  if (detail.live || detail.status >= 300 || detail.entry.sort === 'stop') return draw();
  recorded.push({ ...detail.entry, state: 'recorded', at: new Date().toLocaleTimeString('en-GB') });
  if (recorded.length > 5) recorded.shift();
  setTimeout(() => { recorded.shift(); draw(); }, SHOWN);
  return draw();
}
// What cannot be sent leaves on a file, which a supervisor takes over with the person who entered it.
function save() {
  const plain = rows.map(({ mono, boot, stuck, seq, ...row }) => row);
  const blob = new Blob([JSON.stringify({ kept: plain, saved: new Date().toISOString() }, null, 1)], { type: 'application/json' });
  const a = document.createElement('a');
  a.href = URL.createObjectURL(blob);
  a.download = `kept-entries-${new Date().toISOString().slice(0, 19).replaceAll(':', '')}.json`;
  a.click();
  setTimeout(() => URL.revokeObjectURL(a.href), 60000);
}
async function pressed(event) {
  if (event.target.closest('#try-now')) return outbox.now();
  if (event.target.closest('#save-kept')) return save();
  const drop = event.target.closest('[data-withdraw]');
  if (drop) for (const row of rows.filter(r => r.state === 'parked')) await outbox.forget(row);
  return undefined;
}

export function start(root) {
  outbox.events.addEventListener('change', e => { rows = e.detail.rows; draw(); });
  outbox.events.addEventListener('answer', answered);
  changes.addEventListener('link', () => { draw(); if (link.state === 'linked') outbox.now(); });
  root.addEventListener('click', pressed);
  root.addEventListener('bench:shown', draw);
  setInterval(passed, 1000);
}
