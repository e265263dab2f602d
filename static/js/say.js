// The page's own two live regions: quiet news, and news that must interrupt. Only their text changes.
export const say = text => { const at = document.getElementById('said'); if (at) at.textContent = text; };
export const warn = text => { const at = document.getElementById('warned'); if (at) at.textContent = text; };
