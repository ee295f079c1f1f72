// Writes what the page would put on the clipboard: rows as JSON on standard input, the decimal mark and
// whether text or table as arguments.

import { asTable, asText } from '../../collector/assets/clip.js';

const [mark, kind] = process.argv.slice(2);
let told = '';
for await (const piece of process.stdin) told += piece;
const { columns, rows } = JSON.parse(told);
process.stdout.write((kind === 'table' ? asTable : asText)(columns, rows, mark));
