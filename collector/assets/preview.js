// Shows a thread's limits and over-wire window while it is being typed.

import { make } from './dom.js';
import { get, post } from './api.js';
import { limitsWords } from './words.js';

const PAUSE_MS = 250;

export class Preview {
  /**
   * `question()` gives `{ thread | custom, wire_set, limits, coating }` or null when there
   * is nothing to ask; `onAnswer` is told what the collector makes of it.
   */
  constructor(question, sets, onFit, onAnswer) {
    Object.assign(this, { question, sets, onFit, onAnswer });
    this.aboutOpen = false;
    this.element = make('div', { class: 'preview' });
    this.say('Limits show here while you type.');
  }

  /** Called on every change of what the question is made of. */
  changed() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.#ask(), PAUSE_MS);
  }

  say(text) {
    this.element.replaceChildren(make('p', { class: 'quiet', text }));
  }

  async #ask() {
    this.asking?.abort();
    const question = this.question();
    if (!question) return this.say('Limits show here while you type.');
    this.asking = new AbortController();
    const { signal } = this.asking;
    try {
      const answer = await answerTo(question, signal);
      if (signal.aborted) return undefined;
      this.onAnswer(answer);
      return this.#answer(answer, question);
    } catch (refusal) {
      return signal.aborted ? undefined : this.#refused(refusal, question);
    }
  }

  #answer(answer, question) {
    const unit = unitOf(answer, question);
    const wires = answer.wires ?? {};
    const rows = [
      ['Thread', answer.designation],
      [
        question.coating ? 'Pitch diameter before coating' : 'Pitch diameter',
        limitsWords(answer.limits, unit) || 'no limits: readings get no verdict',
      ],
      [
        'Over these wires',
        answer.window ? limitsWords(answer.window, unit) : question.wire_set ? '' : 'choose a wire set',
      ],
      ['Best wire', wires.best ? `${wires.best} ${unit}` : ''],
      ['Usable wires', wires.min && wires.max ? `${wires.min} to ${wires.max} ${unit}` : ''],
      ['Limits from', answer.basis],
    ].filter(([, said]) => said);
    const warnings = [answer.problem, ...(answer.warnings ?? [])]
      .map((each) => (typeof each === 'string' ? each : each?.sentence))
      .filter(Boolean);
    this.element.replaceChildren(
      make(
        'dl',
        { class: 'pairs' },
        ...rows.map(([term, said]) =>
          make('div', {}, make('dt', { text: term }), make('dd', { text: said })),
        ),
      ),
      ...(answer.special
        ? [
            make('p', {
              class: 'caution',
              text: 'Not a listed size: the tolerance was worked out for this diameter and pitch.',
            }),
          ]
        : []),
      ...warnings.map((text) => make('p', { class: 'caution', text })),
      ...this.#fits(wires, unit, question.wire_set),
      ...this.#about(answer.about ?? []),
    );
  }

  /** What is to be said of the thread over the wires chosen; stays open while one types on. */
  #about(said) {
    if (!said.length) return [];
    const about = make(
      'details',
      { class: 'part', open: this.aboutOpen },
      make('summary', { text: 'More about this thread over these wires' }),
      make('ul', { class: 'about' }, ...said.map((text) => make('li', { text }))),
    );
    about.addEventListener('toggle', () => {
      this.aboutOpen = about.open;
    });
    return [about];
  }

  /** The shop's own wire sets that suit this thread, as buttons. */
  #fits(wires, unit, chosen) {
    const fitting = this.sets().filter((set) => set.wire_set !== chosen && fits(set, wires, unit));
    if (!fitting.length) return [];
    return [
      make(
        'p',
        { class: 'fits' },
        make('span', { text: 'Your sets that fit: ' }),
        ...fitting
          .slice(0, 6)
          .map((set) =>
            make('button', {
              type: 'button',
              class: 'chip',
              text: `${set.wire_set} (${set.diameters[0]} ${set.unit})`,
              onclick: () => this.onFit(set.wire_set),
            }),
          ),
      ),
    ];
  }

  #refused(refusal, question) {
    const said = refusal.at === null ? Object.values(refusal.fields ?? {}) : [];
    const words = said.length ? said.join(' ') : (refusal.sentence ?? refusal.message);
    const lines = [make('p', { class: 'preview-refusal', text: words })];
    if (refusal.at !== null && question.thread) {
      const letters = [...question.thread];
      lines.unshift(
        make(
          'p',
          { class: 'at' },
          letters.slice(0, refusal.at).join(''),
          make('mark', { text: letters[refusal.at] ?? '\u2423' }),
          letters.slice(refusal.at + 1).join(''),
        ),
      );
    }
    this.element.replaceChildren(...lines);
  }
}

/** A designation alone is asked for by its own address, which tells where it cannot be read on. */
async function answerTo(question, signal) {
  if (!question.custom && !question.limits && !question.coating) return designated(question, signal);
  try {
    return await post('/api/thread', question, signal);
  } catch (refusal) {
    if (question.thread && refusal.fields?.thread) return designated(question, signal);
    throw refusal;
  }
}

function designated({ thread, wire_set }, signal) {
  const search = new URLSearchParams({ designation: thread });
  if (wire_set) search.set('wire_set', wire_set);
  return get(`/api/thread?${search}`, signal);
}

function unitOf(answer, question) {
  if (answer.unit) return answer.unit;
  if (question.custom) return question.custom.unit;
  return /^m/i.test(answer.designation ?? question.thread) ? 'mm' : 'in';
}

const MM = { in: 25.4, mm: 1 };

// Only a suggestion for the person: the collector judges the set itself.
function fits(set, wires, unit) {
  const [min, max] = [wires.min, wires.max].map((each) => Number(each) * MM[unit]);
  const sizes = (set.diameters ?? []).map((each) => Number(each) * MM[set.unit]);
  return sizes.length > 0 && wires.min && wires.max && sizes.every((size) => size >= min && size <= max);
}
