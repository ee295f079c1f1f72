// The form in which a study is planned. Which fields are asked for follows from what
// the study asks; how many readings it makes is said while it is being planned.

import { Choice, Field, makeForm } from './fields.js';
import { freshId, make, setText, show } from './dom.js';
import { post } from './api.js';

/**
 * What each kind asks of the plan: `methods` and `pieces` are `none`, `one` or `many`
 * (`open`: one or many, `each`: as many for each person), the rest says which further fields it has.
 */
const KINDS = {
  method_comparison: {
    words: 'method comparison',
    asks: 'Do ways of holding the wires differ? Each is held against the first, the baseline.',
    methods: 'many',
    pieces: 'open',
    operators: 'many',
    margin: true,
    rounds: 10,
  },
  repeatability: {
    words: 'repeatability and bias',
    asks: 'How well does one way repeat on one piece, and, where its size is known, how far is it off?',
    methods: 'one',
    pieces: 'one',
    operators: 'one',
    reference: true,
    rounds: 25,
  },
  gauge_rr: {
    words: 'gauge repeatability and reproducibility',
    asks: 'How much of what varies is the measurement? Each person measures each piece, in every round.',
    methods: 'one',
    pieces: 'many',
    operators: 'many',
    rounds: 3,
  },
  nested: {
    words: 'nested gauge study',
    asks: 'The same where each person has pieces of their own, as when a piece cannot be passed on.',
    methods: 'one',
    pieces: 'each',
    operators: 'many',
    rounds: 3,
  },
  wires: {
    words: 'wires',
    asks: 'Do the three wires differ? Each lies alone in turn, the others as the pair.',
    methods: 'none',
    pieces: 'one',
    operators: 'one',
    margin: true,
    rounds: 10,
  },
};

const ORDERS = [
  ['', 'round by round, at random'],
  ['shuffled', 'all at random'],
  ['as-listed', 'as listed, not at random'],
];

const PIECES = {
  one: ['Piece', 'its name; empty for “the piece”'],
  open: ['Pieces', 'empty for one piece; or three at least, one a line by name'],
  many: ['Pieces', 'one a line, by name; two at least, ten are usual'],
  each: ['Pieces', 'one a line: all of the first person’s, then all of the next one’s'],
};
const PEOPLE = {
  one: ['Who measures', 'empty: whoever is at the station'],
  many: ['Who measures', 'one a line; empty: whoever is at the station'],
};

const linesOf = (field) =>
  field.value
    .split('\n')
    .map((line) => line.trim())
    .filter(Boolean);

/** A field for a whole number. */
class CountField extends Field {
  get flaw() {
    return /^\d{1,6}$/.test(this.value) ? '' : 'Type a whole number.';
  }
}

/** The methods in their order: the first is the baseline where several are compared. */
class MethodsPart {
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

/** Builds the form. `from` is a study to start from; `context` gives jobs, the shop's lists, station, operator. */
export function studyForm(from, context, done, close) {
  const plan = new Plan(from, context);
  const use = make('input', { type: 'checkbox', checked: true });
  const start = context.station
    ? make(
        'label',
        { class: 'tick' },
        use,
        make('span', { text: `Begin it at ${context.station} once it is stored` }),
      )
    : null;
  return makeForm({
    title: from ? `Study like ${from.study}` : 'New study',
    word: 'Store study',
    body: [...plan.body, start].filter(Boolean),
    fields: () => plan.fields,
    find: (wanted) => plan.fields.find((field) => field.name === wanted && field.isAsked),
    send: () => post('/api/studies', { ...plan.value, by: context.operator ?? '' }),
    done: (stored) => done(stored, use.checked && Boolean(context.station)),
    close,
  });
}

/** Everything that is planned, and how many readings it makes. */
class Plan {
  constructor(from, context) {
    this.jobs = context.jobs();
    const shop = context.shop();
    const changed = () => this.#count();
    this.study = new Field({
      name: 'study',
      label: 'Study',
      value: from?.study,
      hint: from ? 'once begun, a plan stays: give this one another name' : 'its name, as holders on J-2417',
    });
    this.kindPart = new Choice({
      name: 'kind',
      label: 'What it asks',
      choices: Object.entries(KINDS).map(([code, { words }]) => [code, words]),
      value: from?.kind ?? 'method_comparison',
      onChange: () => this.#arrange(),
    });
    this.asks = make('p', { class: 'study-asks' });
    this.job = new Field({
      name: 'job',
      label: 'Job',
      kind: 'select',
      value: from?.job ?? context.job ?? this.jobs[0]?.job,
      choices: this.jobs.length ? this.jobs.map(({ job }) => [job, job]) : [['', 'no job yet']],
    });
    this.feature = new Field({ name: 'feature', label: 'Feature', kind: 'select', choices: [] });
    this.methods = new MethodsPart(shop.methods ?? [], from?.methods ?? [], changed);
    this.#lists(from, shop);
    this.#numbers(from);
    this.sum = make('p', { class: 'preview study-sum', 'aria-live': 'off' });
    this.body = this.#bodyOf();
    this.#features(from?.feature ?? context.feature);
    this.job.control.addEventListener('change', () => this.#features());
    for (const field of [this.pieces, this.operators, this.rounds]) field.control.addEventListener('input', changed);
    this.#arrange();
  }

  #lists(from, shop) {
    const area = (name, label) =>
      new Field({ name, label, kind: 'area', value: (from?.[name] ?? []).join('\n'), hint: ' ' });
    this.pieces = area('pieces', 'Pieces');
    this.operators = area('operators', 'Who measures');
    const people = shop.operators ?? [];
    this.everybody = make('button', {
      type: 'button',
      class: 'small',
      text: `Put in ${people.join(', ')}`,
      onclick: () => {
        this.operators.value = people.join('\n');
        this.operators.refuse('');
        this.#count();
      },
    });
    show(this.everybody, people.length > 0);
    this.operators.element.append(this.everybody);
  }

  #numbers(from) {
    const rounds = from?.rounds ?? KINDS[this.kind].rounds;
    this.roundsTyped = Boolean(from);
    this.rounds = new CountField({
      name: 'rounds',
      label: 'Rounds',
      kind: 'decimal',
      value: String(rounds),
      hint: 'how often each is measured',
    });
    this.rounds.control.addEventListener('input', () => {
      this.roundsTyped = true;
    });
    this.order = new Field({
      name: 'order',
      label: 'Order',
      kind: 'select',
      value: from?.order === 'blocks' ? '' : (from?.order ?? ''),
      choices: ORDERS,
      hint: 'random keeps drift from looking like a difference',
    });
    this.margin = new Field({
      name: 'margin_percent',
      label: 'Margin, % of the tolerance',
      kind: 'decimal',
      value: from?.margin_percent,
      hint: 'a difference within it does not matter; 10 when empty',
    });
    this.reference = new Field({
      name: 'reference',
      label: 'Known pitch diameter',
      kind: 'decimal',
      value: from?.reference,
      hint: 'in the unit of the thread, from a certificate; empty: no bias is told',
    });
  }

  #bodyOf() {
    const grid = (...parts) => make('div', { class: 'fields' }, ...parts.map((part) => part.element));
    return [
      grid(this.study, this.job, this.feature),
      this.kindPart.element,
      this.asks,
      grid(this.methods, this.pieces, this.operators),
      grid(this.rounds, this.order, this.margin, this.reference),
      this.sum,
    ];
  }

  get kind() {
    return this.kindPart.value;
  }

  get fields() {
    const { study, job, feature, methods, pieces, operators, rounds, order, margin, reference } = this;
    return [study, job, feature, methods, pieces, operators, rounds, order, margin, reference];
  }

  /** The plan as it is sent: what its kind does not ask for is left out. */
  get value() {
    const spec = KINDS[this.kind];
    return {
      study: this.study.value,
      kind: this.kind,
      job: this.job.value,
      feature: this.feature.value,
      methods: spec.methods === 'none' ? [] : this.methods.value,
      pieces: linesOf(this.pieces),
      operators: linesOf(this.operators),
      rounds: Number(this.rounds.value),
      order: this.order.value,
      ...(spec.margin ? { margin_percent: this.margin.value } : {}),
      ...(spec.reference ? { reference: this.reference.value } : {}),
    };
  }

  #features(now) {
    const names = this.jobs.find(({ job }) => job === this.job.value)?.features ?? [];
    const { control } = this.feature;
    control.replaceChildren(...names.map(({ name }) => make('option', { value: name, text: name })));
    if (names.some(({ name }) => name === now)) this.feature.value = now;
  }

  #arrange() {
    const spec = KINDS[this.kind];
    setText(this.asks, spec.asks);
    this.methods.arrange(spec.methods);
    label(this.pieces, PIECES[spec.pieces]);
    label(this.operators, PEOPLE[spec.operators]);
    this.pieces.control.rows = spec.pieces === 'one' ? 1 : 4;
    this.operators.control.rows = spec.operators === 'one' ? 1 : 4;
    show(this.margin.element, Boolean(spec.margin));
    show(this.reference.element, Boolean(spec.reference));
    if (!this.roundsTyped) this.rounds.value = String(spec.rounds);
    for (const field of this.fields) field.refuse('');
    this.#count();
  }

  #count() {
    setText(this.sum, sumWords(KINDS[this.kind], this.value));
  }
}

function label(field, [words, hint]) {
  setText(field.element.querySelector('label'), words);
  setText(field.element.querySelector('.field-hint'), hint);
}

const several = (count, one, many) => `${count} ${count === 1 ? one : many}`;

/** How many readings a plan makes, with what it is made of. */
function sumWords(spec, { methods, pieces, operators, rounds }) {
  const whole = Number.isInteger(rounds) && rounds > 0;
  const counts = [
    spec.methods === 'none' ? [3, 'seat', 'seats'] : [methods.length, 'method', 'methods'],
    [Math.max(1, pieces.length), 'piece', 'pieces'],
    spec.pieces === 'each' ? null : [Math.max(1, operators.length), 'person', 'people'],
    [whole ? rounds : 0, 'round', 'rounds'],
  ].filter(Boolean);
  const total = counts.reduce((product, [count]) => product * count, 1);
  if (!total) return 'Say how many rounds, to see how many readings that makes.';
  const parts = counts.map((each) => several(...each)).join(' × ');
  return `${parts}: ${several(total, 'reading', 'readings')}.`;
}
