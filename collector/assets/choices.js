// How the statistics of a job are worked out: every choice stands in the page's address, so that
// a link says it too. Setting them goes to the address that says them.

import { Field } from './fields.js';
import { freshId, make, setText, show } from './dom.js';

const CHARTS = [
  ['individuals', 'piece by piece (individuals)'],
  ['groups', 'groups of pieces (means with ranges or standard deviations)'],
  ['short-runs', 'short runs of several threads (deviation from nominal)'],
];
const RULES = [
  ['usual', 'the usual two: beyond a limit, nine on one side'],
  ['nelson', 'all eight of Nelson'],
  ['western-electric', 'the four of Western Electric'],
];
const SHAPES = [
  ['', 'normally, unless they speak against it'],
  ['log-normal', 'log-normally (percentile method)'],
  ['weibull', 'as Weibull (percentile method)'],
  ['folded-normal', 'folded normally (percentile method)'],
  ['as-read', 'as they are read, from 1000 pieces on (percentile method)'],
];
const LIMITS = [
  ['', 'all'],
  ['freeze', 'the first: later ones are judged by them'],
  ['freeze_to', 'those up to a piece: later ones are judged by them'],
];
const BY = [
  ['count', 'so many pieces'],
  ['hour', 'an hour'],
  ['shift', 'a shift'],
  ['day', 'a day'],
];
const SPREADS = [
  ['', 'what fits'],
  ['range', 'ranges'],
  ['deviation', 'standard deviations'],
];
const CHANGES = [
  ['wires', 'other wires'],
  ['instrument', 'another instrument'],
  ['zero', 'a zero check'],
  ['method', 'another method'],
  ['operator', 'another person'],
  ['job', 'a revised job'],
  ['remark', 'a remark on a reading'],
];

const shortly = (choices, code) => (choices.find(([each]) => each === code) ?? choices[0])[1].replace(/[:(].*$/, '').trim();

export class ChoiceForm {
  /** `asked` is the address as it is now; `go(query)` goes to another. */
  constructor(asked, go) {
    this.asked = asked;
    this.go = go;
    this.#build();
    this.#arrange();
  }

  /** Offers the threads of the shop for short runs. */
  offer(threads) {
    const own = `${this.asked.get('job')}, ${this.asked.get('feature')}`;
    const chosen = this.asked.getAll('with');
    const others = threads.filter((each) => each !== own);
    this.with.list.replaceChildren(...others.map((name) => chip('with', name, name, chosen.includes(name))));
    setText(this.with.none, others.length ? '' : 'There is no other thread yet.');
  }

  /** Shows beside the fields what was refused. */
  refuse(fields) {
    for (const [name, sentence] of Object.entries(fields)) {
      const place = { phase: 'breaks', rules: this.fields.numbers.element.hidden ? 'rules' : 'numbers' };
      const field = this.fields[place[name] ?? name];
      field?.refuse(sentence);
    }
    if (Object.keys(fields).length) this.element.open = true;
  }

  #build() {
    const { asked } = this;
    const field = (name, label, spec = {}) => new Field({ name, label, value: asked.get(name) ?? '', ...spec });
    const [rules, numbers] = (asked.get('rules') ?? '').split(':');
    const limits = LIMITS.find(([name]) => name && asked.get(name))?.[0] ?? '';
    this.fields = {
      chart: field('chart', 'Charted are', { kind: 'select', choices: CHARTS, value: asked.get('chart') || 'individuals' }),
      rules: field('rules', 'Runs are looked for by', { kind: 'select', choices: RULES, value: rules || 'usual' }),
      numbers: field('numbers', 'Only these, by number', { value: numbers ?? '', hint: 'as 1,2,5; a run of 8 in place of the book’s: 2=8; empty: all' }),
      shape: field('shape', 'Pieces scatter', { kind: 'select', choices: SHAPES }),
      limits: field('limits', 'Limits come from', { kind: 'select', choices: LIMITS, value: limits }),
      freeze: field('freeze', 'How many pieces or groups', { hint: 'in phases: at the start of each' }),
      freeze_to: field('freeze_to', 'Up to piece number'),
      remark: field('remark', 'The remark holds', { hint: 'empty: tool' }),
      breaks: field('breaks', 'Phases begin with these pieces too', { kind: 'area', hint: 'one a line: number and what changed, as 41 new insert' }),
      by: field('by', 'A group is', { kind: 'select', choices: BY, value: asked.get('by') || 'count' }),
      size: field('size', 'How many pieces', { hint: 'empty: 5' }),
      shifts: field('shifts', 'Shifts begin at', { hint: 'empty: 06:00 14:00 22:00' }),
      ewma: field('ewma', 'Weighted average: weight, limits', { hint: 'empty: 0.2, 2.962' }),
      cusum: field('cusum', 'Cumulative sums: allowance, limit', { hint: 'empty: 0.5, 5; with a head start: 0.5, 5, half' }),
      target: field('target', 'Shifts are shifts from', { hint: 'a size in the unit shown, or middle: of the limits; empty: the centre line' }),
      spread: field('spread', 'Their spread is charted by', { kind: 'select', choices: SPREADS }),
    };
    this.phases = chips('Phases begin with', 'phase', CHANGES, asked.getAll('phase'));
    this.with = others();
    this.sigma = chips('Deviations are counted', 'sigma', [['own', 'in each thread’s own sigma too']], asked.getAll('sigma'));
    this.form = make(
      'form',
      { class: 'report-choices', novalidate: true },
      make('div', { class: 'fields' }, ...Object.values(this.fields).map((each) => each.element), this.phases, this.with.element, this.sigma),
      make('p', {}, make('button', { class: 'medium', text: 'Work it out so' })),
    );
    this.form.addEventListener('input', () => this.#arrange());
    this.form.addEventListener('submit', (event) => {
      event.preventDefault();
      this.go(this.#query());
    });
    // Phases follow the fields they belong to.
    this.fields.freeze_to.element.after(this.phases);
    this.summary = make('span');
    this.element = make(
      'details',
      { class: 'report-how' },
      make('summary', {}, make('span', { class: 'report-how-word', text: 'How it is worked out' }), this.summary),
      this.form,
    );
    setText(this.summary, this.#words());
  }

  /** Only what belongs to the chart is asked for. */
  #arrange() {
    const { chart, rules, numbers, shape, limits, freeze, freeze_to, remark, breaks, by, size, shifts, spread, ewma, cusum, target } = this.fields;
    const [, groups, runs] = CHARTS.map(([code]) => chart.value === code);
    show(numbers.element, rules.value !== 'usual');
    show(shape.element, !runs);
    for (const each of [limits.element, this.phases, breaks.element]) show(each, !runs);
    show(freeze.element, !runs && limits.value === 'freeze');
    show(freeze_to.element, !runs && limits.value === 'freeze_to');
    show(remark.element, !runs && chosen(this.phases).includes('remark'));
    for (const each of [ewma, cusum, target]) show(each.element, !groups && !runs);
    for (const each of [by, spread]) show(each.element, groups);
    show(size.element, groups && by.value === 'count');
    show(shifts.element, groups && by.value === 'shift');
    show(this.with.element, runs);
    show(this.sigma, runs);
  }

  /** What is chosen and asked for, without what is usual. */
  #query() {
    const query = new URLSearchParams();
    for (const name of ['job', 'feature', 'station']) if (this.asked.get(name)) query.set(name, this.asked.get(name));
    const usual = { chart: 'individuals', rules: 'usual', by: 'count' };
    for (const [name, field] of Object.entries(this.fields)) {
      const said = field.value;
      if (!['limits', 'numbers'].includes(name) && !field.element.hidden && said && said !== usual[name]) query.set(name, said);
    }
    const numbers = this.fields.numbers.value.replace(/\s/g, '');
    if (query.has('rules') && numbers) query.set('rules', `${query.get('rules')}:${numbers}`);
    for (const [name, list] of [['phase', this.phases], ['with', this.with.element], ['sigma', this.sigma]]) {
      if (!list.hidden) for (const each of chosen(list)) query.append(name, each);
    }
    return query.toString();
  }

  #words() {
    const { chart, rules, numbers, limits, shape, ewma, cusum, target } = this.fields;
    const some = rules.value !== 'usual' && numbers.value ? ` (only ${numbers.value})` : '';
    const parts = [shortly(CHARTS, chart.value), shortly(RULES, rules.value) + some];
    const runs = chart.value === 'short-runs';
    if (!runs) parts.push(`limits from ${shortly(LIMITS, limits.value)}`);
    const phases = this.asked.getAll('phase').length || this.asked.get('breaks');
    if (phases && !runs) parts.push('in phases');
    if ([ewma, cusum, target].some((each) => each.value)) parts.push('small shifts by settings of your own');
    if (shape.value) parts.push(`scattering ${shortly(SHAPES, shape.value)}`);
    return parts.join('; ');
  }
}

const chosen = (list) => [...list.querySelectorAll('input:checked')].map((each) => each.value);

function chip(name, value, text, checked) {
  return make(
    'label',
    { class: 'chip' },
    make('input', { type: 'checkbox', name, value, checked, id: freshId(name) }),
    make('span', { text }),
  );
}

function chips(legend, name, choices, ticked) {
  return make(
    'fieldset',
    { class: 'choice wide' },
    make('legend', { text: legend }),
    make('span', { class: 'chips' }, ...choices.map(([value, text]) => chip(name, value, text, ticked.includes(value)))),
  );
}

function others() {
  const list = make('span', { class: 'chips report-threads' });
  const none = make('span', { class: 'quiet' });
  const element = make('fieldset', { class: 'choice wide' }, make('legend', { text: 'With these threads' }), list, none);
  return { element, list, none };
}
