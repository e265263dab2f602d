// Draws a clock that runs in the recorder. The tablet's own clock is never read: only how long since the page was drawn.
const shown = ms => {
  const s = Math.max(0, Math.floor(ms / 1000)), h = Math.floor(s / 3600), m = Math.floor(s / 60) % 60;
  const two = n => String(n).padStart(2, '0');
  return h ? `${h}:${two(m)}:${two(s % 60)}` : `${two(m)}:${two(s % 60)}`;
};

function run(clock) {
  const { started, now, first, last } = clock.dataset, drawn = performance.now();
  if (!started || !now) return;
  const began = Date.parse(started), base = Date.parse(now), face = clock.querySelector('[data-elapsed]') ?? clock;
  const due = [first, last].filter(Boolean).map(t => Date.parse(t)).filter(t => t > base);
  const timer = setInterval(() => {
    if (!clock.isConnected) return clearInterval(timer);
    const at = base + performance.now() - drawn;
    face.textContent = shown(at - began);
    if (due.length && at >= due[0]) { due.shift(); document.dispatchEvent(new CustomEvent('look-again')); }
  }, 250);
}

export function start(root) {
  for (const clock of root.querySelectorAll('[data-dwell]')) {
    if (clock.dataset.running === clock.dataset.now) continue;   // a morph may leave the node and change its times
    clock.dataset.running = clock.dataset.now;
    run(clock);
  }
}
