// Draws a clock that runs in the recorder. The tablet's own clock is never read: only how long since the page was drawn.
const two = n => String(n).padStart(2, '0');
export function face(ms) {
  const s = Math.max(0, Math.floor(ms / 1000)), h = Math.floor(s / 3600), m = Math.floor(s / 60) % 60;
  return h ? `${h}:${two(m)}:${two(s % 60)}` : `${two(m)}:${two(s % 60)}`;
}

const drawn = { now: '', at: 0 };                        // the server's time in the page, and when the page came

function tick() {
  const bench = document.getElementById('bench');
  if (!bench) return;
  if (bench.dataset.now !== drawn.now) Object.assign(drawn, { now: bench.dataset.now, at: performance.now() });
  const now = Date.parse(drawn.now) + performance.now() - drawn.at;
  for (const clock of bench.querySelectorAll('[data-dwell-since]')) clock.textContent = face(now - Date.parse(clock.dataset.dwellSince));
}

export function start() {
  tick();
  setInterval(tick, 250);
}
