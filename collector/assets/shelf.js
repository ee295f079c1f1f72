// The shelf of jobs, wire sets and instruments: start a new one, or start from
// one that is there. One form is open at a time, in the page itself, so that
// readings keep being shown and read out meanwhile.

import { freshId, make, refill } from './dom.js';
import { jobForm } from './jobform.js';
import { instrumentForm, retagForm, wireSetForm } from './registerforms.js';
import { jobChange } from './tags.js';
import { reportPath, studyPath } from './paths.js';
import { studyForm } from './studyform.js';

const KINDS = [
  {
    list: 'jobs',
    key: 'job',
    word: 'job',
    title: 'Jobs',
    form: jobForm,
    change: jobChange,
    result: ({ job }) => reportPath(job),
    resultWord: 'Report',
    about: (job) => [job.job, job.drawing, job.features?.[0]?.thread],
  },
  {
    list: 'wire_sets',
    key: 'wire_set',
    word: 'wire set',
    title: 'Wire sets',
    form: wireSetForm,
    about: (set) => [
      set.wire_set,
      `${set.diameters?.[0] ?? ''} ${set.unit ?? ''}`,
      set.due ? `due ${set.due}` : '',
    ],
  },
  {
    list: 'instruments',
    key: 'instrument',
    word: 'instrument',
    title: 'Instruments',
    form: instrumentForm,
    about: (one) => [one.instrument, one.serial, one.due ? `due ${one.due}` : ''],
  },
  {
    list: 'studies',
    key: 'study',
    word: 'study',
    title: 'Studies',
    form: studyForm,
    change: ({ study }) => ({ study }),
    result: ({ study }, station) => studyPath(study, station),
    revise: 'Plan like it',
    about: (one) => [one.study, one.job || one.instrument, one.feature],
  },
];

export class Shelf {
  /** `ties`: context(), stored(), work(change). */
  constructor(rows, sheet, ties) {
    Object.assign(this, { sheet, ties });
    this.rows = KINDS.map((kind) => {
      const row = make('div', { class: 'shelf-row' });
      rows.append(row);
      return { kind, row };
    });
    sheet.addEventListener('keydown', (event) => {
      if (event.key === 'Escape') this.close();
    });
  }

  draw(state) {
    for (const { kind, row } of this.rows) {
      const entries = state[kind.list] ?? [];
      refill(row, entries, () => this.#row(kind, entries));
    }
  }

  /** Opens the form for one stored reading. */
  openRetag(reading) {
    this.#open(
      retagForm(
        reading,
        this.ties.context(),
        () => this.#stored('The change is stored.'),
        () => this.close(),
      ),
    );
  }

  close() {
    if (this.sheet.hidden) return;
    const held = this.sheet.contains(document.activeElement);
    this.sheet.hidden = true;
    this.sheet.replaceChildren();
    document.body.classList.remove('sheet-open');
    if (held && this.opener?.isConnected) this.opener.focus();
  }

  #row(kind, entries) {
    const id = freshId('shelf');
    const select = make(
      'select',
      { id, 'data-key': `${kind.list}-pick` },
      ...entries.map((entry) =>
        make('option', { value: entry[kind.key], text: kind.about(entry).filter(Boolean).join(' · ') }),
      ),
    );
    const revise = make('button', {
      type: 'button',
      class: 'medium',
      'data-key': `${kind.list}-revise`,
      text: kind.revise ?? 'Revise',
      'aria-label': kind.revise ? `${kind.revise}: a new ${kind.word}` : `Revise this ${kind.word}`,
      onclick: () =>
        this.#openKind(
          kind,
          entries.find((entry) => entry[kind.key] === select.value),
        ),
    });
    const fresh = make('button', {
      type: 'button',
      class: 'medium',
      id: `new-${kind.key.replace('_', '-')}`,
      'data-key': `${kind.list}-new`,
      text: `New ${kind.word}`,
      onclick: () => this.#openKind(kind, null),
    });
    const known = entries.length
      ? [
          make('label', { for: id, class: 'unseen', text: kind.title }),
          select,
          kind.result ? this.#result(kind, entries, select) : null,
          revise,
        ]
      : [make('span', { class: 'quiet', text: 'none yet' })];
    return [
      make(
        'p',
        { class: 'tag-name' },
        make('span', { text: kind.title }),
        ' ',
        make('strong', { text: String(entries.length) }),
      ),
      make('div', { class: 'pick' }, ...known, fresh),
    ];
  }

  #result(kind, entries, select) {
    const link = make('a', { class: 'medium', 'data-key': `${kind.list}-result`, text: kind.resultWord ?? 'Result' });
    const lead = () => {
      const entry = entries.find((each) => each[kind.key] === select.value);
      link.href = kind.result(entry, this.ties.context().station);
      link.setAttribute('aria-label', `${kind.resultWord ?? 'Result'} of ${select.value}`);
    };
    select.addEventListener('change', lead);
    lead();
    return link;
  }

  #openKind(kind, from) {
    const done = async (stored, use) => {
      await this.#stored(`The ${kind.word} is stored.`);
      if (!kind.change || !use) return;
      const entry = this.ties.context().all(kind.list).find((each) => each[kind.key] === stored?.saved);
      if (entry) this.ties.work(kind.change(entry));
    };
    this.#open(kind.form(from, this.ties.context(), done, () => this.close()));
  }

  #open(form) {
    this.opener = document.activeElement;
    this.sheet.replaceChildren(form);
    this.sheet.hidden = false;
    document.body.classList.add('sheet-open');
    form.querySelector('input, select')?.focus();
    this.sheet.scrollIntoView({ block: 'start' });
  }

  #stored(sentence) {
    this.close();
    this.sheet.replaceChildren(make('p', { class: 'stored', tabindex: '-1', text: sentence }));
    this.sheet.hidden = false;
    this.sheet.firstChild.focus({ preventScroll: false });
    return this.ties.stored();
  }
}
