// Forms for wire sets and instruments, and for re-tagging a stored reading.

import { Choice, Field, makeForm } from './fields.js';
import { make } from './dom.js';
import { post, readingPath } from './api.js';
import { clockOf, mainValue } from './words.js';

const UNITS = [
  ['in', 'inch'],
  ['mm', 'mm'],
];
/** What something may be made of; the first is what an empty choice means. */
export function materialChoices(usual) {
  const others = [
    ['hardened-steel', 'hardened steel'],
    ['steel', 'steel'],
    ['stainless-steel', 'stainless steel'],
    ['cast-iron', 'cast iron'],
    ['carbide', 'carbide'],
    ['aluminium', 'aluminium'],
    ['brass', 'brass'],
    ['titanium', 'titanium'],
    ['plastic', 'plastic'],
  ];
  return [['', usual], ...others.filter(([, words]) => words !== usual)];
}

const grid = (...parts) => make('div', { class: 'fields' }, ...parts.map((part) => part.element));
const bodyOf = (fields) => Object.fromEntries(fields.map((field) => [field.name, field.value]));

/** Builds the form for a set of three wires; `from` is a set to start from. */
export function wireSetForm(from, context, done, close) {
  const value = (name) => from?.[name] ?? '';
  const sizes = [
    'Diameter of the wire on the single side',
    'Diameter of the first wire of the pair',
    'Diameter of the second wire of the pair',
  ].map(
    (label, at) =>
      new Field({ name: `diameter_${at}`, label, kind: 'decimal', value: from?.diameters?.[at] }),
  );
  const name = new Field({ name: 'wire_set', label: 'Wire set', value: value('wire_set') });
  const certificate = new Field({ name: 'certificate', label: 'Certificate', value: value('certificate') });
  const calibrated = new Field({
    name: 'calibrated',
    label: 'Calibrated on',
    kind: 'date',
    value: value('calibrated'),
  });
  const due = new Field({ name: 'due', label: 'Due for calibration', kind: 'date', value: value('due') });
  const unit = new Choice({
    name: 'unit',
    label: 'Unit of the diameters',
    choices: UNITS,
    value: value('unit') || context.unit || 'in',
  });
  const convention = new Choice({
    name: 'convention',
    label: 'Diameters measured',
    choices: [
      ['under_load', 'under load'],
      ['free', 'free'],
    ],
    value: value('convention') || 'under_load',
  });
  const material = new Field({
    name: 'material',
    label: 'Wires made of',
    kind: 'select',
    value: value('material'),
    choices: materialChoices('hardened steel'),
  });
  const uncertainty = new Field({
    name: 'uncertainty',
    label: 'Uncertainty of a diameter',
    kind: 'decimal',
    value: value('uncertainty'),
    hint: 'expanded (k = 2), from the certificate, in the unit above; goes into that of every reading',
  });
  const fields = [name, ...sizes, certificate, calibrated, due, material, uncertainty];
  return makeForm({
    title: from ? `Revise wire set ${from.wire_set}` : 'New wire set',
    word: 'Store wire set',
    body: [
      grid(name, unit),
      make('p', {
        class: 'quiet',
        text: 'Enter the measured diameters from the certificate, not the size on the box.',
      }),
      grid(...sizes),
      grid(convention, certificate, calibrated, due),
      make('p', {
        class: 'quiet',
        text: 'Under load: the certificate gives the diameter under the measuring force, and no compression is added to readings. Free: it is added, where the instrument’s force is known.',
      }),
      grid(material, uncertainty),
    ],
    fields: () => fields,
    find: (wanted, index, numbered) =>
      wanted === 'diameters'
        ? (sizes[numbered === undefined ? 0 : index] ?? sizes[0])
        : fields.find((field) => field.name === wanted),
    send: () =>
      post('/api/wire-sets', {
        ...bodyOf([name, certificate, calibrated, due, material, uncertainty]),
        unit: unit.value,
        convention: convention.value,
        diameters: sizes.map((field) => field.value),
        by: context.operator ?? '',
      }),
    done,
    close,
  });
}

/** Builds the form for an instrument; `from` is an instrument to start from. */
export function instrumentForm(from, context, done, close) {
  const field = (name, label, kind) => new Field({ name, label, kind, value: from?.[name] });
  const fields = [
    field('instrument', 'Instrument'),
    field('serial', 'Serial number'),
    field('range_min', 'Range from', 'decimal'),
    field('range_max', 'Range to', 'decimal'),
    field('resolution', 'Smallest step shown', 'decimal'),
    field('certificate', 'Certificate'),
    field('calibrated', 'Calibrated on', 'date'),
    field('due', 'Due for calibration', 'date'),
    new Field({
      name: 'max_error',
      label: 'Largest error allowed',
      kind: 'decimal',
      value: from?.max_error,
      hint: 'either way, by its certificate',
    }),
    new Field({
      name: 'force_n',
      label: 'Measuring force, newtons',
      kind: 'decimal',
      value: from?.force_n,
      hint: 'empty: nothing is added for compression',
    }),
    new Field({
      name: 'zero_standard',
      label: 'Zero check measures',
      kind: 'decimal',
      value: from?.zero_standard,
      hint: 'the size of the standard; empty for closed anvils',
    }),
    new Field({
      name: 'zero_tolerance',
      label: 'Zero may be off by',
      kind: 'decimal',
      value: from?.zero_tolerance,
      hint: 'empty for two steps of the display',
    }),
  ];
  const correct = make('input', { type: 'checkbox', checked: from?.correct_zero === true });
  const unit = new Choice({
    name: 'unit',
    label: 'Unit of its lengths',
    choices: UNITS,
    value: from?.unit ?? context.unit ?? 'in',
  });
  return makeForm({
    title: from ? `Revise instrument ${from.instrument}` : 'New instrument',
    word: 'Store instrument',
    body: [
      grid(...fields.slice(0, 2), unit),
      grid(...fields.slice(2, 8)),
      make('p', { class: 'quiet', text: 'For zero checks, corrections and the uncertainty; what is not known stays empty.' }),
      grid(...fields.slice(8)),
      make(
        'label',
        { class: 'tick' },
        correct,
        make('span', { text: 'Take the last zero check off every reading (each keeps what was taken off)' }),
      ),
    ],
    fields: () => fields,
    find: (wanted) => fields.find((each) => each.name === wanted),
    send: () =>
      post('/api/instruments', {
        ...bodyOf(fields),
        correct_zero: correct.checked,
        unit: unit.value,
        by: context.operator ?? '',
      }),
    done,
    close,
  });
}

/** Builds the form that puts other tags, or a comment, on a stored reading. */
export function retagForm(reading, context, done, close) {
  const pick = (name, label, choices) =>
    new Field({
      name,
      label,
      kind: 'select',
      value: reading[name] ?? '',
      choices: withNow(choices, reading[name]),
    });
  const fields = [
    pick(
      'job',
      'Job',
      context.jobs().map((job) => job.job),
    ),
    new Field({ name: 'feature', label: 'Feature', value: reading.feature }),
    new Field({
      name: 'piece',
      label: 'Piece',
      kind: 'decimal',
      value: reading.piece === null || reading.piece === undefined ? '' : String(reading.piece),
    }),
    pick(
      'wire_set',
      'Wire set',
      context.wireSets().map((set) => set.wire_set),
    ),
    new Field({ name: 'position', label: 'Position', value: reading.position }),
    new Field({ name: 'operator', label: 'Operator', value: reading.operator }),
    pick('unit', 'Unit it was measured in', ['in', 'mm']),
  ];
  const reason = new Field({ name: 'reason', label: 'Reason for the change', wide: true });
  const comment = new Field({
    name: 'text',
    label: 'Comment',
    kind: 'area',
    wide: true,
    value: reading.comment ?? '',
  });
  const value = mainValue(reading);
  return makeForm({
    title: `Reading ${value.text} ${reading.unit} of ${clockOf(reading.at)}`,
    word: 'Store change',
    body: [
      make('p', {
        class: 'quiet',
        text: 'The reading as it came stays in the record; the change is added beside it.',
      }),
      grid(...fields),
      grid(reason, comment),
    ],
    fields: () => [...fields, reason, comment],
    find: (wanted) =>
      [...fields, reason, comment].find((each) => each.name === (wanted === 'comment' ? 'text' : wanted)),
    send: () => sendChange(reading, fields, reason, comment, context.operator ?? ''),
    done,
    close,
  });
}

function withNow(names, now) {
  const all = now && !names.includes(now) ? [now, ...names] : names;
  const choices = all.map((name) => [name, name]);
  return now ? choices : [['', 'not set'], ...choices];
}

async function sendChange(reading, fields, reason, comment, by) {
  const changed = fields.filter((field) => field.value !== String(reading[field.name] ?? ''));
  let stored = null;
  if (changed.length) {
    const body = Object.fromEntries(
      changed.map((field) => [field.name, field.name === 'piece' ? Number(field.value) : field.value]),
    );
    stored = await post(readingPath(reading, 'retag'), { ...body, reason: reason.value, by });
  }
  if (comment.value && comment.value !== (reading.comment ?? '')) {
    stored = await post(readingPath(reading, 'comment'), { text: comment.value, by });
  }
  return stored;
}
