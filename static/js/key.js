// Each form that acts carries a key of its own: a press repeated after a lost answer cannot count twice.
export function uuid7(now = Date.now()) {               // RFC 9562; crypto.randomUUID is absent on plain http
  const b = crypto.getRandomValues(new Uint8Array(16));
  for (let i = 0, s = 2 ** 40; i < 6; i++, s /= 256) b[i] = Math.floor(now / s) % 256;
  b[6] = (b[6] & 15) | 0x70;
  b[8] = (b[8] & 63) | 0x80;
  const h = [...b].map(x => x.toString(16).padStart(2, '0')).join('');
  return h.replace(/(.{8})(.{4})(.{4})(.{4})(.{12})/, '$1-$2-$3-$4-$5');
}

// What was answered is over: the next press is another act, with a key of its own.
export function renew(root = document) {
  for (const input of root.querySelectorAll('input[name="key"]')) input.value = uuid7();
}

// A key that is in the form already asked for stays: only a new rendering brings a new one.
export function start(root) {
  for (const input of root.querySelectorAll('input[name="key"]:not([data-own])')) {
    input.value = uuid7();
    input.dataset.own = '';
  }
}
