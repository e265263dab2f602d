// Finds the page's behaviours by their data- attributes, on load and after each swap.
import * as ahead from './ahead.js';
import * as copies from './copies.js';
import * as dwell from './dwell.js';
import * as hold from './hold.js';
import * as keep from './keep.js';
import * as kept from './kept.js';
import * as key from './key.js';
import * as link from './link.js';
import * as pad from './pad.js';
import * as photo from './photo.js';
import * as ready from './ready.js';
import * as send from './send.js';
import * as stop from './stop.js';
import * as strip from './strip.js';
import * as turn from './turn.js';
import * as wake from './wake.js';
import * as watch from './watch.js';

const each = [key, pad, photo, strip, turn, link];        // again for every new fragment
const once = [copies, hold, send, stop, kept, keep, ahead, ready, dwell, wake, watch];   // once for the page: they listen on the document

function meet() { for (const behaviour of each) behaviour.start(document); }

for (const behaviour of once) behaviour.start(document);
meet();
for (const shown of ['htmx:after:settle', 'bench:shown']) document.addEventListener(shown, meet);
