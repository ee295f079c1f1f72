// The masters of a study in its form: one after the other, each with what its
// certificate states and, over wires, the thread it carries.

import { Field } from './fields.js';
import { freshId, make, setText, show } from './dom.js';

const UNITS = [
  ['mm', 'mm'],
  ['in', 'in'],
];
/** A bend of the bias cannot be told from a slope with fewer masters. */
const FEWEST = 3;

/** A list of masters: several, or the one that is visited again and again. */
export class MastersPart {
  /** `from` are masters to start from; `unit` is that of the first new one; `onChange` hears of every change. */
  constructor(from, unit, onChange) {
    Object.assign(this, { name: 'masters', unit, onChange, several: true, plain: true, features: [] });
    this.rows = make('div', { class: 'masters' });
    this.problem = make('p', { class: 'field-problem', id: freshId('masters-problem') });
    this.more = make('button', {
      type: 'button',
      class: 'small',
      'data-key': 'add-master',
      text: 'Add a master',
      onclick: () => this.#add(),
    });
    this.legend = make('legend', { text: 'Masters' });
    this.element = make(
      'fieldset',
      { class: 'choice', 'aria-describedby': this.problem.id },
      this.legend,
      this.rows,
      make('p', { class: 'study-more' }, this.more),
      this.problem,
    );
    this.all = from.map((master) => this.#master(master));
  }

  get value() {
    return this.#shown.map((master) => master.value(this.plain));
  }

  get fields() {
    return this.#shown.flatMap((master) => master.fields);
  }

  get flaw() {
    return '';
  }

  get isAsked() {
    return !this.element.hidden && this.element.isConnected;
  }

  get #shown() {
    return this.several ? this.all : this.all.slice(0, 1);
  }

  refuse(sentence) {
    setText(this.problem, sentence);
  }

  focus() {
    this.all[0]?.fields[0].focus();
  }

  /** The field that a refusal's path names, as `masters.1.size`. */
  find(name, at) {
    return this.#shown[at]?.fields.find((field) => field.name === name) ?? this;
  }

  /** Shows several masters or one, plain or with threads of the job; what was typed is kept. */
  arrange({ several, plain, features }) {
    Object.assign(this, { several, plain, features });
    const fewest = several ? FEWEST : 1;
    while (this.all.length < fewest) this.all.push(this.#master({}));
    setText(this.legend, several ? 'Masters, five over the whole range are usual' : 'The master');
    show(this.more, several);
    this.#draw();
  }

  #master(from) {
    const before = this.all?.at(-1);
    return new Master({ unit: before?.unit.value ?? this.unit, ...from }, this.onChange, (gone) => this.#remove(gone));
  }

  #add() {
    const master = this.#master({});
    this.all = [...this.all, master];
    this.#draw();
    master.fields[0].focus();
    this.onChange();
  }

  #remove(gone) {
    const at = this.all.indexOf(gone);
    this.all = this.all.filter((master) => master !== gone);
    this.#draw();
    this.all[Math.min(at, this.all.length - 1)].fields[0].focus();
    this.onChange();
  }

  #draw() {
    for (const [at, master] of this.#shown.entries())
      master.arrange({
        words: this.several ? `Master ${at + 1}` : 'Master',
        plain: this.plain,
        features: this.features,
        removable: this.several && this.all.length > FEWEST,
      });
    this.rows.replaceChildren(...this.#shown.map((master) => master.element));
    this.refuse('');
  }
}

/** One master: its name and what its certificate states. */
class Master {
  constructor(from, onChange, onRemove) {
    const field = (name, label, hint, more = {}) =>
      new Field({ name, label, hint, value: from[name], ...more });
    this.master = field('master', 'Name', 'as it is marked');
    this.size = field('size', 'Certified size', ' ', { kind: 'decimal' });
    this.unit = field('unit', 'Unit', undefined, { kind: 'select', choices: UNITS });
    this.uncertainty = field('uncertainty', 'Its uncertainty, k = 2', 'from the certificate; may be empty', {
      kind: 'decimal',
    });
    this.certificate = field('certificate', 'Certificate', 'its number; may be empty');
    this.feature = field('feature', 'Thread', 'of the job', { kind: 'select', choices: [] });
    this.chosen = from.feature;
    this.legend = make('legend');
    this.remove = make('button', {
      type: 'button',
      class: 'small',
      text: 'Remove this master',
      onclick: () => onRemove(this),
    });
    this.element = make(
      'fieldset',
      { class: 'thread master' },
      this.legend,
      make('div', { class: 'fields' }, ...this.fields.map((each) => each.element)),
      this.remove,
    );
    for (const { control } of this.fields) control.addEventListener('input', onChange);
    this.feature.control.addEventListener('change', () => {
      this.chosen = this.feature.value;
    });
  }

  get fields() {
    return [this.master, this.size, this.unit, this.uncertainty, this.certificate, this.feature];
  }

  value(plain) {
    const { master, size, unit, uncertainty, certificate, feature } = this;
    return {
      master: master.value,
      size: size.value,
      unit: unit.value,
      ...(uncertainty.value ? { uncertainty: uncertainty.value } : {}),
      ...(certificate.value ? { certificate: certificate.value } : {}),
      ...(plain || !feature.value ? {} : { feature: feature.value }),
    };
  }

  arrange({ words, plain, features, removable }) {
    setText(this.legend, words);
    setText(
      this.size.element.querySelector('.field-hint'),
      plain ? 'the diameter its certificate states' : 'the pitch diameter its certificate states',
    );
    show(this.feature.element, !plain);
    show(this.remove, removable);
    const { control } = this.feature;
    control.replaceChildren(...features.map((name) => make('option', { value: name, text: name })));
    if (features.includes(this.chosen)) this.feature.value = this.chosen;
  }
}
