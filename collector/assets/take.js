// Taking along all that was found: as a CSV in one of its dialects, with its first lines
// shown as they will be. The choice is kept in this browser.

import { setText } from './dom.js';
import { Choice } from './fields.js';
import { keep, kept } from './kept.js';

const DIALECTS = [
  ['exchange', 'For programs: commas, 0.5'],
  ['point', 'Spreadsheet that writes 0.5'],
  ['comma', 'Spreadsheet that writes 0,5'],
  ['tab', 'Tabs, 0.5'],
];
const ROWS = [
  ['readings', 'a reading'],
  ['pieces', 'a piece'],
];
const STORES = { dialect: 'overwire-dialect', rows: 'overwire-rows' };
const LINES = 3;
/** Columns of a row a reading that the preview shows. */
const SOME = 'local_time,job,piece,over_wires,pitch_diameter,unit,verdict_words,operator';

const codes = (choices) => choices.map(([code]) => code);

export class Take {
  constructor(choices, head, preview, link, descriptor) {
    Object.assign(this, { head, preview, link, descriptor, words: [] });
    this.chosen = {
      dialect: kept(STORES.dialect, codes(DIALECTS)),
      rows: kept(STORES.rows, codes(ROWS)),
    };
    const choice = (name, label, known) =>
      new Choice({ name, label, choices: known, value: this.chosen[name], onChange: (said) => this.#choose(name, said) });
    choices.append(choice('dialect', 'Written for', DIALECTS).element, choice('rows', 'A row for', ROWS).element);
  }

  /** Takes along what these words ask for. */
  of(words) {
    this.words = words;
    this.link.href = `/export.csv?${this.#query()}`;
    this.descriptor.href = `/export.datapackage.json?${this.#query()}`;
    this.#show();
  }

  #choose(name, said) {
    keep(STORES[name], said);
    this.chosen[name] = said;
    this.of(this.words);
  }

  #query(more = []) {
    return new URLSearchParams([...this.words, ...Object.entries(this.chosen), ...more]);
  }

  async #show() {
    this.under?.abort();
    this.under = new AbortController();
    const { signal } = this.under;
    const some = this.chosen.rows === 'readings';
    try {
      const lines = await firstLines(`/export.csv?${this.#query(some ? [['only', SOME]] : [])}`, signal);
      const tabs = this.chosen.dialect === 'tab' ? ' ⇥ stands for a tab.' : '';
      setText(this.head, `Its first lines${some ? ', a few of the columns' : ''}:${tabs}`);
      setText(this.preview, lines.map((line) => line.replaceAll('\t', ' ⇥ ')).join('\n'));
    } catch {
      if (!signal.aborted) setText(this.preview, 'The first lines could not be had.');
    }
  }
}

/** The first lines of a file, without waiting for the rest of it. */
async function firstLines(path, signal) {
  const answer = await fetch(path, { cache: 'no-store', signal });
  if (!answer.ok) throw new Error(String(answer.status));
  const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
  let text = '';
  while (text.split('\r\n').length <= LINES) {
    const { done, value } = await reader.read();
    if (done) break;
    text += value;
  }
  // The rest is not wanted.
  reader.cancel().catch(() => {});
  return text.split('\r\n').filter(Boolean).slice(0, LINES);
}
