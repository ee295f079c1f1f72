// The form for a job: one or more threads, each by designation or custom.

import { Choice, Field, makeForm } from './fields.js';
import { Preview } from './preview.js';
import { make, show } from './dom.js';
import { post } from './api.js';
import { CustomPart } from './customthread.js';
import { CoatingPart, LimitsPart } from './limitparts.js';
import { materialChoices } from './registerforms.js';

/** Builds the form. `from` is a job to start from, `context` gives wire sets, station and operator. */
export function jobForm(from, context, done, close) {
  const head = headFields(from);
  const threads = [];
  const list = make('div', { class: 'threads' });
  const add = (feature) => {
    const thread = new ThreadPart(feature, context, () => remove(thread));
    threads.push(thread);
    list.append(thread.element);
    renumber();
    return thread;
  };
  const remove = (thread) => {
    threads.splice(threads.indexOf(thread), 1);
    thread.element.remove();
    renumber();
  };
  const renumber = () => threads.forEach((thread, at) => thread.number(at + 1, threads.length > 1));
  for (const feature of from?.features?.length ? from.features : [{ name: 'thread' }]) add(feature);

  const rule = decisionFields(from);
  const use = make('input', { type: 'checkbox', checked: true });
  const more = make('button', {
    type: 'button',
    class: 'medium',
    text: 'Add another thread',
    onclick: () => add({ name: '' }).name.focus(),
  });
  return makeForm({
    title: from ? `Revise job ${from.job}` : 'New job',
    word: 'Store job',
    body: [
      grid(head.slice(0, 3)),
      list,
      make('p', { class: 'sheet-more' }, more),
      grid(head.slice(3)),
      grid(rule),
      context.station
        ? make(
            'label',
            { class: 'tick' },
            use,
            make('span', { text: `Work on this job at ${context.station} once it is stored` }),
          )
        : null,
    ].filter(Boolean),
    fields: () => [...head, ...rule, ...threads.flatMap((thread) => thread.fields)],
    find: (name, index, number, within) =>
      number === undefined
        ? [...head, ...rule].find((field) => field.name === name && field.isAsked)
        : threads[index]?.find(name, within),
    send: () => post('/api/jobs', jobBody([...head, ...rule], threads, context.operator)),
    done: (job) => done(job, use.checked && Boolean(context.station)),
    close,
  });
}

function grid(fields) {
  return make('div', { class: 'fields' }, ...fields.map((field) => field.element));
}

function headFields(from) {
  const value = (name) => from?.[name] ?? '';
  return [
    new Field({
      name: 'job',
      label: 'Job',
      value: value('job'),
      hint: from ? 'another name here makes another job' : '',
    }),
    new Field({ name: 'drawing', label: 'Drawing', value: value('drawing') }),
    new Field({ name: 'drawing_revision', label: 'Drawing revision', value: value('drawing_revision') }),
    new Field({ name: 'order', label: 'Order', value: value('order') }),
    new Field({ name: 'lot', label: 'Lot or heat', value: value('lot') }),
    new Field({
      name: 'readings_a_piece',
      label: 'Readings a piece',
      kind: 'decimal',
      value: String(from?.readings_a_piece ?? 1),
    }),
  ];
}

/** What the pieces are made of, and how a verdict is made. */
function decisionFields(from) {
  const value = (name) => from?.[name] ?? '';
  const material = new Field({
    name: 'material',
    label: 'Pieces made of',
    kind: 'select',
    value: value('material'),
    choices: materialChoices('steel'),
  });
  const decision = new Field({
    name: 'decision',
    label: 'Verdict',
    kind: 'select',
    value: value('decision') === 'simple' ? '' : value('decision'),
    choices: [
      ['', 'by the limits alone'],
      ['ratio', 'by the limits, if the measurement is fine enough'],
      ['guarded', 'with a guard band for the uncertainty'],
    ],
    double: true,
    hint: 'the last two need the shop’s [uncertainty] settings',
  });
  const sure = SURE.map(({ rule, ...spec }) => {
    const field = new Field({
      ...spec,
      name: 'decision_value',
      kind: 'decimal',
      value: value('decision') === rule ? value('decision_value') : '',
    });
    field.rule = rule;
    return field;
  });
  const arrange = () => sure.forEach((field) => show(field.element, field.rule === decision.value));
  decision.control.addEventListener('change', arrange);
  arrange();
  return [material, decision, ...sure];
}

/** How sure a rule has to be: each rule says it in its own number. */
const SURE = [
  {
    rule: 'ratio',
    label: 'Tolerance, in uncertainties',
    hint: 'at least so many; 4 when empty',
  },
  {
    rule: 'guarded',
    label: 'How sure, percent',
    hint: '95 when empty',
  },
];

function jobBody(head, threads, operator) {
  const asked = head.filter((field) => field.isAsked);
  const body = Object.fromEntries(asked.map((field) => [field.name, field.value]));
  const readings = Number(body.readings_a_piece);
  if (Number.isFinite(readings)) body.readings_a_piece = readings;
  return { ...body, features: threads.map((thread) => thread.body()), by: operator ?? '' };
}

/** One thread of the job. */
class ThreadPart {
  constructor(feature, context, onRemove) {
    const custom = feature.custom ?? {};
    this.name = new Field({
      name: 'name',
      label: 'Feature',
      value: feature.name,
      hint: 'what this thread is called on the piece, such as stud end',
    });
    this.characteristic = new Field({
      name: 'characteristic',
      label: 'Characteristic number',
      value: feature.characteristic,
      hint: 'of the balloon on the drawing, if there is one',
    });
    this.thread = new Field({
      name: 'thread',
      label: 'Thread designation',
      value: feature.thread,
      double: true,
      hint: 'as on the drawing: 1 1/16-12 UN-2A, 3/4-16 UNF-2A (2 STARTS), M16xPh3P1.5-6g, 1 1/2-4 ACME-2G, Tr40x14(P7)LH-7e, 2.5-8 BUTT-2A, 1/2-12 BSW medium, G 1/2 A, 4 BA normal, WORM m2 d22.4 z2 20deg',
    });
    this.wires = new Field({
      name: 'wire_set',
      label: 'Wire set',
      kind: 'select',
      value: feature.wire_set,
      choices: wireChoices(context.wireSets(), feature.wire_set),
    });
    const changed = () => this.changed();
    this.limits = new LimitsPart(feature.limits, context.unit ?? 'in', changed);
    this.coating = new CoatingPart(feature.coating, context.unit ?? 'in', changed);
    this.custom = new CustomPart(custom, changed);
    this.preview = new Preview(
      () => this.question(),
      context.wireSets,
      (set) => {
        this.wires.value = set;
        this.changed();
      },
      (answer) => this.#answered(answer),
    );
    this.mode = new Choice({
      name: 'mode',
      label: 'Thread given',
      value: feature.custom ? 'custom' : 'designation',
      choices: [
        ['designation', 'designation'],
        ['custom', 'custom'],
      ],
      onChange: () => this.changed(),
    });
    this.missing = null;
    this.legend = make('legend');
    this.remove = make('button', {
      type: 'button',
      class: 'small',
      text: 'Remove this thread',
      onclick: onRemove,
    });
    this.element = make(
      'fieldset',
      { class: 'thread' },
      this.legend,
      make('div', { class: 'fields' }, this.name.element, this.characteristic.element, this.mode.element),
      make('div', { class: 'fields' }, this.thread.element, this.wires.element),
      this.custom.element,
      this.preview.element,
      this.limits.element,
      this.coating.element,
      this.remove,
    );
    for (const field of [this.thread, this.wires])
      field.control.addEventListener('input', () => this.changed());
    this.changed();
  }

  get fields() {
    const parts = [this.custom, this.limits, this.coating].flatMap((part) => part.fields);
    return [this.name, this.characteristic, this.thread, this.wires, ...parts];
  }

  get isCustom() {
    return this.mode.value === 'custom';
  }

  /** The field of a refusal's path; `within` is the part of the thread it names. */
  find(name, within) {
    const field = this.fields.find((each) => each.name === this.#fieldName(name, within));
    return field?.isAsked ? field : null;
  }

  #fieldName(name, within) {
    if (within === 'limits') return `limits_${name}`;
    if (name === 'designation') return 'thread';
    if (name === 'custom') return 'pitch';
    return name === 'wire' && !this.isCustom ? 'wire_set' : name;
  }

  /** Limits that are not known are asked for where they can be typed. */
  #answered(answer) {
    const missing = answer.limits || this.isCustom ? null : answer.designation;
    if (missing === this.missing) return;
    this.missing = missing;
    if (!this.limits.isGiven) this.limits.element.open = Boolean(missing);
  }

  number(at, several) {
    this.legend.textContent = several ? `Thread ${at}` : 'Thread';
    show(this.remove, several);
  }

  changed() {
    show(this.thread.element, !this.isCustom);
    show(this.custom.element, this.isCustom);
    // A custom thread has its limits among its numbers.
    show(this.limits.element, !this.isCustom);
    this.preview.changed();
  }

  question() {
    const wires = this.wires.value ? { wire_set: this.wires.value } : {};
    const parts = {
      ...wires,
      ...(this.limits.isWhole && !this.isCustom ? this.limits.body() : {}),
      ...(this.coating.isWhole ? this.coating.body() : {}),
    };
    if (!this.isCustom) return this.thread.value ? { thread: this.thread.value, ...parts } : null;
    const custom = this.custom.body();
    return custom.pitch || custom.threads_per_inch ? { custom, ...parts } : null;
  }

  #parts() {
    return { ...(this.isCustom ? {} : this.limits.body()), ...this.coating.body() };
  }

  body() {
    const wires = this.wires.value ? { wire_set: this.wires.value } : {};
    const thread = this.isCustom ? { custom: this.custom.body() } : { thread: this.thread.value };
    const number = this.characteristic.value;
    const numbered = number ? { characteristic: number } : {};
    return { name: this.name.value, ...numbered, ...thread, ...wires, ...this.#parts() };
  }
}

function wireChoices(sets, chosen) {
  const known = sets.map((set) => [
    set.wire_set,
    `${set.wire_set} · ${set.diameters?.[0] ?? ''} ${set.unit ?? ''}`,
  ]);
  if (chosen && !sets.some((set) => set.wire_set === chosen)) known.push([chosen, chosen]);
  return [['', 'not chosen yet'], ...known];
}
