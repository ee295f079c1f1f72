// How well a pitch diameter is known, what these wires do, and what the readings of
// one piece say of its form.

import { freshId, make, refill, setText, show } from './dom.js';
import { readDecimal } from './decimal.js';
import { limitsWords } from './words.js';

/** The uncertainty with the rule it is used by, and its budget as a table. */
export function drawTrust(parts, station) {
  const { trust, thread } = station;
  const bias = station.bias ?? [];
  show(parts.trust, Boolean(trust) || bias.length > 0);
  refill(parts['trust-body'], [trust, thread?.unit, bias], () => {
    const found = bias.map((text) => make('p', { class: 'trust-bias', text }));
    if (!trust) return found;
    const unit = thread?.unit ?? '';
    return [
      make('p', { class: 'trust-sentence', text: trust.sentence }),
      ...found,
      make('dl', { class: 'pairs' }, ...ruleRows(trust, unit)),
      trust.rows?.length ? budget(trust.rows) : null,
    ].filter(Boolean);
  });
}

function ruleRows(trust, unit) {
  return [
    ['Verdict by', trust.rule ?? 'The limits alone.'],
    ['Passes inside', trust.accept ? limitsWords(trust.accept, unit) : ''],
  ]
    .filter(([, said]) => said)
    .map(([term, said]) => make('div', {}, make('dt', { text: term }), make('dd', { text: said })));
}

const HEADS = ['What it comes from', 'How it is known', 'Contribution, k = 1', 'Share'];

function budget(rows) {
  const head = HEADS.map((text) => make('th', { scope: 'col', role: 'columnheader', text }));
  const body = rows.map((row) =>
    make(
      'tr',
      { role: 'row' },
      make('th', { scope: 'row', role: 'rowheader', text: row.source }),
      make('td', { role: 'cell', 'data-head': HEADS[1], text: row.spread }),
      make('td', { role: 'cell', class: 'number', 'data-head': HEADS[2], text: row.contribution }),
      make('td', { role: 'cell', class: 'share', 'data-head': HEADS[3] }, bar(row.share)),
    ),
  );
  return make(
    'table',
    { class: 'budget', role: 'table' },
    make('caption', { text: 'Where the uncertainty comes from, the largest first' }),
    make('thead', { role: 'rowgroup' }, make('tr', { role: 'row' }, ...head)),
    make('tbody', { role: 'rowgroup' }, ...body),
  );
}

function bar(share) {
  const line = make('span', { class: 'share-bar', 'aria-hidden': 'true' });
  line.style.setProperty('--share', Math.max(0, Math.min(100, Number(share) || 0)));
  return make('span', { class: 'share-line' }, line, make('span', { text: `${share} %` }));
}

/** What is to be said of the thread over the wires in use. */
export function drawWires(parts, station) {
  const said = station.about_wires ?? [];
  refill(parts['wires-body'], [said, station.tags?.wire_set], () => [
    said.length
      ? make('ul', { class: 'about' }, ...said.map((text) => make('li', { text })))
      : make('p', { class: 'quiet', text: 'Choose a job and a wire set to see what they do together.' }),
  ]);
}

/** Taper and out-of-round, where the readings of a piece carry positions. */
export function drawForm(parts, station) {
  const { form } = station;
  show(parts.form, Boolean(form));
  refill(parts['form-body'], form ?? null, () =>
    form
      ? [
          make('p', { class: 'form-sentence', text: `Piece ${form.piece}: ${form.sentence}` }),
          ...(form.cautions ?? []).map((text) => make('p', { class: 'quiet', text })),
        ]
      : [],
  );
}

const WARMTHS = [
  { name: 'part_celsius', label: 'This piece, °C', hint: 'goes with the piece' },
  { name: 'gauge_celsius', label: 'Wires and micrometer, °C', hint: 'stays until changed' },
];

/** The temperatures; both are needed before a correction for warmth is made. */
export class WarmthFields {
  /** `tell(change)` sends a change of tags, and rejects with the collector's refusal. */
  constructor(container, tell) {
    this.tell = tell;
    this.rows = WARMTHS.map((spec) => this.#row(spec));
    container.replaceChildren(
      make('p', {
        class: 'quiet',
        text: 'Temperatures, if they are known: readings are then brought to 20 °C. Left empty, nothing is added for warmth.',
      }),
      make('div', { class: 'fields' }, ...this.rows.map((row) => row.element)),
    );
  }

  /** Shows what is set. What is being typed stays. */
  draw(station) {
    for (const row of this.rows) {
      const now = station.tags?.[row.name] ?? '';
      const key = `${station.name} ${now} ${row.name === 'part_celsius' ? station.tags?.piece : ''}`;
      setText(row.now, now ? `${now} °C` : 'not told');
      if (row.key === key) continue;
      row.key = key;
      row.input.value = now;
      this.#refuse(row, '');
    }
  }

  #row({ name, label, hint }) {
    const id = freshId(name.replace('_', '-'));
    const input = make('input', {
      id,
      name,
      inputmode: 'decimal',
      autocomplete: 'off',
      maxlength: 12,
      'aria-describedby': `${id}-hint ${id}-problem`,
    });
    const problem = make('p', { class: 'field-problem', id: `${id}-problem`, role: 'alert' });
    const now = make('strong');
    const element = make(
      'form',
      { class: 'warmth-row', novalidate: true },
      make('p', { class: 'tag-name' }, make('label', { for: id, text: label }), now),
      make('span', { class: 'pick' }, input, make('button', { class: 'medium', text: 'Set', 'aria-label': `Set: ${label}` })),
      make('p', { class: 'field-hint', id: `${id}-hint`, text: hint }),
      problem,
    );
    const row = { name, element, input, problem, now };
    element.addEventListener('submit', (event) => {
      event.preventDefault();
      this.#send(row);
    });
    input.addEventListener('input', () => this.#refuse(row, ''));
    return row;
  }

  async #send(row) {
    const read = readDecimal(row.input.value);
    if (!read.text && !read.empty) return this.#refuse(row, read.why);
    try {
      await this.tell({ [row.name]: read.text ?? null });
      return undefined;
    } catch (refusal) {
      return this.#refuse(row, refusal.fields?.[row.name] ?? refusal.sentence ?? refusal.message);
    }
  }

  #refuse(row, sentence) {
    setText(row.problem, sentence);
    if (sentence) row.input.setAttribute('aria-invalid', 'true');
    else row.input.removeAttribute('aria-invalid');
  }
}
