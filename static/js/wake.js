// Keeps the screen awake at a step, where the tablet lets us. Nothing rests on it: clocks run in the recorder.
async function ask() {
  if (document.visibilityState !== 'visible' || !document.getElementById('bench')) return;
  try { await navigator.wakeLock.request('screen'); } catch { /* refused, or no such thing here: the screen may sleep */ }
}

export function start(root) {
  if (!('wakeLock' in navigator)) return;
  root.addEventListener('visibilitychange', ask);
  ask();
}
