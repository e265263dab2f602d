// The strip stands outside the bench: it takes over which step is shown.
export function start() {
  const { sub, title } = document.getElementById('bench')?.dataset ?? {};
  const place = document.querySelector('.strip__where span');
  if (sub && place) place.textContent = sub;
  if (title) document.title = title;
}
