// Turns a map to where the person stands. It only ever turns: a mirrored map would run the other way round.
function turn(map) {
  const by = (Number(map.dataset.by ?? 0) + 90) % 360;
  map.dataset.by = by;
  map.querySelector('.map__turn').setAttribute('transform', `rotate(${by} 280 280)`);
  for (const text of map.querySelectorAll('[data-upright]')) {
    const y = Number(text.getAttribute('y')) - Number(text.getAttribute('font-size')) * 0.35;
    text.setAttribute('transform', `rotate(${-by} ${text.getAttribute('x')} ${y})`);
  }
}

export function start(root) {
  for (const map of root.querySelectorAll('[data-turn]:not([data-ready])')) {
    map.dataset.ready = '';
    map.querySelector('[data-turn-map]').addEventListener('click', () => turn(map));
  }
}
