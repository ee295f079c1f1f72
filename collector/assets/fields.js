// Fields of a form: a label, a control, a hint, and a place for what is wrong
// with it right beside it. Nothing typed is ever cleared by a refusal.

import { freshId, make, setText } from './dom.js';
import { readDecimal } from './decimal.js';

/**
 * One field. `spec`: name, label, kind (`text`, `decimal`, `date`, `select`,
 * `area`), value, hint, choices ([value, text]), and wide or double for its width.
 */
export class Field {
  constructor(spec) {
    this.name = spec.name;
    this.kind = spec.kind ?? 'text';
    const id = freshId(spec.name.replaceAll('_', '-'));
    this.problem = make('p', { class: 'field-problem', id: `${id}-problem` });
    const hint = spec.hint ? make('p', { class: 'field-hint', id: `${id}-hint`, text: spec.hint }) : null;
    this.control = control(spec, this.kind, id);
    this.control.setAttribute('aria-describedby', `${id}-problem${hint ? ` ${id}-hint` : ''}`);
    this.element = make(
      'div',
      { class: `field${spec.wide ? ' wide' : ''}${spec.double ? ' double' : ''}` },
      make('label', { for: id, text: spec.label }),
      this.control,
      hint,
      this.problem,
    );
    this.control.addEventListener('input', () => this.refuse(''));
  }

  /** What is in it, as it is sent: decimals with a point, everything else trimmed. */
  get value() {
    const typed = this.control.value.trim();
    if (this.kind !== 'decimal') return typed;
    const read = readDecimal(typed);
    return read.text ?? typed;
  }

  set value(value) {
    this.control.value = value ?? '';
  }

  /** What the page itself can see to be wrong, or an empty string. */
  get flaw() {
    return this.kind === 'decimal' ? (readDecimal(this.control.value).why ?? '') : '';
  }

  /** Shows a sentence beside the field; an empty one takes it away. */
  refuse(sentence) {
    setText(this.problem, sentence);
    if (sentence) this.control.setAttribute('aria-invalid', 'true');
    else this.control.removeAttribute('aria-invalid');
    // A sentence in a folded part of a form would not be seen.
    const folded = sentence ? this.element.closest('details') : null;
    if (folded) folded.open = true;
  }

  /** Whether it is part of the form as it is now, folded or not. */
  get isAsked() {
    for (let at = this.element; at; at = at.parentElement) if (at.hidden) return false;
    return this.element.isConnected;
  }

  focus() {
    this.control.focus();
  }
}

function control(spec, kind, id) {
  const common = { id, name: spec.name, autocomplete: 'off' };
  if (kind === 'select') {
    return make(
      'select',
      common,
      ...spec.choices.map(([value, text]) =>
        make('option', { value, text, selected: value === (spec.value ?? '') }),
      ),
    );
  }
  if (kind === 'area') return make('textarea', { ...common, rows: 2, text: spec.value ?? '' });
  const inputmode = kind === 'decimal' ? 'decimal' : null;
  const type = kind === 'date' ? 'date' : 'text';
  return make('input', {
    ...common,
    type,
    inputmode,
    value: spec.value ?? '',
    maxlength: kind === 'date' ? null : 120,
    spellcheck: 'false',
  });
}

/** A group of radio buttons shown as chips. `value` is the one chosen. */
export class Choice {
  constructor({ name, label, choices, value, onChange }) {
    const group = freshId(name);
    this.inputs = choices.map(([each]) =>
      make('input', { type: 'radio', name: group, value: each, checked: each === value }),
    );
    this.element = make(
      'fieldset',
      { class: 'choice' },
      make('legend', { text: label }),
      make(
        'span',
        { class: 'chips' },
        ...choices.map(([, text], at) =>
          make('label', { class: 'chip' }, this.inputs[at], make('span', { text })),
        ),
      ),
    );
    for (const input of this.inputs) input.addEventListener('change', () => onChange?.(this.value));
  }

  get value() {
    return this.inputs.find((input) => input.checked)?.value ?? '';
  }
}

/**
 * A form with its own place for refusals. `find(name, index, number, within)` gives the
 * field a refusal names (`within` is the part of the form it is in); `send()` posts and
 * resolves with what was stored.
 */
export function makeForm({ title, body, fields, find, send, done, close, word }) {
  const problem = make('p', { class: 'form-problem', tabindex: '-1' });
  const store = make('button', { class: 'big primary', text: word ?? 'Store' });
  const form = make(
    'form',
    { class: 'sheet-form', novalidate: true },
    make('h3', { text: title }),
    problem,
    ...body,
    make(
      'p',
      { class: 'sheet-buttons' },
      store,
      make('button', { type: 'button', class: 'big', text: 'Close without storing', onclick: close }),
    ),
  );
  form.addEventListener('submit', async (event) => {
    event.preventDefault();
    setText(problem, '');
    for (const field of fields()) field.refuse('');
    const flawed = fields().filter((field) => field.isAsked && field.flaw);
    for (const field of flawed) field.refuse(field.flaw);
    if (flawed.length) return flawed[0].focus();
    store.disabled = true;
    try {
      done(await send());
    } catch (refusal) {
      showRefusal(refusal, problem, find);
    } finally {
      store.disabled = false;
    }
  });
  return form;
}

function showRefusal(refusal, problem, find) {
  const named = Object.entries(refusal.fields ?? {});
  const placed = named.map(([path, sentence]) => ({ ...fieldOf(path, find), sentence }));
  const found = placed.filter((each) => each.field);
  for (const { field, sentence } of found) field.refuse(sentence);
  const unplaced = placed.filter((each) => !each.field).map((each) => each.sentence);
  const general = found.length
    ? unplaced.join(' ')
    : [refusal.sentence ?? refusal.message, ...unplaced].join(' ');
  const several = `${found.length} fields are refused; each says why.`;
  const told = general || (found.length > 1 ? several : refusal.message);
  setText(problem, told && `Not stored: ${told}`);
  if (found.length) firstOnPage(found.map((each) => each.field)).focus();
  else problem.focus();
}

function firstOnPage(fields) {
  const follows = (one, other) =>
    one.element.compareDocumentPosition(other.element) & Node.DOCUMENT_POSITION_FOLLOWING ? -1 : 1;
  return [...fields].sort(follows)[0];
}

/** Finds the field for a path such as `features.1.thread` or `features.0.limits.max`. */
function fieldOf(path, find) {
  const steps = String(path)
    .split(/[^A-Za-z0-9_]+/)
    .filter(Boolean);
  const number = steps.find((step) => /^\d+$/.test(step));
  const names = steps.filter((step) => !/^\d+$/.test(step));
  const index = number === undefined ? 0 : Number(number);
  return { field: find(names.at(-1), index, number, names.at(-2)) ?? null };
}
