// Look at a picture before it is kept.
function show(box, input) {
  const picture = box.querySelector('img'), frame = box.querySelector('svg'), again = box.querySelector('label.btn'), file = input.files[0];
  if (!file) return;
  if (picture.src) URL.revokeObjectURL(picture.src);
  picture.src = URL.createObjectURL(file);
  picture.hidden = false;
  frame?.setAttribute('hidden', '');
  again.textContent = again.dataset.again;
}

export function start(root) {
  for (const box of root.querySelectorAll('[data-photo]:not([data-ready])')) {
    box.dataset.ready = '';
    const input = box.querySelector('input[type="file"]');
    input.addEventListener('change', () => show(box, input));
  }
}
