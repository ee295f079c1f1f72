// The methods of a study in its form: one, or several in their order.

import { freshId, make, setText, show } from './dom.js';

/** The methods in their order: the first is the baseline where several are compared. */
export class MethodsPart {
  constructor(known, chosen, onChange) {
    Object.assign(this, { name: 'methods', known, onChange });
    this.chosen = chosen.length ? chosen : known.slice(0, 1);
    this.rows = make('div', { class: 'study-methods' });
    this.problem = make('p', { class: 'field-problem', id: freshId('methods-problem') });
    this.more = make('button', {
      type: 'button',
      class: 'small',
      text: 'Add a method',
      onclick: () => this.#add(),
    });
    this.legend = make('legend', { text: 'Methods' });
    this.element = make(
      'fieldset',
      { class: 'choice' },
      this.legend,
      this.rows,
      make('p', { class: 'study-more' }, this.more),
      this.problem,
    );
    this.arrange('many');
  }

  get value() {
    return this.selects.map((select) => select.value).filter(Boolean);
  }

  get flaw() {
    return '';
  }

  get isAsked() {
    return !this.element.hidden && this.element.isConnected;
  }

  refuse(sentence) {
    setText(this.problem, sentence);
    for (const select of this.selects) {
      if (sentence) select.setAttribute('aria-invalid', 'true');
      else select.removeAttribute('aria-invalid');
    }
  }

  focus() {
    this.selects[0]?.focus();
  }

  /** Shows one method, several, or none; what was chosen is kept. */
  arrange(how) {
    if (this.selects) this.chosen = [...this.value, ...this.chosen.slice(this.value.length)];
    show(this.element, how !== 'none');
    if (how === 'many' && this.chosen.length < 2)
      this.chosen = [...this.chosen, ...this.known.filter((each) => !this.chosen.includes(each)).slice(0, 1)];
    this.several = how === 'many';
    this.#draw(this.several ? this.chosen : this.chosen.slice(0, 1));
  }

  #draw(chosen) {
    this.selects = chosen.map((now) => this.#select(now));
    const rows = this.selects.map((select, at) => this.#row(select, at));
    this.rows.replaceChildren(...rows);
    setText(this.legend, this.several ? 'Methods, the baseline first' : 'Method');
    show(this.more, this.several && this.known.length > chosen.length);
    this.refuse('');
  }

  #select(now) {
    const names = this.known.includes(now) ? this.known : [now, ...this.known];
    const select = make(
      'select',
      { id: freshId('method'), name: 'methods', 'aria-describedby': this.problem.id },
      ...names.map((name) => make('option', { value: name, text: name, selected: name === now })),
    );
    select.addEventListener('change', () => {
      this.chosen = this.value;
      this.refuse('');
      this.onChange();
    });
    return select;
  }

  #row(select, at) {
    const words = this.several ? (at === 0 ? 'Baseline' : `Method ${at + 1}`) : 'Method';
    const remove = make('button', {
      type: 'button',
      class: 'medium',
      text: 'Remove',
      'aria-label': `Remove method ${at + 1}`,
      onclick: () => this.#remove(at),
    });
    show(remove, this.several && this.selects.length > 2);
    return make(
      'div',
      { class: 'pick' },
      make('label', { for: select.id, class: this.several ? 'study-method-name' : 'unseen', text: words }),
      select,
      remove,
    );
  }

  #add() {
    const free = this.known.find((name) => !this.value.includes(name));
    if (!free) return;
    this.chosen = [...this.value, free];
    this.#draw(this.chosen);
    this.selects.at(-1).focus();
    this.onChange();
  }

  #remove(at) {
    this.chosen = this.value.filter((_, each) => each !== at);
    this.#draw(this.chosen);
    this.selects[Math.min(at, this.selects.length - 1)].focus();
    this.onChange();
  }
}
