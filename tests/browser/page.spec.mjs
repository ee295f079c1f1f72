// The status page in a real browser, against a running collector.
//
//   OVERWIRE_URL    the page of a collector whose first station has a job, some readings, a zero
//                   check that stands and a lathe that is known; the shop makes a budget
//   OVERWIRE_SHOTS  a folder for screenshots (optional)
//   CHROMIUM        the browser to start (default /usr/bin/chromium)
//
// The checks hold for any data: they read /api/state and compare the page with it. They
// store readings, a job, wires and an instrument, so give them a record of their own.
// The README's picture, tests/browser/page.png, is page-desktop-light.png of
//   OVERWIRE_SHOTS=folder cargo test -p overwire-tests --test page
//
// All traffic of the browser goes through a gate that knows the collector only.
// Sources: contrast, reflow, target size, keyboard and status messages are from
// WCAG 2.2 (1.4.3, 1.4.6, 1.4.10, 2.5.8, 2.1.1, 4.1.3). The share of the window
// taken by the digits and the 76 px of the primary buttons: common practice, no source.

import { after, before } from 'node:test';
import { end, start } from './page.setting.mjs';

before(start);
after(end);

// One after the other: they share one record.
await import('./page.seen.mjs');
await import('./page.everybody.mjs');
await import('./page.hands.mjs');
await import('./page.forms.mjs');
await import('./page.truth.mjs');
await import('./page.zero.mjs');
await import('./page.passes.mjs');
await import('./page.trust.mjs');
await import('./page.functional.mjs');
await import('./page.report.mjs');
await import('./page.studies.mjs');
await import('./page.masters.mjs');
await import('./page.find.mjs');
await import('./page.statistics.mjs');
await import('./page.outlook.mjs');
