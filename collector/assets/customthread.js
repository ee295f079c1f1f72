// A thread of a job that no designation names, by its numbers.

import { Choice, Field } from './fields.js';
import { make, show } from './dom.js';

/** A thread that no designation names. */
export class CustomPart {
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
  return from.over_wires_min || from.over_wires_max ? 'wires' : 'pitch';
}
