// What a thread of a job may have beside its designation: limits from the drawing, and a
// coating that is still to come. Both are folded away until they are wanted.

import { Choice, Field } from './fields.js';
import { make } from './dom.js';

const UNITS = [
  ['in', 'inch'],
  ['mm', 'mm'],
];

class Part {
  /** `onChange` is called whenever anything in it changed. */
  constructor({ summary, words, unitLabel, unit, fields, open }, onChange) {
    this.fields = fields;
    this.unit = new Choice({ name: 'part_unit', label: unitLabel, choices: UNITS, value: unit, onChange });
    for (const field of fields) field.control.addEventListener('input', () => onChange());
    this.element = make(
      'details',
      { class: 'part', open },
      make('summary', { text: summary }),
      make('p', { class: 'quiet', text: words }),
      make('div', { class: 'fields' }, this.unit.element, ...fields.map((field) => field.element)),
    );
  }

  /** Whether anything was typed. */
  get isGiven() {
    return this.fields.some((field) => field.value !== '');
  }

  /** Whether all of it was typed, so that it can be shown what comes of it. */
  get isWhole() {
    return this.fields.every((field) => field.value !== '' && !field.flaw);
  }
}

/** Pitch diameter limits in place of the designation's own. */
export class LimitsPart extends Part {
  constructor(from, unit, onChange) {
    const field = (name, label, value) => new Field({ name, label, kind: 'decimal', value });
    super(
      {
        summary: 'Limits from the drawing',
        words:
          'Pitch diameter limits that the drawing gives, where they differ from those of the designation or the designation has none. Leave empty to go by the designation.',
        unitLabel: 'Limits in',
        unit: from?.unit ?? unit,
        fields: [
          field('limits_min', 'Pitch diameter, least', from?.min),
          field('limits_max', 'Pitch diameter, most', from?.max),
        ],
        open: Boolean(from),
      },
      onChange,
    );
  }

  body() {
    const [min, max] = this.fields.map((field) => field.value);
    return this.isGiven ? { limits: { unit: this.unit.value, min, max } } : {};
  }
}

/** The limits hold after the coating, the thread is measured before. */
export class CoatingPart extends Part {
  constructor(from, unit, onChange) {
    const field = (name, label) => new Field({ name, label, kind: 'decimal', value: from?.[name] });
    super(
      {
        summary: 'Plated or coated afterwards',
        words:
          'The limits hold after coating; the thread is measured before, to limits moved by the coating. Leave empty when nothing is to come.',
        unitLabel: 'Thickness in',
        unit: from?.unit ?? unit,
        fields: [
          field('thickness_min', 'Thickness on the flank, least'),
          field('thickness_max', 'Thickness on the flank, most'),
        ],
        open: Boolean(from),
      },
      onChange,
    );
  }

  body() {
    const [thickness_min, thickness_max] = this.fields.map((field) => field.value);
    return this.isGiven ? { coating: { unit: this.unit.value, thickness_min, thickness_max } } : {};
  }
}
