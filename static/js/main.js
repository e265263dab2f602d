// Finds the page's behaviours by their data- attributes, on load and after each swap.
import * as hold from './hold.js';
import * as key from './key.js';
import * as pad from './pad.js';
import * as dwell from './dwell.js';
import * as photo from './photo.js';
import * as strip from './strip.js';
import * as turn from './turn.js';
import * as wake from './wake.js';
import * as watch from './watch.js';
import * as stop from './stop.js';
import * as send from './send.js';

const each = [key, pad, photo, strip, turn];              // again for every new fragment
const once = [hold, send, stop, dwell, wake, watch];     // once for the page: they listen on the document

function meet() { for (const behaviour of each) behaviour.start(document); }

for (const behaviour of once) behaviour.start(document);
meet();
document.addEventListener('htmx:after:settle', meet);
