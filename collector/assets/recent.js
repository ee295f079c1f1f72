// The last ten readings as a table. Void rows stay, struck through, with their reason.

import { READING_COLUMNS, rowOfReading } from './clip.js';
import { make, refill } from './dom.js';
import { checkOf, checkWords } from './functional.js';
import { readingVerdict, verdictShape } from './verdict.js';
import { clockOf, correctionSum, flagWords } from './words.js';

const HEADS = ['Time', 'Piece', 'Pitch diameter', 'Over wires (M)', 'Verdict', 'Remarks', 'Change'];

/** Draws the table of a station's newest readings. */
export function drawRecent(container, station, deeds) {
  const readings = station.recent ?? [];
  refill(container, [station.name, readings, station.functional_checks], () => {
    if (readings.length === 0) return [make('p', { class: 'quiet', text: 'No readings yet.' })];
    const head = make(
      'tr',
      { role: 'row' },
      ...HEADS.map((text) => make('th', { scope: 'col', role: 'columnheader', text })),
    );
    return [
      make(
        'table',
        { class: 'recent', role: 'table' },
        make('thead', { role: 'rowgroup' }, head),
        make('tbody', { role: 'rowgroup' }, ...readings.map((reading) => row(reading, station, deeds))),
      ),
    ];
  });
}

/** Shows a station's newest readings to be copied. */
export function copyRecent(panel, readings) {
  const what = `${readings.length} ${readings.length === 1 ? 'reading' : 'readings'}`;
  panel.open({ what, columns: READING_COLUMNS, rows: readings.map(rowOfReading) });
}

function row(reading, station, deeds) {
  const value = (text) => (text ? `${text} ${reading.unit}` : '–');
  const cells = [
    [clockOf(reading.at)],
    [
      String(reading.piece ?? '–'),
      reading.feature ? make('span', { class: 'quiet', text: ` ${reading.feature}` }) : null,
    ],
    [struck(reading, value(reading.pitch_diameter))],
    [struck(reading, value(reading.over_wires))],
    [verdictCell(reading)],
    [remarks(reading, checkOf(station, reading)), reading === station.recent[0] ? null : lateAnswers(reading, deeds)],
    [changeCell(reading, deeds)],
  ];
  return make(
    'tr',
    { role: 'row', class: reading.void ? 'is-void' : reading.counted === false ? 'is-uncounted' : null },
    ...cells.map((content, at) =>
      make(
        'td',
        { role: 'cell', 'data-head': HEADS[at], class: at === 2 || at === 3 ? 'number' : null },
        ...content.filter(Boolean),
      ),
    ),
  );
}

function struck(reading, text) {
  return reading.void ? make('s', { text }) : make('span', { text });
}

function verdictCell(reading) {
  const verdict = readingVerdict(reading);
  return make(
    'span',
    { class: 'small-verdict', 'data-verdict': verdict.code },
    verdictShape(verdict.code),
    make('span', { text: verdict.word }),
  );
}

function remarks(reading, check) {
  const said = [];
  if (reading.void)
    said.push(`void: ${reading.void.reason}${reading.void.by ? ` (${reading.void.by})` : ''}`);
  else if (reading.counted === false && !reading.held) said.push('not counted');
  // How well it is known says something where a verdict could not be given for it.
  if (reading.verdict === 'undecided' && reading.uncertainty)
    said.push(`known to ± ${reading.uncertainty} ${reading.unit}`);
  const added = correctionSum(reading);
  if (added) said.push(`corrected by ${added}`);
  said.push(...(reading.flags ?? []).filter((flag) => flag !== 'corrected').map(flagWords));
  if (reading.typed) said.push(flagWords('typed'));
  if (!reading.operator) said.push(flagWords('unattributed'));
  if (reading.attempt > 1) said.push(`attempt ${reading.attempt}`);
  if (reading.purpose === 'study') said.push(reading.method);
  if (reading.position) said.push(`at ${reading.position}`);
  if (reading.was_job && reading.was_job !== reading.job) said.push(`first at job ${reading.was_job}`);
  if (reading.moved?.reason) said.push(`changed: ${reading.moved.reason}`);
  if (check && check.state !== 'none') said.push(`functional check: ${checkWords(check)}`);
  if (reading.comment) said.push(`“${reading.comment}”`);
  return make('span', { text: [...new Set(said)].join(', ') });
}

/** A held reading that another one followed can still be answered here. */
function lateAnswers(reading, deeds) {
  if (!reading.held || reading.void) return null;
  return make(
    'span',
    { class: 'late-answers', role: 'group', 'aria-label': `Answers for the reading of ${clockOf(reading.at)}` },
    make('span', { text: reading.held.sentence }),
    ...(reading.held.answers ?? []).map((each) =>
      make('button', {
        type: 'button',
        class: 'small',
        'data-key': `answer-${reading.entry}-${each.answer}`,
        text: each.label,
        onclick: () => deeds.answer(reading, each.answer),
      }),
    ),
  );
}

function changeCell(reading, deeds) {
  const name = `reading of ${clockOf(reading.at)}, piece ${reading.piece ?? 'not set'}`;
  // A place of a study that was opened again is measured anew.
  const closed = Boolean(reading.void) && reading.purpose === 'study';
  const restore = { key: 'restore', text: 'Restore', act: () => deeds.restore(reading) };
  const voids = { key: 'void', text: 'Void', act: () => deeds.voidReading(reading) };
  const { key, text, act } = reading.void ? restore : voids;
  const first = make('button', {
    type: 'button',
    class: 'small',
    'data-key': `${key}-${reading.entry}`,
    text,
    'aria-label': `${text} the ${name}`,
    onclick: act,
  });
  const second = make('button', {
    type: 'button',
    class: 'small',
    'data-key': `retag-${reading.entry}`,
    text: 'Re-tag',
    'aria-label': `Re-tag or comment on the ${name}`,
    onclick: () => deeds.retag(reading),
  });
  return make('span', { class: 'row-buttons' }, closed ? null : first, second);
}
