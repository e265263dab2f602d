// Tells the recorder when this tablet was last touched, and the longest time without a touch since it was told.
// The recorder locks a tablet that was left alone; it cannot see a finger that only types.
let last = Date.now(), gap = 0;
const seconds = ms => Math.max(0, Math.round(ms / 1000));

export function touched(now = Date.now()) {
  gap = Math.max(gap, now - last);
  last = now;
}
export function told(now = Date.now()) {
  return `touched=${seconds(now - last)}&gap=${seconds(Math.max(gap, now - last))}`;
}
export function wasTold() { gap = 0; }

for (const kind of ['pointerdown', 'keydown', 'wheel', 'touchstart']) {
  globalThis.document?.addEventListener(kind, () => touched(), { passive: true, capture: true });
}
