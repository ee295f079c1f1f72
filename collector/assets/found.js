// What was found: how many by what is to be said of them, and the readings in a table. Void
// rows stay, struck through, with their reason.

import { make } from './dom.js';
import { readingVerdict, verdictShape } from './verdict.js';
import { flagWords, purposeWords } from './words.js';

const HEADS = ['Choose', 'Time', 'Job', 'Piece', 'Pitch diameter', 'Over wires (M)', 'Verdict', 'By', 'Remarks'];
const ORDER = ['pass', 'fail_under', 'fail_over', 'still_to_cut', 'undecided', 'held', 'zero_within', 'zero_off', 'none', 'not_counted', 'void'];

/** A count with its thousands apart. */
const counted = (number) => String(number).replace(/\B(?=(\d{3})+$)/g, '\u202f');

/** How many there are, in words. */
export function sumWords({ readings, pieces, whole }) {
  if (readings === 0) return whole ? 'No reading. Leave something out, or put * for a part of a text.' : 'None so far; it takes too long to look at all.';
  const more = whole ? '' : 'More than ';
  const many = `${more}${counted(readings)} ${readings === 1 ? 'reading' : 'readings'}`;
  const on = pieces ? ` on ${more.toLowerCase()}${counted(pieces)} ${pieces === 1 ? 'piece' : 'pieces'}` : '';
  return `${many}${on}${whole ? '.' : '; counting all would take too long.'}`;
}

function kindOf(code) {
  if (code === 'not_counted') return { code: 'nothing', word: 'not counted' };
  if (code === 'void') return { code, word: 'VOID' };
  return readingVerdict({ verdict: code, held: code === 'held' });
}

/** How many there are of each verdict, and how many are void, held or not counted. */
export function drawKinds(list, { standing }) {
  const codes = [...ORDER.filter((code) => standing[code]), ...Object.keys(standing).filter((code) => !ORDER.includes(code))];
  list.replaceChildren(
    ...codes.map((code) => {
      const { code: shape, word } = kindOf(code);
      return make(
        'li',
        { class: 'small-verdict', 'data-kind': code },
        verdictShape(shape),
        make('span', { text: `${word} ${counted(standing[code])}` }),
      );
    }),
  );
}

/** A row as the station's page has readings, as far as its verdict goes. */
function readingOf(row) {
  return {
    ...row,
    words: row.verdict_words,
    held: row.verdict_words === 'HELD',
    void: row.void === '1' ? { reason: row.void_reason, by: row.void_by } : null,
  };
}

/** Draws the table. `chosen` holds the entries of rows that are ticked; `tell` is called when that changes. */
export function drawRows(container, rows, chosen, tell) {
  if (!rows.length) {
    container.replaceChildren(make('p', { class: 'quiet', text: 'Nothing to show.' }));
    return;
  }
  const all = make('input', { type: 'checkbox', 'aria-label': 'Choose all shown' });
  const body = make('tbody', { role: 'rowgroup' }, ...rows.map((row) => lineOf(row, chosen, told)));
  all.addEventListener('change', () => {
    for (const box of body.querySelectorAll('input')) {
      box.checked = all.checked;
      mark(chosen, box.value, box.checked);
    }
    told();
  });
  function told() {
    all.checked = chosen.size === rows.length;
    all.indeterminate = chosen.size > 0 && !all.checked;
    tell();
  }
  const heads = HEADS.map((text, at) =>
    make('th', { scope: 'col', role: 'columnheader', class: at === 4 || at === 5 ? 'number' : null }, at === 0 ? make('label', { class: 'choose' }, all) : text),
  );
  container.replaceChildren(
    make('table', { class: 'readings', role: 'table' }, make('thead', { role: 'rowgroup' }, make('tr', { role: 'row' }, ...heads)), body),
  );
}

function mark(chosen, entry, is) {
  if (is) chosen.add(entry);
  else chosen.delete(entry);
}

function lineOf(row, chosen, told) {
  const reading = readingOf(row);
  const box = make('input', { type: 'checkbox', value: row.entry, 'aria-label': `Choose the reading of ${row.local_time}` });
  box.addEventListener('change', () => {
    mark(chosen, row.entry, box.checked);
    told();
  });
  const value = (text) => make(reading.void ? 's' : 'span', { text: text ? `${text} ${row.unit}` : '–' });
  const verdict = readingVerdict(reading);
  const uncounted = row.counted === '0' && row.purpose !== 'zero' && !reading.held;
  const [day, hour] = row.local_time.split(' ');
  const cells = [
    make('label', { class: 'choose' }, box),
    make('span', {}, make('span', { class: 'day', text: day }), ' ', hour),
    make('span', {}, row.job || '–', row.feature ? make('span', { class: 'quiet', text: ` ${row.feature}` }) : ''),
    row.purpose === 'zero' || !row.job ? '–' : row.piece,
    value(row.purpose === 'zero' ? '' : row.pitch_diameter),
    value(row.over_wires),
    make('span', { class: 'small-verdict', 'data-verdict': verdict.code }, verdictShape(verdict.code), make('span', { text: verdict.word })),
    row.operator || 'unattributed',
    remarks(row, reading, uncounted),
  ];
  return make(
    'tr',
    { role: 'row', class: reading.void ? 'is-void' : uncounted ? 'is-uncounted' : null, 'data-entry': row.entry },
    ...cells.map((content, at) =>
      make('td', { role: 'cell', 'data-head': HEADS[at], class: at === 4 || at === 5 ? 'number' : null }, content),
    ),
  );
}

function remarks(row, reading, uncounted) {
  const said = [];
  if (reading.void) said.push(`void: ${reading.void.reason}${reading.void.by ? ` (${reading.void.by})` : ''}`);
  else if (uncounted) said.push('not counted');
  if (row.purpose !== 'inspecting') said.push(purposeWords(row.purpose));
  said.push(...row.flags.split(' ').filter((flag) => flag && !['corrected', 'unattributed'].includes(flag)).map(flagWords));
  if (Number(row.attempt) > 1) said.push(`attempt ${row.attempt}`);
  if (row.position) said.push(`at ${row.position}`);
  said.push([row.instrument, row.wire_set].filter(Boolean).join(' over '));
  if (row.comment) said.push(`“${row.comment}”`);
  return make('span', { text: said.filter(Boolean).join(', ') });
}
