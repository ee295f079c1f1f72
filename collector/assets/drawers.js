// The two drawers above the button bar: void with a reason, and a reading typed
// in. They open from a press, take the focus then, and give it back on closing.

import { freshId, make, setText } from './dom.js';
import { readDecimal } from './decimal.js';
import { clockOf, mainValue } from './words.js';

export class Drawer {
  /** `element` is the drawer, `openers` the buttons that open it. */
  constructor(element, openers) {
    this.element = element;
    this.openers = openers;
    element.addEventListener('keydown', (event) => {
      if (event.key === 'Escape') this.close();
    });
  }

  get isOpen() {
    return !this.element.hidden;
  }

  /** Opens with the given content; `opener` gets the focus back. */
  open(opener, content, focusOn) {
    this.close(false);
    this.opener = opener;
    this.element.replaceChildren(...content);
    this.element.hidden = false;
    if (this.openers.includes(opener)) opener.setAttribute('aria-expanded', 'true');
    // The bar keeps to the bottom of the window; scroll only where it cannot.
    focusOn.focus({ preventScroll: true });
    requestAnimationFrame(() => this.#bringIn());
  }

  #bringIn() {
    const { top, bottom } = this.element.getBoundingClientRect();
    if (top < 0 || bottom > innerHeight) this.element.scrollIntoView({ block: 'center' });
  }

  close(giveBack = true) {
    if (!this.isOpen) return;
    for (const each of this.openers) each.setAttribute('aria-expanded', 'false');
    const held = this.element.contains(document.activeElement);
    this.element.hidden = true;
    this.element.replaceChildren();
    if (giveBack && held && this.opener?.isConnected) this.opener.focus();
  }
}

/** Content for voiding one reading: the reasons as big buttons. */
export function voidContent(reading, reasons, onReason, onKeep) {
  const value = mainValue(reading);
  const opens = reading.purpose === 'study' ? ' Its place in the study opens again.' : '';
  const asked = `Void ${value.text} ${reading.unit} (${whoseOf(reading)}, ${clockOf(reading.at)})?${opens} Why?`;
  const buttons = reasons.map((reason) =>
    make('button', { type: 'button', class: 'big', text: reason, onclick: () => onReason(reason) }),
  );
  const keep = make('button', { type: 'button', class: 'big keep', text: 'Keep it', onclick: onKeep });
  return {
    content: [
      make('p', { class: 'drawer-question', text: asked }),
      make('div', { class: 'drawer-buttons', role: 'group', 'aria-label': 'Reason' }, ...buttons, keep),
    ],
    focusOn: buttons[0] ?? keep,
  };
}

const whoseOf = ({ purpose, piece, method }) => (purpose === 'study' ? method : `piece ${piece ?? 'not set'}`);

/** Content for typing a reading in: what was understood is echoed before it is stored. */
export function typeContent(unit, store, onClose) {
  const id = freshId('typed');
  const echo = make('p', { class: 'echo', id: `${id}-echo` });
  const problem = make('p', { class: 'field-problem', id: `${id}-problem`, role: 'alert' });
  const input = make('input', {
    id,
    name: 'reading',
    inputmode: 'decimal',
    autocomplete: 'off',
    maxlength: 20,
    class: 'typed-input',
    'aria-describedby': `${id}-echo ${id}-problem`,
  });
  const units = make(
    'select',
    { class: 'typed-unit', 'aria-label': 'Unit of the typed reading' },
    ...['in', 'mm'].map((each) => make('option', { value: each, text: each, selected: each === unit })),
  );
  const understood = () => {
    const read = readDecimal(input.value);
    setText(
      echo,
      read.text
        ? `Understood: ${read.text} ${units.value}, over wires. It is marked as typed in.`
        : (read.why ?? 'Type what the instrument shows over the wires.'),
    );
    return read;
  };
  const form = make(
    'form',
    { class: 'typed-form', novalidate: true },
    make('label', { for: id, text: 'Reading over wires' }),
    make('span', { class: 'typed-line' }, input, units),
    echo,
    problem,
    make(
      'span',
      { class: 'drawer-buttons' },
      make('button', { class: 'big primary', text: 'Store it' }),
      make('button', { type: 'button', class: 'big keep', text: 'Close', onclick: onClose }),
    ),
  );
  input.addEventListener('input', () => {
    setText(problem, '');
    input.removeAttribute('aria-invalid');
    understood();
  });
  units.addEventListener('change', understood);
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    submitTyped(understood(), { input, units, echo, problem }, store);
  });
  understood();
  return { content: [form], focusOn: input };
}

async function submitTyped(read, { input, units, echo, problem }, store) {
  const refuse = (sentence) => {
    input.setAttribute('aria-invalid', 'true');
    setText(echo, '');
    setText(problem, sentence);
    input.focus();
  };
  if (!read.text) return refuse(read.why ?? 'Type the reading first.');
  try {
    await store({ text: read.text, unit: units.value });
    input.value = '';
    input.dispatchEvent(new Event('input'));
    input.focus();
  } catch (refusal) {
    refuse(`NOT STORED: ${refusal.sentence ?? refusal.message}`);
  }
}
