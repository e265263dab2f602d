// Look at a picture before it is kept; and make it as small as the record needs before it waits or is sent.
const LONGEST = 2000, QUALITY = 0.85, SMALL = 600_000;    // px on the longer side; bytes below which it stays as it is

function show(box, input) {
  const picture = box.querySelector('img'), frame = box.querySelector('svg'), again = box.querySelector('label.btn'), file = input.files[0];
  if (!file) return;
  if (picture.src) URL.revokeObjectURL(picture.src);
  picture.src = URL.createObjectURL(file);
  picture.hidden = false;
  frame?.setAttribute('hidden', '');
  again.textContent = again.dataset.again;
}
export async function shrunk(file) {
  if (file.size <= SMALL || !('createImageBitmap' in window)) return file;
  try {
    const picture = await createImageBitmap(file, { imageOrientation: 'from-image' });
    const by = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
    const canvas = document.createElement('canvas');
    Object.assign(canvas, { width: Math.round(picture.width * by), height: Math.round(picture.height * by) });
    canvas.getContext('2d').drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    const smaller = await new Promise(ok => { canvas.toBlob(ok, 'image/jpeg', QUALITY); });
    return smaller && smaller.size < file.size ? smaller : file;
  } catch { return file; }                                 // not a picture that can be opened here: the recorder says so
}

export function start(root) {
  for (const box of root.querySelectorAll('[data-photo]:not([data-ready])')) {
    box.dataset.ready = '';
    const input = box.querySelector('input[type="file"]');
    input.addEventListener('change', () => show(box, input));
  }
}
