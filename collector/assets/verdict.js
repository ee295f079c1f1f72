// The verdict as a word and a shape. Colour comes third: each shape has its own
// outline, so that the verdicts stay apart in greyscale and from two metres.

import { makeSvg } from './dom.js';

const solid = (tag, attributes) => () => makeSvg(tag, { class: 'ink', ...attributes });
const cut = (tag, attributes) => () => makeSvg(tag, { class: 'cut', ...attributes });
const line = (tag, attributes) => () => makeSvg(tag, { class: 'line', ...attributes });

const RING = line('circle', { cx: 50, cy: 50, r: 41 });

const SHAPES = {
  pass: [solid('circle', { cx: 50, cy: 50, r: 47 }), cut('path', { d: 'M26 52 L44 70 L76 32' })],
  // Below the line: metal is missing.
  fail_under: [
    solid('rect', { x: 4, y: 6, width: 92, height: 13 }),
    solid('polygon', { points: '12,33 88,33 50,97' }),
  ],
  // Above the line: metal is left.
  fail_over: [
    solid('rect', { x: 4, y: 81, width: 92, height: 13 }),
    solid('polygon', { points: '12,67 88,67 50,3' }),
  ],
  // A threading tool with its point in the groove.
  still_to_cut: [
    solid('path', { d: 'M3 5 H97 V55 H67 L50 25 L33 55 H3 Z' }),
    solid('polygon', { points: '50,45 80,98 20,98' }),
  ],
  // Two anvils that meet, between index marks in line.
  zero_within: [
    solid('polygon', { points: '2,28 38,28 49,41 49,59 38,72 2,72' }),
    solid('polygon', { points: '98,28 62,28 51,41 51,59 62,72 98,72' }),
    solid('rect', { x: 45, y: 3, width: 10, height: 17 }),
    solid('rect', { x: 45, y: 80, width: 10, height: 17 }),
  ],
  // They do not meet, and the marks are out of line.
  zero_off: [
    solid('polygon', { points: '2,28 22,28 33,41 33,59 22,72 2,72' }),
    line('polygon', { points: '94,32 79,32 70,43 70,57 79,68 94,68' }),
    solid('rect', { x: 28, y: 3, width: 10, height: 17 }),
    solid('rect', { x: 65, y: 80, width: 10, height: 17 }),
  ],
  undecided: [RING, solid('path', { d: 'M50 9 A41 41 0 0 1 50 91 Z' })],
  held: [
    line('polygon', { points: '50,5 95,50 50,95 5,50' }),
    line('path', { d: 'M37 41 C37 25 63 25 63 41 C63 51 50 51 50 61' }),
    solid('circle', { cx: 50, cy: 74, r: 6 }),
  ],
  not_stored: [
    solid('rect', { x: 3, y: 3, width: 94, height: 94 }),
    cut('path', { d: 'M26 26 L74 74 M74 26 L26 74' }),
  ],
  void: [line('rect', { x: 9, y: 27, width: 82, height: 46 }), line('path', { d: 'M3 92 L97 8' })],
  // One reading among others: a row of ticks, one of them taken.
  study: [
    line('path', { d: 'M10 90 H90' }),
    line('path', { d: 'M20 72 V30 M50 72 V30 M80 72 V30' }),
    solid('circle', { cx: 50, cy: 18, r: 13 }),
  ],
  none: [RING, solid('rect', { x: 27, y: 44, width: 46, height: 12 })],
  nothing: [line('circle', { cx: 50, cy: 50, r: 41, 'stroke-dasharray': '15 10.76' })],
};

const WORDS = {
  pass: 'PASS',
  fail_under: 'FAIL under',
  fail_over: 'FAIL over',
  still_to_cut: 'STILL TO CUT',
  undecided: 'UNDECIDED',
  held: 'HELD',
  not_stored: 'NOT STORED',
  zero_within: 'ZERO GOOD',
  zero_off: 'ZERO OFF',
  study: 'STUDY',
  void: 'VOID',
  none: 'NO VERDICT',
  nothing: 'NOTHING YET',
};

/** The drawing that goes with a verdict. */
export function verdictShape(code) {
  const drawing = (SHAPES[code] ?? SHAPES.none).map((draw) => draw());
  return makeSvg('svg', { viewBox: '0 0 100 100', 'aria-hidden': 'true', focusable: 'false' }, ...drawing);
}

/** The verdict of one reading: `{ code, word, left }`. */
export function readingVerdict(reading) {
  if (reading.void) {
    return { code: 'void', word: WORDS.void, left: `Voided: ${reading.void.reason}. It does not count.` };
  }
  if (reading.held) return { code: 'held', word: WORDS.held, left: 'It waits for your answer.' };
  if (reading.purpose === 'study') return { code: 'study', word: WORDS.study, left: 'No verdict on the piece.' };
  const code = SHAPES[reading.verdict] ? reading.verdict : 'none';
  if (code === 'none') {
    const word = reading.purpose === 'zero' ? 'ZERO CHECK' : WORDS.none;
    return { code, word, left: reading.left || 'Stored without a verdict.' };
  }
  return { code, word: reading.words || WORDS[code], left: reading.left ?? '' };
}

/** Whether a reading only repeats the one before: the button was pressed twice. */
export function isRepeat(reading) {
  const stands = reading.counted === false && !reading.void && !reading.held;
  return stands && (reading.flags ?? []).includes('double_press');
}

/** The reading a station is seen by: the newest, or the one it only repeats. */
export function shownReading(station) {
  const { last } = station;
  if (!last || !isRepeat(last)) return last ?? null;
  const before = (station.recent ?? []).find((each) => each.entry < last.entry && !isRepeat(each));
  const same = before && before.text === last.text && before.unit === last.unit;
  return same ? before : last;
}

/** What the station shows big: the record's own trouble comes before any reading. */
export function stationVerdict(station, trouble) {
  if (trouble) return { code: 'not_stored', word: WORDS.not_stored, left: trouble };
  const shown = shownReading(station);
  if (!shown) {
    const left = station.problem ? '' : 'Press the data button on the instrument.';
    return { code: 'nothing', word: WORDS.nothing, left };
  }
  return readingVerdict(shown);
}
