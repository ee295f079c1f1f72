// The form for a job: one or more threads, each by designation or custom.

import { Choice, Field, makeForm } from './fields.js';
import { Preview } from './preview.js';
import { make, show } from './dom.js';
import { post } from './api.js';
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
    find: (name, index) => [...head, ...rule].find((field) => field.name === name) ?? threads[index]?.find(name),
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
  return [
    new Field({
      name: 'material',
      label: 'Pieces made of',
      kind: 'select',
      value: value('material'),
      choices: materialChoices('steel'),
    }),
    new Field({
      name: 'decision',
      label: 'Verdict',
      kind: 'select',
      value: value('decision'),
      choices: [
        ['', 'by the limits alone'],
        ['ratio', 'by the limits, if the measurement is fine enough'],
        ['guarded', 'with a guard band for the uncertainty'],
      ],
      hint: 'the last two need the shop’s [uncertainty] settings',
    }),
    new Field({
      name: 'decision_value',
      label: 'How sure',
      kind: 'decimal',
      value: value('decision_value'),
      hint: 'guard band: percent, 95 when empty; fine enough: tolerance against uncertainty, 4 when empty',
    }),
  ];
}

function jobBody(head, threads, operator) {
  const body = Object.fromEntries(head.map((field) => [field.name, field.value]));
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
    this.thread = new Field({
      name: 'thread',
      label: 'Thread designation',
      value: feature.thread,
      double: true,
      hint: 'such as 1 1/16-12 UN-2A, .500-13 UNC-2A LH, M10x1.5-6g, M16xPh3P1.5-6g',
    });
    this.wires = new Field({
      name: 'wire_set',
      label: 'Wire set',
      kind: 'select',
      value: feature.wire_set,
      choices: wireChoices(context.wireSets(), feature.wire_set),
    });
    this.coating = new CoatingPart(feature.coating);
    this.custom = new CustomPart(custom, () => this.changed());
    this.preview = new Preview(
      () => this.question(),
      context.wireSets,
      (set) => {
        this.wires.value = set;
        this.changed();
      },
    );
    this.mode = new Choice({
      name: 'mode',
      label: 'Thread given',
      value: feature.custom ? 'custom' : 'designation',
      choices: [
        ['designation', 'by designation'],
        ['custom', 'custom'],
      ],
      onChange: () => this.changed(),
    });
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
      make('div', { class: 'fields' }, this.name.element, this.mode.element),
      make('div', { class: 'fields' }, this.thread.element, this.wires.element),
      this.custom.element,
      this.preview.element,
      this.coating.element,
      this.remove,
    );
    for (const field of [this.thread, this.wires])
      field.control.addEventListener('input', () => this.changed());
    this.changed();
  }

  get fields() {
    return [this.name, this.thread, this.wires, ...this.custom.fields, ...this.coating.fields];
  }

  get isCustom() {
    return this.mode.value === 'custom';
  }

  find(name) {
    const known =
      name === 'designation'
        ? 'thread'
        : name === 'wire' && !this.isCustom
          ? 'wire_set'
          : name === 'custom'
            ? 'pitch'
            : name;
    const field = this.fields.find((each) => each.name === known);
    return field?.element.offsetParent ? field : null;
  }

  number(at, several) {
    this.legend.textContent = several ? `Thread ${at}` : 'Thread';
    show(this.remove, several);
  }

  changed() {
    show(this.thread.element, !this.isCustom);
    show(this.custom.element, this.isCustom);
    this.preview.changed();
  }

  question() {
    const wire_set = this.wires.value || undefined;
    if (this.isCustom) {
      const custom = this.custom.body();
      return custom.pitch || custom.threads_per_inch ? { custom, wire_set } : null;
    }
    return this.thread.value ? { designation: this.thread.value, wire_set } : null;
  }

  body() {
    const wires = this.wires.value ? { wire_set: this.wires.value } : {};
    const thread = this.isCustom ? { custom: this.custom.body() } : { thread: this.thread.value };
    return { name: this.name.value, ...thread, ...wires, ...this.coating.body() };
  }
}

/** A coating that is still to come: the limits hold after it, the thread is measured before. */
class CoatingPart {
  constructor(from) {
    this.unit = new Choice({
      name: 'coating_unit',
      label: 'Thickness in',
      choices: [
        ['in', 'inch'],
        ['mm', 'mm'],
      ],
      value: from?.unit ?? 'mm',
    });
    this.fields = [
      new Field({ name: 'thickness_min', label: 'Thickness, least', kind: 'decimal', value: from?.thickness_min }),
      new Field({ name: 'thickness_max', label: 'Thickness, most', kind: 'decimal', value: from?.thickness_max }),
    ];
    this.element = make(
      'details',
      { class: 'coating', open: Boolean(from) },
      make('summary', { text: 'Plated or coated afterwards' }),
      make('p', {
        class: 'quiet',
        text: 'The limits hold after coating; the thread is measured before, to limits moved by the coating. Leave empty when nothing is to come.',
      }),
      make(
        'div',
        { class: 'fields' },
        this.unit.element,
        ...this.fields.map((field) => field.element),
      ),
    );
  }

  body() {
    const [thickness_min, thickness_max] = this.fields.map((field) => field.value);
    if (!thickness_min && !thickness_max) return {};
    return { coating: { unit: this.unit.value, thickness_min, thickness_max } };
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

/** A thread that no designation names. */
class CustomPart {
  constructor(from, onChange) {
    const decimal = (name, label, hint) =>
      new Field({ name, label, kind: 'decimal', value: from[name], hint });
    const choice = (name, label, choices, value) =>
      new Choice({ name, label, choices, value, onChange: () => this.#arrange(onChange) });
    this.unit = choice(
      'unit',
      'Unit',
      [
        ['in', 'inch'],
        ['mm', 'mm'],
      ],
      from.unit ?? 'in',
    );
    this.by = choice(
      'by',
      'Pitch given as',
      [
        ['pitch', 'pitch'],
        ['threads_per_inch', 'threads per inch'],
      ],
      from.threads_per_inch ? 'threads_per_inch' : 'pitch',
    );
    this.hand = choice(
      'hand',
      'Hand',
      [
        ['right', 'right'],
        ['left', 'left'],
      ],
      from.hand ?? 'right',
    );
    this.limits = choice(
      'limits',
      'Limits given for',
      [
        ['pitch', 'pitch diameter'],
        ['wires', 'over wires'],
        ['none', 'none'],
      ],
      limitsKind(from),
    );
    this.fields = [
      decimal('pitch', 'Pitch'),
      decimal('threads_per_inch', 'Threads per inch'),
      decimal('starts', 'Starts'),
      decimal('flank_deg', 'Flank angle, degrees', 'half of the included angle: 30 for a 60 degree thread'),
      decimal('major_diameter', 'Major diameter', 'the largest allowed'),
      decimal('pitch_diameter_min', 'Pitch diameter, least'),
      decimal('pitch_diameter_max', 'Pitch diameter, most'),
      decimal('over_wires_min', 'Over wires, least'),
      decimal('over_wires_max', 'Over wires, most'),
      decimal('wire', 'Wire diameter the limits are for'),
    ];
    if (!from.starts) this.#field('starts').value = '1';
    else this.#field('starts').value = String(from.starts);
    this.element = make(
      'div',
      { class: 'custom' },
      make(
        'div',
        { class: 'choices' },
        this.unit.element,
        this.by.element,
        this.hand.element,
        this.limits.element,
      ),
      make('div', { class: 'fields' }, ...this.fields.map((field) => field.element)),
    );
    for (const field of this.fields) field.control.addEventListener('input', onChange);
    this.#arrange(() => {});
  }

  #field(name) {
    return this.fields.find((field) => field.name === name);
  }

  #arrange(then) {
    for (const field of this.fields) show(field.element, this.#wanted(field.name));
    then();
  }

  #wanted(name) {
    if (name === 'pitch' || name === 'threads_per_inch') return name === this.by.value;
    if (name.startsWith('pitch_diameter')) return this.limits.value === 'pitch';
    if (name.startsWith('over_wires') || name === 'wire') return this.limits.value === 'wires';
    return true;
  }

  body() {
    const body = { unit: this.unit.value, hand: this.hand.value };
    for (const field of this.fields) {
      if (this.#wanted(field.name) && field.value !== '') body[field.name] = field.value;
    }
    const starts = Number(body.starts);
    if (Number.isInteger(starts)) body.starts = starts;
    return body;
  }
}

function limitsKind(from) {
  if (from.over_wires_min || from.over_wires_max) return 'wires';
  const empty = from.pitch && !from.pitch_diameter_min && !from.pitch_diameter_max;
  return empty ? 'none' : 'pitch';
}
