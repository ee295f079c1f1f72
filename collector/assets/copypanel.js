// The panel that copies rows: shows what will be copied, with the decimal mark that was
// chosen last, and puts it on the clipboard. Browsers give pages their clipboard only over
// https or on the computer itself; anywhere else the rows shown are selected and copied as
// if by hand.

import { asTable, asText, cellText } from './clip.js';
import { freshId, make, setText } from './dom.js';
import { Choice } from './fields.js';
import { keep, kept } from './kept.js';

const MARK_STORE = 'overwire-decimal-mark';
const MARKS = ['.', ','];
const MARK_WORDS = [
  ['.', '0.5 (point)'],
  [',', '0,5 (comma)'],
];

export class CopyPanel {
  /** `container` is empty until rows are to be copied. */
  constructor(container) {
    this.container = container;
  }

  get isOpen() {
    return this.container.childElementCount > 0;
  }

  /** Shows rows to be copied; `what` says in words which. */
  open({ what, columns, rows }) {
    this.opener ??= document.activeElement;
    Object.assign(this, { columns, rows, mark: kept(MARK_STORE, MARKS) });
    const id = freshId('copy');
    this.told = make('p', { class: 'copy-told', role: 'status' });
    this.shown = make('div', { class: 'copy-rows', tabindex: '0', role: 'group', 'aria-label': 'What will be copied' });
    this.shown.addEventListener('copy', (event) => this.#put(event));
    this.button = make('button', { type: 'button', class: 'big primary', text: 'Copy', onclick: () => this.#copy() });
    const marks = new Choice({
      name: 'decimal-mark',
      label: 'The spreadsheet writes',
      choices: MARK_WORDS,
      value: this.mark,
      onChange: (mark) => this.#choose(mark),
    });
    this.container.replaceChildren(
      make(
        'section',
        { class: 'panel copy', 'aria-labelledby': id, onkeydown: (event) => event.key === 'Escape' && this.close() },
        make('h3', { id, text: `Copy ${what}` }),
        marks.element,
        make('p', { class: 'quiet', text: 'This will be copied:' }),
        this.shown,
        ...uncounted(rows),
        make(
          'p',
          { class: 'copy-buttons' },
          this.button,
          make('button', { type: 'button', class: 'medium', text: 'Close', onclick: () => this.close() }),
        ),
        this.told,
      ),
    );
    this.#draw();
    this.button.focus({ preventScroll: true });
    this.container.scrollIntoView({ block: 'nearest' });
  }

  close() {
    const within = this.container.contains(document.activeElement);
    this.container.replaceChildren();
    if (within && this.opener?.isConnected) this.opener.focus();
    this.opener = null;
  }

  #choose(mark) {
    keep(MARK_STORE, mark);
    this.mark = mark;
    setText(this.told, '');
    this.#draw();
  }

  #draw() {
    const cells = (row) =>
      this.columns.map((each) => make('td', { text: cellText(row[each.name], each, this.mark) }));
    this.table = make(
      'table',
      {},
      make('thead', {}, make('tr', {}, ...this.columns.map((each) => make('th', { scope: 'col', text: each.title ?? each.name })))),
      make('tbody', {}, ...this.rows.map((row) => make('tr', {}, ...cells(row)))),
    );
    this.shown.replaceChildren(this.table);
  }

  /** What goes on the clipboard, by its kind. */
  #kinds() {
    return {
      'text/plain': asText(this.columns, this.rows, this.mark),
      'text/html': asTable(this.columns, this.rows, this.mark),
    };
  }

  /** Whoever copies the rows shown gets them whole, with the cells' formats. */
  #put(event) {
    for (const [kind, said] of Object.entries(this.#kinds())) event.clipboardData.setData(kind, said);
    event.preventDefault();
  }

  async #copy() {
    const count = `${this.rows.length} ${this.rows.length === 1 ? 'row' : 'rows'}`;
    if ((await byClipboard(this.#kinds())) || byHand(this.table)) {
      setText(this.told, `${count} copied. Paste them into the spreadsheet.`);
    } else {
      select(this.table);
      setText(this.told, 'This browser does not let a page copy. The rows are selected: press Ctrl and C, or hold them and choose Copy.');
    }
  }
}

/** Says that rows are among these that must not be reckoned with. */
function uncounted(rows) {
  const many = rows.filter(({ counted }) => counted === '0').length;
  if (!many) return [];
  const text = `${many} of these ${many === 1 ? 'does' : 'do'} not count: Counted is 0, and Void says why where it is void.`;
  return [make('p', { class: 'copy-mind', text })];
}

/** By the browser's own clipboard, where the page gets it. */
async function byClipboard(kinds) {
  if (!navigator.clipboard?.write || typeof ClipboardItem === 'undefined') return false;
  const blobs = Object.entries(kinds).map(([kind, said]) => [kind, new Blob([said], { type: kind })]);
  try {
    await navigator.clipboard.write([new ClipboardItem(Object.fromEntries(blobs))]);
    return true;
  } catch {
    return false;
  }
}

function select(element) {
  const range = document.createRange();
  range.selectNodeContents(element);
  const selection = getSelection();
  selection.removeAllRanges();
  selection.addRange(range);
}

/** By selecting what is shown; the listener puts the cells' formats in on the way. */
function byHand(shown) {
  const focused = document.activeElement;
  select(shown);
  let done = false;
  try {
    done = document.execCommand('copy');
  } catch {
    // Then it is up to the person.
  }
  if (!done) return false;
  getSelection().removeAllRanges();
  focused?.focus?.({ preventScroll: true });
  return true;
}
