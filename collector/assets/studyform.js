// The form in which a study is planned. Which fields are asked for follows from what
// the study asks; how many readings it makes is said while it is being planned.

import { Choice, Field, makeForm } from './fields.js';
import { MastersPart } from './masterparts.js';
import { MethodsPart } from './methodparts.js';
import { make, setText, show } from './dom.js';
import { post } from './api.js';

/**
 * What each kind asks of the plan: `methods` and `pieces` are `none`, `one` or `many`
 * (`open`: one or many, `each`: as many for each person), the rest says which further fields it has.
 * Where `masters` are measured in the place of pieces, they are `one` or `many`.
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
  linearity: {
    words: 'linearity',
    asks: 'Does the bias change with size? Masters of several certified sizes, each measured in every round.',
    methods: 'one',
    masters: 'many',
    operators: 'one',
    rounds: 5,
  },
  stability: {
    words: 'stability over time',
    asks: 'Does the measurement stay the same? One master, visited again and again for as long as you like.',
    methods: 'one',
    masters: 'one',
    operators: 'one',
    days: true,
    rounds: 3,
  },
};

const OVER = [
  ['plain', 'plain masters, without wires'],
  ['wires', 'threaded masters, over wires'],
];

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
const ROUNDS = ['Rounds', 'how often each is measured'];
const VISIT = ['Readings a visit', 'taken in one sitting'];
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
    find: (wanted, at, number, within) => plan.find(wanted, at, within),
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
    this.#certified(from, context, changed);
    this.#lists(from, shop);
    this.#numbers(from);
    this.sum = make('p', { class: 'preview study-sum', 'aria-live': 'off' });
    this.body = this.#bodyOf();
    this.#features(from?.feature ?? context.feature);
    this.job.control.addEventListener('change', () => {
      this.#features();
      this.#masters();
    });
    for (const field of [this.pieces, this.operators, this.rounds, this.days]) field.control.addEventListener('input', changed);
    this.#arrange();
  }

  /** What is asked of masters: plain or threaded, which they are, by which instrument, how often. */
  #certified(from, context, changed) {
    this.overPart = new Choice({
      name: 'over',
      label: 'What is measured',
      choices: OVER,
      value: from && from.over !== 'plain' && from.masters ? 'wires' : 'plain',
      onChange: () => this.#arrange(),
    });
    this.masters = new MastersPart(from?.masters ?? [], context.unit ?? 'mm', changed);
    const instruments = context.instruments();
    const own = from?.instrument || context.instrument;
    const known = own && !instruments.includes(own) ? [own, ...instruments] : instruments;
    this.instrument = new Field({
      name: 'instrument',
      label: 'Instrument',
      kind: 'select',
      value: own,
      choices: known.map((name) => [name, name]),
      hint: 'the one that is to be known',
    });
    this.days = new CountField({
      name: 'every_days',
      label: 'Days from one visit to the next',
      kind: 'decimal',
      value: String(from?.every_days || 7),
      hint: 'a visit before or after its day is one all the same',
    });
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
      this.overPart.element,
      grid(this.instrument, this.days),
      this.masters.element,
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
    const certified = [this.instrument, this.days, this.masters, ...this.masters.fields];
    return [study, job, feature, ...certified, methods, pieces, operators, rounds, order, margin, reference];
  }

  /** The field that a refusal names. */
  find(wanted, at, within) {
    if (within === 'masters') return this.masters.find(wanted, at);
    return this.fields.find((field) => field.name === wanted && field.isAsked);
  }

  /** Whether masters are measured without wires. */
  get isPlain() {
    return Boolean(KINDS[this.kind].masters) && this.overPart.value === 'plain';
  }

  /** The plan as it is sent: what its kind does not ask for is left out. */
  get value() {
    const spec = KINDS[this.kind];
    const bare = spec.methods === 'none' || this.isPlain;
    return {
      study: this.study.value,
      kind: this.kind,
      ...(spec.masters ? this.#certifiedValue(spec) : { job: this.job.value, feature: this.feature.value }),
      methods: bare ? [] : this.methods.value,
      pieces: spec.masters ? [] : linesOf(this.pieces),
      operators: linesOf(this.operators),
      rounds: Number(this.rounds.value),
      order: this.order.value,
      ...(spec.margin ? { margin_percent: this.margin.value } : {}),
      ...(spec.reference ? { reference: this.reference.value } : {}),
    };
  }

  #certifiedValue(spec) {
    const masters = this.masters.value;
    const feature = masters[0]?.feature ?? this.#threads[0] ?? '';
    return {
      ...(this.isPlain ? {} : { job: this.job.value, feature }),
      over: this.overPart.value,
      instrument: this.instrument.value,
      masters,
      ...(spec.days ? { every_days: Number(this.days.value) } : {}),
    };
  }

  /** The names of the job's threads. */
  get #threads() {
    const { features } = this.jobs.find(({ job }) => job === this.job.value) ?? {};
    return (features ?? []).map(({ name }) => name);
  }

  #masters() {
    const several = KINDS[this.kind].masters === 'many';
    this.masters.arrange({ several, plain: this.isPlain, features: this.#threads });
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
    this.methods.arrange(this.isPlain ? 'none' : spec.methods);
    if (spec.masters) this.#masters();
    for (const part of [this.overPart, this.instrument, this.masters]) show(part.element, Boolean(spec.masters));
    show(this.days.element, Boolean(spec.days));
    show(this.pieces.element, !spec.masters);
    show(this.job.element, !this.isPlain);
    show(this.feature.element, !spec.masters);
    show(this.order.element, !spec.days);
    label(this.rounds, spec.days ? VISIT : ROUNDS);
    if (spec.pieces) label(this.pieces, PIECES[spec.pieces]);
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
function sumWords(spec, { methods, pieces, masters, operators, rounds, every_days: everyDays }) {
  const whole = Number.isInteger(rounds) && rounds > 0;
  if (spec.days) {
    if (!whole) return 'Say how many readings a visit has.';
    const often = several(everyDays, 'day', 'days').replace(/^1 day$/, 'day');
    return `1 master, ${several(rounds, 'reading', 'readings')} a visit, every ${often}, without an end.`;
  }
  const pieceCount = [Math.max(1, pieces.length), 'piece', 'pieces'];
  const methodCount = spec.methods === 'none' ? [3, 'seat', 'seats'] : [methods.length, 'method', 'methods'];
  const counts = [
    spec.masters ? null : methodCount,
    spec.masters ? [masters.length, 'master', 'masters'] : pieceCount,
    spec.pieces === 'each' || spec.masters ? null : [Math.max(1, operators.length), 'person', 'people'],
    [whole ? rounds : 0, 'round', 'rounds'],
  ].filter(Boolean);
  const total = counts.reduce((product, [count]) => product * count, 1);
  if (!total) return 'Say how many rounds, to see how many readings that makes.';
  const parts = counts.map((each) => several(...each)).join(' × ');
  return `${parts}: ${several(total, 'reading', 'readings')}.`;
}
