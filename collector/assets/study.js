// A study at its station: what to measure next, large enough for two metres, how far it
// has come, and the way to its result. What the next reading is tagged with is the plan's.

import { freshId, make, refill, setText, show, widthInEms } from './dom.js';
import { studyPath } from './paths.js';
import { isRepeat } from './verdict.js';
import { flagWords } from './words.js';

export class StudyBoard {
  /** `container` is filled once; `tag(change)` changes the tags of the station. */
  constructor(container, tag) {
    this.container = container;
    this.tag = tag;
    this.#build();
  }

  /** Draws what a station's study asks for; nothing while none is active. */
  draw(station) {
    const { study } = station;
    show(this.container, Boolean(study));
    if (!study) return;
    setText(this.name, study.study);
    setText(this.kind, study.kind);
    this.container.classList.toggle('finished', !study.next);
    this.#todo(station);
    this.#keepHeight(study);
    refill(this.cards, [study.next?.words, study.next?.changes], () =>
      study.next ? cardsOf(study.next, this.change) : [make('p', { class: 'study-done', text: doneWords(study) })],
    );
    this.progress.max = study.total;
    this.progress.value = study.filled;
    setText(this.count, countWords(study));
    setText(this.redone, study.redone ? `${study.redone} taken again` : '');
    this.result.href = studyPath(study.study, station.name);
    setText(this.result, study.next ? 'Result so far' : 'See the result');
    setText(this.pause, study.next ? 'Pause' : 'Leave');
    this.pause.setAttribute('aria-label', study.next ? 'Pause the study' : 'Leave the study');
  }

  #build() {
    const id = freshId('study-count');
    this.name = make('strong');
    this.kind = make('span', { class: 'study-kind' });
    this.heed = make('span', { class: 'study-heed' });
    this.change = make('p', { class: 'study-todo' });
    this.cards = make('div', { class: 'study-cards' });
    this.count = make('span', { class: 'study-count', id });
    this.progress = make('progress', { 'aria-label': 'Readings taken', 'aria-describedby': id });
    this.redone = make('span', { class: 'study-redone' });
    this.result = make('a', { class: 'medium' });
    this.pause = make('button', {
      type: 'button',
      class: 'medium',
      id: 'study-pause',
      onclick: () => this.tag({ study: null }),
    });
    this.container.replaceChildren(
      make('p', { class: 'study-name' }, make('span', { text: 'Study ' }, this.name), this.kind, this.heed),
      this.change,
      this.cards,
      make(
        'div',
        { class: 'study-foot' },
        make('p', { class: 'study-far' }, this.count, this.progress, this.redone),
        make('p', { class: 'study-ways' }, this.result, this.pause),
      ),
    );
  }

  /** The last reading takes the cards away; what stands below them stays where it is. */
  #keepHeight({ study, next }) {
    const before = study === this.shown ? this.cards.getBoundingClientRect().height : 0;
    this.shown = study;
    this.cards.style.minHeight = next || !before ? '' : `${before}px`;
  }

  /** What to change, and before it why a place is measured again or was not filled. */
  #todo(station) {
    const { study } = station;
    const again = study.next?.again ? againWords(study.next.again) : '';
    setText(this.heed, unfilledWords(station) || again);
    show(this.kind, !this.heed.textContent);
    setText(this.change, study.next ? changeWords(study) : finishedWords(study));
    this.change.style.setProperty('--ems', widthInEms(this.change.textContent, this.change).toFixed(3));
  }
}

/** What a study asks for, as sentences for the live region; empty where none is active. */
export function studySentence(study) {
  if (!study) return '';
  if (!study.next && study.visit) return `Study ${study.study}: ${study.visit.words}`;
  if (!study.next) return `Study ${study.study} is finished. ${finishedWords(study)}`;
  const { words, number, again } = study.next;
  const said = [again ? againWords(again) : '', changeWords(study), words];
  return `${said.filter(Boolean).join(' ')} Reading ${number} of ${study.total}.`;
}

const WHAT = { piece: 'piece', method: 'method', operator: 'person' };

const doneWords = (study) => (study.visit ? 'DONE FOR NOW' : 'FINISHED');
const countWords = (study) =>
  `${study.visit ? `visit ${study.visit.number}: ` : ''}${study.filled} of ${study.total}`;

function changeWords(study) {
  const { changes, master } = study.next;
  const names = changes.map((each) => (each === 'piece' && master ? 'master' : (WHAT[each] ?? each)));
  if (names.length) return `Change ${names.join(', ').replace(/, ([^,]+)$/, ' and $1')}.`;
  if (study.visit && !study.filled) return study.visit.words;
  if (!study.filled && !study.redone && !study.next.again) return 'Begin with this.';
  if (study.next.again) return study.plain ? 'Its place is open again: close the jaws anew.' : 'Its place is open again: seat the wires anew.';
  return study.plain ? 'The same: open the jaws and close them anew.' : 'The same: seat the wires anew.';
}

function againWords(reason) {
  return `Measured again: ${String(reason).replace(/\.$/, '')}.`;
}

function finishedWords(study) {
  if (study.visit) return study.visit.words;
  const again = study.redone ? `, ${study.redone} of them again` : '';
  return `All ${study.total} readings are taken${again}.`;
}

/** Flags that keep a reading from filling its place. */
const UNCOUNTED = ['double_press', 'closed_jaws', 'empty', 'out_of_window', 'no_zero', 'other_master'];

/** Why the newest reading filled no place, where it should have. */
function unfilledWords({ last, study }) {
  const idle = last?.purpose === 'study' && last.counted === false && !last.void && !last.held;
  if (!idle || isRepeat(last)) return '';
  const done = study.visit ? 'The last reading came after the visit’s' : 'The last reading came after the end';
  if (!study.next && (last.flags ?? []).includes('study_done')) return `${done}: it is no part of it.`;
  const flags = (last.flags ?? []).filter((flag) => UNCOUNTED.includes(flag)).map(flagWords);
  return `Not counted${flags.length ? `: ${flags.join(', ')}` : ''}.`;
}

/** The collector's sentence, taken apart: whose turn, which piece, which method, which round. */
const PROMPT = /^(?:(.+?) measures |Measure )(.+?)(?:, method (.+?))?(?:, round (\d+ of \d+))?\.$/;

/** The same of a master: which one, its nominal size, which round or visit. */
const PLACE = /, (?:round (\d+ of \d+)|visit (\d+), reading (\d+ of \d+))\.$/;

/** `like` is an element in the typeface that the parts are shown in. */
function cardsOf({ words, changes, master }, like) {
  if (master) return masterCards(master, PLACE.exec(words) ?? [], changes, like);
  const parts = PROMPT.exec(words);
  const card = (...said) => cardOf(like, ...said);
  if (!parts) return [card('Measure', words, false)];
  const [, operator, piece, method, round] = parts;
  return [
    operator ? card('Measures', operator, changes.includes('operator')) : null,
    // A piece without a name of its own needs no card where there is something else to say.
    piece === UNNAMED && (operator || method) ? null : card('Piece', piece, changes.includes('piece')),
    method ? card('Method', method, changes.includes('method')) : null,
    round ? placeOf('Round', round) : null,
  ].filter(Boolean);
}

function masterCards({ name, nominal }, [, round, visit, reading], changes, like) {
  return [
    cardOf(like, 'Master', name, changes.includes('piece')),
    cardOf(like, 'Nominal', nominal, false),
    round ? placeOf('Round', round) : null,
    visit ? placeOf('Visit', visit) : null,
    reading ? placeOf('Reading', reading) : null,
  ].filter(Boolean);
}

/** What the collector calls the one piece of a study that nobody named. */
const UNNAMED = 'the piece';

function cardOf(like, caption, text, changed) {
  const element = make(
    'p',
    { class: `study-card${changed ? ' changed' : ''}` },
    make('span', { class: 'study-caption', text: changed ? `${caption}: change` : caption }),
    ' ',
    make('span', { class: 'study-value', text }),
  );
  const whole = widthInEms(text, like);
  element.style.setProperty('--line-ems', whole.toFixed(3));
  element.style.setProperty('--two-line-ems', twoLines(text, whole, like).toFixed(3));
  element.style.setProperty('--share', Math.min(7, Math.max(2, whole)).toFixed(2));
  return element;
}

function placeOf(caption, text) {
  return make(
    'p',
    { class: 'study-round' },
    make('span', { class: 'study-caption', text: caption }),
    ' ',
    make('span', { class: 'study-value', text }),
  );
}

/** About the width a text needs on two lines, in em. */
function twoLines(text, whole, like) {
  const longest = Math.max(...text.split(/\s+/).map((word) => widthInEms(word, like)));
  return Math.max(longest, text.includes(' ') ? whole * 0.6 : whole);
}

/** The tag row of the study: which is active, and the way in and out. */
export function drawStudyTag(container, station, studies, deeds) {
  const active = station.tags?.study ?? '';
  const { study } = station;
  const visits = station.visits ?? [];
  refill(container, [station.name, active, study && countWords(study), studies.map((each) => each.study), visits], () => [
    make(
      'p',
      { class: 'tag-name' },
      make('span', { text: 'Study' }),
      ' ',
      make('strong', { text: active ? `${active}, ${study ? countWords(study) : ''}` : 'none' }),
    ),
    ...visits.filter((each) => each.is_due && each.study !== active).map(dueLine),
    ...(active ? pauseRow(deeds) : [goOnRow(studies, visits, deeds)]),
  ]);
}

function pauseRow(deeds) {
  return [
    make('p', { class: 'quiet', text: 'What is measured and how is the study’s. Other work pauses it.' }),
    make(
      'div',
      { class: 'pick' },
      make('button', {
        type: 'button',
        class: 'medium',
        'data-key': 'study-set',
        text: 'Pause the study',
        onclick: () => deeds.tag({ study: null }),
      }),
    ),
  ];
}

const wordsOf = (study, about, due) =>
  [study, ...about, due ? `due ${due}` : ''].filter(Boolean).join(' · ');

/** A master of this instrument whose day has come. */
const dueLine = ({ study, words }) =>
  make('p', { class: 'study-due' }, make('strong', { text: study }), ` ${words}`);

function goOnRow(studies, visits, deeds) {
  const dueOf = (study) => visits.find((each) => each.study === study)?.due;
  if (!studies.length) return make('p', { class: 'quiet', text: 'No studies yet: plan one below.' });
  const id = freshId('study');
  const select = make(
    'select',
    { id, 'data-key': 'study' },
    make('option', { value: '', text: 'choose a study' }),
    ...studies.map(({ study, job, feature, instrument }) =>
      make('option', { value: study, text: wordsOf(study, [job || instrument, feature], dueOf(study)) }),
    ),
  );
  const go = make('button', {
    type: 'button',
    class: 'medium',
    'data-key': 'study-set',
    text: 'Go on',
    'aria-label': 'Go on with this study',
    onclick: () => select.value && deeds.tag({ study: select.value }),
  });
  return make('div', { class: 'pick' }, make('label', { for: id, class: 'unseen', text: 'Study' }), select, go);
}
