// Rows for the clipboard: as text with tabs, and as an HTML table. Numbers get the decimal
// mark that the spreadsheet expects, text that people wrote is guarded as in the CSV, and a
// cell of the table says whether it is text, so that `0042-07` does not become a date.
//
// A column is `{ name, title, holds }`, `holds` as the collector names it; a row is an
// object of texts by the columns' names, decimals with a point.

import { guarded } from './guard.js';

const NUMBERS = new Set(['whole', 'flag', 'length', 'number']);
const DECIMALS = new Set(['length', 'number']);

const isNumber = (text) => /^[+-]?\d+(\.\d+)?$/.test(text);

/** What a cell shows, with the decimal mark (`.` or `,`). */
export function cellText(text, column, mark) {
  const said = text ?? '';
  if (DECIMALS.has(column.holds)) return mark === ',' ? said.replace('.', ',') : said;
  return column.holds === 'free' ? guarded(said) : said;
}

const titleOf = (column) => column.title ?? column.name;

/** As a plain cell: quoted where it holds a tab, a quote or a line end, as in the CSV. */
const plainCell = (text) => (/[\t\r\n"]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);

/** The rows as text: a line a row, a tab between cells, the columns' titles first. */
export function asText(columns, rows, mark) {
  const lines = [columns.map(titleOf), ...rows.map((row) => columns.map((each) => cellText(row[each.name], each, mark)))];
  return lines.map((cells) => `${cells.map(plainCell).join('\t')}\r\n`).join('');
}

const escaped = (text) =>
  text
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;')
    .replace(/\r\n|\r|\n/g, '<br>')
    .replaceAll('\t', '&#9;');

/**
 * How a spreadsheet shall take the cell: its format, and the number itself for those that
 * would else read it by the habits of their own language (1033 is one that writes 0.5).
 */
function hintOf(text, column) {
  if (column.holds === 'local') return dayHint(text);
  if (!NUMBERS.has(column.holds) || !isNumber(text)) {
    return ` style='mso-number-format:"\\@"' sdnum="1033;0;@"`;
  }
  const places = text.split('.')[1]?.length ?? 0;
  const zeros = '0'.repeat(places);
  const format = places ? `0\\.${zeros}` : '0';
  return ` style='mso-number-format:"${format}"' sdval="${Number(text)}" sdnum="1033;1033;${places ? `0.${zeros}` : '0'}"`;
}

/** A civil time, as days since 1899-12-30, which is how spreadsheets count them. */
function dayHint(text) {
  const [, day, hour] = /^(\d{4}-\d\d-\d\d) (\d\d:\d\d:\d\d)$/.exec(text) ?? [];
  const format = ` style='mso-number-format:"yyyy\\-mm\\-dd hh\\:mm\\:ss"'`;
  if (!day) return format;
  const days = Date.parse(`${day}T${hour}Z`) / 86400000 + 25569;
  return `${format} sdval="${days}" sdnum="1033;1033;YYYY-MM-DD HH:MM:SS"`;
}

function bodyCell(text, column, mark) {
  const said = text ?? '';
  if (said === '') return '<td></td>';
  return `<td${hintOf(said, column)}>${escaped(cellText(said, column, mark))}</td>`;
}

/** The rows as an HTML table. */
export function asTable(columns, rows, mark) {
  const head = columns.map((each) => `<th>${escaped(titleOf(each))}</th>`).join('');
  const body = rows.map(
    (row) => `<tr>${columns.map((each) => bodyCell(row[each.name], each, mark)).join('')}</tr>`,
  );
  return `<table><thead><tr>${head}</tr></thead><tbody>${body.join('')}</tbody></table>`;
}

/** The columns of a reading that are copied, in this order. */
export const READING_COLUMNS = [
  ['local_time', 'Time', 'local'],
  ['job', 'Job', 'free'],
  ['feature', 'Thread on the piece', 'free'],
  ['piece', 'Piece', 'whole'],
  ['attempt', 'Attempt', 'whole'],
  ['position', 'Position', 'free'],
  ['pitch_diameter', 'Pitch diameter', 'length'],
  ['over_wires', 'Over wires (M)', 'length'],
  ['unit', 'Unit', 'code'],
  ['pitch_diameter_min', 'Smallest', 'length'],
  ['pitch_diameter_max', 'Largest', 'length'],
  ['verdict_words', 'Verdict', 'code'],
  ['counted', 'Counted', 'flag'],
  ['void_reason', 'Void', 'free'],
  ['purpose', 'Purpose', 'code'],
  ['operator', 'By', 'free'],
  ['instrument', 'Instrument', 'free'],
  ['wire_set', 'Wire set', 'free'],
  ['entry', 'Entry', 'whole'],
].map(([name, title, holds]) => ({ name, title, holds }));

/** A reading as a station shows it, with the names that its columns have elsewhere. */
export function rowOfReading(reading) {
  const text = (said) => (said === null || said === undefined ? '' : String(said));
  const [, day, hour] = /^(\d{4}-\d\d-\d\d)T(\d\d:\d\d:\d\d)/.exec(reading.at ?? '') ?? [];
  return {
    local_time: day ? `${day} ${hour}` : '',
    job: text(reading.job),
    feature: text(reading.feature),
    piece: text(reading.piece),
    attempt: text(reading.attempt),
    position: text(reading.position),
    pitch_diameter: text(reading.pitch_diameter),
    over_wires: text(reading.over_wires),
    unit: text(reading.unit),
    pitch_diameter_min: text(reading.limits?.min),
    pitch_diameter_max: text(reading.limits?.max),
    verdict_words: text(reading.words),
    purpose: text(reading.purpose),
    operator: text(reading.operator),
    instrument: text(reading.instrument),
    wire_set: text(reading.wire_set),
    counted: reading.counted ? '1' : '0',
    void_reason: text(reading.void?.reason),
    entry: text(reading.entry),
  };
}
