// What readings are looked for by: the fields, what the register offers for each, and the
// days from one calibration to the next.

import { get } from './api.js';
import { freshId, make, refill, setText, show } from './dom.js';
import { Field } from './fields.js';
import { purposeWords } from './words.js';

const PURPOSES = ['cutting', 'inspecting', 'zero', 'study'];
const SPECS = {
  often: [
    { name: 'job', label: 'Job' },
    { name: 'piece', label: 'Piece' },
    { name: 'instrument', label: 'Instrument or its serial' },
    { name: 'from', label: 'From day', kind: 'date' },
    { name: 'to', label: 'To day', kind: 'date' },
  ],
  rare: [
    { name: 'drawing', label: 'Drawing' },
    { name: 'lot', label: 'Lot or serial' },
    { name: 'feature', label: 'Thread on the piece' },
    { name: 'operator', label: 'Operator' },
    { name: 'wire_set', label: 'Wire set' },
    { name: 'station', label: 'Station' },
    {
      name: 'purpose',
      label: 'Purpose',
      kind: 'select',
      choices: [['', 'any'], ...PURPOSES.map((each) => [each, purposeWords(each)])],
    },
  ],
};
const PERIODS_AFTER_MS = 300;

export class Asked {
  /** `look` is called when the fields were filled by a tap and shall be looked for. */
  constructor(parts, look) {
    Object.assign(this, { parts, look });
    const build = (place) => SPECS[place].map((spec) => this.#field(spec, parts[place]));
    this.fields = [...build('often'), ...build('rare')];
    for (const name of ['instrument', 'wire_set']) {
      this.#named(name).control.addEventListener('input', () => {
        clearTimeout(this.timer);
        this.timer = setTimeout(() => this.#periods(), PERIODS_AFTER_MS);
      });
    }
  }

  #field(spec, place) {
    const field = new Field(spec);
    if (!spec.kind) {
      field.offers = make('datalist', { id: freshId('offers') });
      field.control.setAttribute('list', field.offers.id);
      field.control.maxLength = 200;
      field.element.append(field.offers);
    }
    place.append(field.element);
    return field;
  }

  #named(name) {
    return this.fields.find((field) => field.name === name);
  }

  /** What is asked for, as pairs of name and text. */
  words() {
    return this.fields.map(({ name, value }) => [name, value]).filter(([, said]) => said !== '');
  }

  /** Puts in what an address asks for. */
  fill(words) {
    const said = new Map(words);
    for (const field of this.fields) {
      const text = said.get(field.name) ?? '';
      if (field.kind === 'select' && text && ![...field.control.options].some(({ value }) => value === text)) {
        field.control.append(make('option', { value: text, text }));
      }
      if (field.value !== text) field.value = text;
      field.refuse('');
    }
    const folded = SPECS.rare.some(({ name }) => said.has(name));
    if (folded) this.parts.more.open = true;
    this.#periods();
  }

  /** Shows why something cannot be looked for, beside its field; `null` takes that away. */
  refuse(trouble) {
    const unplaced = [];
    for (const [name, sentence] of Object.entries(trouble?.fields ?? {})) {
      const field = this.#named(name);
      if (field) field.refuse(sentence);
      else unplaced.push(sentence);
    }
    const placed = Object.keys(trouble?.fields ?? {}).length > unplaced.length;
    const general = trouble ? (trouble.sentence ?? trouble.message) : '';
    setText(this.parts.problem, placed ? unplaced.join(' ') : unplaced.join(' ') || general);
    if (placed) this.fields.find(({ control }) => control.hasAttribute('aria-invalid'))?.focus();
  }

  /** Offers what the register knows, once the collector has told it. */
  async offer(telling) {
    let state;
    try {
      state = await telling;
    } catch {
      // Anything can still be typed.
      return;
    }
    const jobs = state.jobs ?? [];
    const offers = {
      job: jobs.map(({ job }) => job),
      drawing: jobs.map(({ drawing }) => drawing),
      lot: jobs.map(({ lot }) => lot),
      feature: jobs.flatMap(({ features }) => (features ?? []).map(({ name }) => name)),
      instrument: (state.instruments ?? []).flatMap(({ instrument, serial }) => [instrument, serial]),
      wire_set: (state.wire_sets ?? []).map(({ wire_set: set }) => set),
      station: (state.stations ?? []).map(({ name }) => name),
      operator: state.shop?.operators ?? [],
    };
    for (const [name, texts] of Object.entries(offers)) {
      const known = [...new Set(texts.filter(Boolean))];
      this.#named(name).offers.replaceChildren(...known.map((value) => make('option', { value })));
    }
  }

  /** The days from one calibration to the next of what is typed, each to be filled in by one tap. */
  async #periods() {
    const typed = ['instrument', 'wire_set'].map((name) => [name, this.#named(name).value]);
    const words = new URLSearchParams(typed.filter(([, said]) => said !== '')).toString();
    if (words === this.periodsOf) return;
    this.periodsOf = words;
    let found = [];
    if (words) {
      const answer = await get(`/api/calibrations?${words}`).catch(() => ({}));
      found = answer.calibrations ?? [];
    }
    if (words === this.periodsOf) this.#draw(found, words !== '');
  }

  #draw(found, wanted) {
    const { periods } = this.parts;
    show(periods, wanted);
    refill(periods, [found, wanted], () =>
      found.length
        ? found.map((calibrated) => this.#row(calibrated))
        : [make('p', { class: 'quiet', text: 'No day of calibration is known of it. Enter it with the instrument or wire set on the station’s page.' })],
    );
  }

  #row(calibrated) {
    const { name, serial, periods } = calibrated;
    const whose = serial ? `${name} (${serial})` : name;
    return make(
      'div',
      { class: 'period-row', role: 'group', 'aria-label': `Between calibrations of ${whose}` },
      make('p', { class: 'period-head', text: `Between calibrations of ${whose}` }),
      make('div', { class: 'chips' }, ...periods.map((period) => this.#button(calibrated, period))),
    );
  }

  #button({ of, name }, { from, to, certificate }) {
    const days = from && to ? `${from} to ${to}` : from ? `from ${from} on` : `until ${to}`;
    return make('button', {
      type: 'button',
      class: 'chip',
      text: certificate ? `${days}, certificate ${certificate}` : days,
      'data-key': `${of}-${name}-${from}-${to}`,
      onclick: () => {
        this.#named(of).value = name;
        this.#named('from').value = from ?? '';
        this.#named('to').value = to ?? '';
        this.look();
      },
    });
  }
}
