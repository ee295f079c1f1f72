// The way to the inspection report of the station's job: one press for all of it, and a
// small form for a piece, the first article, other paper or another unit.

import { make, refill, show } from './dom.js';
import { reportPath } from './paths.js';

/** Draws the link and the form. */
export function drawReport(parts, station, jobs) {
  const name = station.tags?.job;
  const job = jobs.find((each) => each.job === name);
  show(parts.report, Boolean(name));
  show(parts['report-more'], Boolean(name));
  if (!name) return;
  parts.report.href = reportPath(name);
  parts['report-job'].value = name;
  // The job is what the choices belong to: while it stays, what was chosen stays.
  refill(parts['report-piece'], name, () => [
    option('', 'every piece'),
    option('first', 'first article'),
  ]);
  addPieces(parts['report-piece'], station, name);
  const features = (job?.features ?? []).map((feature) => feature.name);
  refill(parts['report-feature'], [name, features], () => [
    option('', 'every thread'),
    ...features.map((each) => option(each, each)),
  ]);
}

/** The pieces of the last readings can be chosen by their number. */
function addPieces(select, station, job) {
  const known = new Set([...select.options].map(({ value }) => value));
  const pieces = (station.recent ?? []).filter((reading) => reading.job === job && reading.piece);
  for (const { piece } of pieces.reverse()) {
    const value = String(piece);
    if (known.has(value)) continue;
    known.add(value);
    select.append(option(value, `piece ${value}`));
  }
}

const option = (value, text) => make('option', { value, text });
