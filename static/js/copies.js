// On the page that says "no link": the pages of runs that can be read all the same.
async function list(box) {
  const kept = 'caches' in window ? await (await caches.open('reading-copies')).keys() : [];
  const pages = [...new Set(kept.map(request => new URL(request.url).pathname))].filter(path => /^\/runs\/[^/]+$/.test(path));
  box.replaceChildren(...pages.map(path => {
    const a = document.createElement('a');
    Object.assign(a, { href: path, className: 'btn act', textContent: `Go on with run ${path.split('/')[2]}` });
    return a;
  }));
}
export function start(root) { for (const box of root.querySelectorAll('[data-copies]')) list(box); }
