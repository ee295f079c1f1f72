// Draws one station: verdict, left to cut, reading first; the rest below.

import { make, partsOf, refill, setText, show, widthInEms } from './dom.js';
import { isRepeat, shownReading, stationVerdict, verdictShape } from './verdict.js';
import { correctionWords, flagWords, isOfPlainMaster, limitsWords, mainValue, purposeWords } from './words.js';
import { drawConnection, drawNoise, drawPicture, drawToday } from './facts.js';
import { drawFunctional } from './functional.js';
import { drawReport } from './report.js';
import { copyRecent, drawRecent } from './recent.js';
import { drawTags } from './tags.js';
import { CopyPanel } from './copypanel.js';
import { CutBoard } from './cutboard.js';
import { OutlookLine } from './outlook.js';
import { findPath, statisticsPath } from './paths.js';
import { StudyBoard } from './study.js';
import { drawForm, drawTrust, drawWires, WarmthFields } from './trust.js';
import { drawZero, drawZeroing } from './zero.js';

/** How much of the track, on each side of the limits, shows what lies outside. */
const TRACK_SIDE = 0.3;

export class StationView {
  /** `deeds`: what the controls on the page do. */
  constructor(root, deeds) {
    this.root = root;
    this.parts = { ...partsOf(root), name: root.querySelector('#station-name') };
    this.deeds = deeds;
    this.cut = new CutBoard(this.parts.cut, (dialled) => deeds.tell({ dialled }));
    this.warmth = new WarmthFields(this.parts.warmth, deeds.tell);
    this.study = new StudyBoard(this.parts.study, deeds.tag);
    this.outlook = new OutlookLine(this.parts, deeds.say);
    this.copy = new CopyPanel(this.parts.copy);
    this.parts['copy-recent'].addEventListener('click', () => copyRecent(this.copy, this.recent));
  }

  /** Draws the station as it is now; `state` is the whole state. */
  draw(told, state) {
    const station = { ...told, last: shownReading(told) };
    station.repeated = station.last !== (told.last ?? null);
    const verdict = stationVerdict(station, state.record?.trouble);
    const asks = Boolean(station.last?.held && !station.last.void);
    this.root.classList.toggle('wants', asks || station.link?.state !== 'listening');
    this.root.classList.toggle('asks', asks);
    this.root.classList.toggle('studying', Boolean(station.study));
    this.#head(station);
    this.study.draw(station);
    this.#verdict(station, verdict);
    this.#reading(station, verdict);
    this.cut.draw(station);
    this.#scale(station);
    this.#corrections(station.last);
    this.#belongs(station);
    drawFunctional(this.parts.functional, station, this.deeds);
    this.#notes(station);
    this.outlook.draw(station);
    this.#answers(station.last);
    this.#causes(station);
    drawZero(this.parts, station);
    drawZeroing(this.parts.zeroing, station, state.instruments ?? [], this.deeds.beforeZero(), this.deeds);
    this.#buttons(station);
    drawConnection(this.parts.connection, station, state.instruments ?? []);
    drawTags(this.parts.tags, station, state, this.deeds);
    drawRecent(this.parts.recent, station, this.deeds);
    this.recent = station.recent ?? [];
    show(this.parts['copy-recent'], this.recent.length > 0);
    drawToday(this.parts.today, station);
    drawForm(this.parts, station);
    drawTrust(this.parts, station);
    drawWires(this.parts, station);
    this.warmth.draw(station);
    drawPicture(this.parts, station);
    drawNoise(this.parts.noise, station);
    this.#csv(station);
    drawReport(this.parts, station, state.jobs ?? []);
  }

  #head(station) {
    const { name, what, deaf } = this.parts;
    const listening = station.link?.state === 'listening';
    setText(name, station.name);
    setText(what, station.instrument ? `instrument ${station.instrument}` : 'no instrument named');
    setText(this.parts['link-chip'], listening ? 'listening' : 'not listening');
    this.parts['link-chip'].classList.toggle('bad', !listening);
    show(deaf, !listening);
    setText(this.parts['deaf-sentence'], listening ? '' : station.link?.sentence);
    setText(this.parts['deaf-hint'], listening ? '' : station.link?.hint);
  }

  #verdict(station, verdict) {
    const { word, left, shape } = this.parts;
    const panel = this.parts.verdict;
    panel.dataset.verdict = verdict.code;
    refill(shape, verdict.code, () => [verdictShape(verdict.code)]);
    if (word.textContent !== verdict.word) {
      setText(word, verdict.word);
      const width = (text) => widthInEms(text, word);
      panel.style.setProperty('--line-ems', width(verdict.word).toFixed(3));
      panel.style.setProperty('--two-line-ems', twoLineWidth(verdict.word, width).toFixed(3));
    }
    if (left.textContent !== verdict.left) {
      setText(left, verdict.left);
      left.style.setProperty('--ems', (widthInEms(verdict.left, left) * 1.02).toFixed(3));
    }
    show(left, verdict.left !== '');
    const last = station.last;
    const apt = last && verdict.code !== 'not_stored';
    const uncounted = apt && last.counted === false && !last.void && !last.held && last.purpose !== 'zero';
    panel.classList.toggle('uncounted', Boolean(uncounted));
    const zero = last?.purpose === 'zero';
    setText(this.parts.whose, apt && !zero ? `piece ${last.piece ?? '–'}` : '');
    const attempt = last?.attempt > 1 ? `attempt ${last.attempt}` : '';
    setText(
      this.parts['whose-more'],
      apt ? [uncounted ? 'not counted' : '', attempt, last.position].filter(Boolean).join(', ') : '',
    );
  }

  #reading(station, verdict) {
    const { quantity, reading, beside } = this.parts;
    const last = station.last;
    show(reading, Boolean(last));
    if (!last) return;
    const value = mainValue(last);
    setText(
      quantity,
      verdict.code === 'not_stored' ? `${value.quantity} of the last stored reading` : value.quantity,
    );
    const known = knownTo(last);
    this.#value(value.text, ` ${last.unit}`, known ? `± ${known}` : '');
    reading.classList.toggle('struck', Boolean(last.void));
    refill(beside, [value, last.over_wires, last.limits, last.uncertainty, last.unit, station.thread?.window], () =>
      besideRows(last, value, station.thread).map(([term, said, kind]) =>
        make('div', { class: kind }, make('dt', { text: term }), make('dd', { text: said })),
      ),
    );
  }

  /** The digits, sized to the room that they, the unit and the uncertainty need together. */
  #value(text, unitText, known) {
    const { digits, unit, reading } = this.parts;
    const plusMinus = this.parts['plus-minus'];
    const said = [text, unitText, known];
    if (this.valueSaid?.join('|') === said.join('|')) return;
    this.valueSaid = said;
    setText(digits, text);
    setText(unit, unitText);
    setText(plusMinus, known);
    const shown = widthInEms(text, digits);
    const beside = widthInEms(unitText, unit) * 0.3;
    const above = known ? widthInEms(known, plusMinus) * 0.12 + 0.08 : 0;
    reading.style.setProperty('--ems', ((shown + beside) * 1.01).toFixed(3));
    reading.style.setProperty('--wide-ems', ((shown + Math.max(beside, above)) * 1.01).toFixed(3));
    reading.style.setProperty('--spare-ems', Math.max(0, above - beside).toFixed(3));
  }

  #scale(station) {
    const { scale, marker } = this.parts;
    const { last } = station;
    const place = placeOnTrack(last);
    show(scale, place !== null);
    if (place === null) return;
    const [low, high] = guardBands(station);
    scale.style.setProperty('--guard-low', low.toFixed(4));
    scale.style.setProperty('--guard-high', high.toFixed(4));
    marker.style.setProperty('--at', Math.min(0.985, Math.max(0.015, place)).toFixed(4));
    marker.dataset.beyond = place < 0 ? 'left' : place > 1 ? 'right' : '';
    setText(this.parts['scale-min'], last.limits.min);
    setText(this.parts['scale-max'], last.limits.max);
  }

  #corrections(last) {
    const { corrections } = this.parts;
    const added = last && !last.void ? correctionWords(last) : '';
    show(corrections, added !== '');
    setText(corrections, added ? `Added to the reading: ${added}` : '');
  }

  #causes(station) {
    const { causes } = this.parts;
    const said = station.behind || station.repeated ? [] : (station.causes ?? []);
    show(causes, said.length > 0);
    refill(causes, said, () => [
      make('p', {
        class: 'causes-head',
        text: said.length > 1 ? 'What it may come from, the likeliest first:' : 'What it may come from:',
      }),
      make(said.length > 1 ? 'ol' : 'ul', {}, ...said.map((text) => make('li', { text }))),
    ]);
  }

  #belongs(station) {
    const { last, tags } = station;
    setText(this.parts.belongs, tagWords({ job: null, ...(last ?? tags) }).join(' · '));
    const next = last && tags && !station.study ? nextWords(last, tags, station.progress) : '';
    setText(this.parts['next-press'], next);
    show(this.parts['next-press'], next !== '');
  }

  #notes(station) {
    const { notes, problem } = this.parts;
    const last = station.last;
    const lines = last && !last.void ? noteLines(last, station.zero) : [];
    if (station.repeated) lines.unshift('Pressed twice; counts once.');
    show(notes, lines.length > 0);
    refill(notes, lines, () => lines.map((text) => make('li', { text })));
    show(problem, Boolean(station.problem));
    refill(problem, station.problem, () =>
      station.problem
        ? [
            make('p', { text: station.problem }),
            make('button', {
              type: 'button',
              class: 'medium',
              'data-key': 'to-tags',
              text: 'Choose job and wires',
              onclick: () => this.deeds.toTags(),
            }),
          ]
        : [],
    );
  }

  #answers(last) {
    const { answers } = this.parts;
    const held = last && !last.void ? last.held : null;
    show(answers, Boolean(held));
    refill(answers, held ? [last.entry, held] : null, () =>
      held
        ? [
            make('p', { class: 'answers-question', text: held.sentence }),
            make(
              'div',
              { class: 'answers-buttons' },
              ...(held.answers ?? []).map((each) =>
                make('button', {
                  type: 'button',
                  class: 'big',
                  'data-key': `answer-${each.answer}`,
                  text: each.label,
                  onclick: () => this.deeds.answer(last, each.answer),
                }),
              ),
            ),
          ]
        : [],
    );
  }

  #buttons(station) {
    const piece = Number(station.tags?.piece);
    const known = Number.isFinite(piece);
    setText(this.parts['next-more'], known ? `to piece ${piece + 1}` : '');
    setText(this.parts['back-more'], known && piece > 1 ? `to piece ${piece - 1}` : '');
    const last = latestStanding(station);
    setText(this.parts['void-more'], last ? mainValue(last).text : 'nothing to void');
  }

  #csv(station) {
    const job = station.tags?.job;
    const { csv, xlsx } = this.parts;
    const asked = job ? `?job=${encodeURIComponent(job)}` : '';
    csv.href = `/export.csv${asked}`;
    xlsx.href = `/export.xlsx${asked}`;
    setText(csv, job ? `Readings as CSV (job ${job})` : 'Readings as CSV');
    show(this.parts.steady, Boolean(job));
    this.parts.steady.href = statisticsPath(station.tags ?? {}, station.name);
    this.parts.find.href = findPath({ job });
  }
}

/** The newest reading that still stands, which is the one “void last” means. */
export function latestStanding(station) {
  const candidates = [station.last, ...(station.recent ?? [])];
  return candidates.find((reading) => reading && !reading.void && !isRepeat(reading)) ?? null;
}

/** The width a text needs when it may be broken once. */
function twoLineWidth(text, width) {
  const words = text.split(' ');
  const breaks = words
    .slice(1)
    .map((_, at) => Math.max(width(words.slice(0, at + 1).join(' ')), width(words.slice(at + 1).join(' '))));
  return Math.min(width(text), ...breaks);
}

function besideRows(last, value, thread) {
  if (last.purpose === 'zero') return [];
  const isPitch = value.quantity === 'Pitch diameter';
  const rows = isPitch ? [['Over wires (M)', `${last.over_wires} ${last.unit}`]] : [];
  if (last.purpose === 'study') return [['No verdict', 'a reading of a study'], ...rows];
  if (last.limits)
    rows.push([isPitch ? 'Limits' : 'Pitch diameter limits', limitsWords(last.limits, last.unit)]);
  if (thread?.window && thread.unit === last.unit) {
    rows.push(['Limits over wires', limitsWords(thread.window, last.unit)]);
  }
  const known = knownTo(last);
  if (known) rows.unshift(['Known to', `± ${known} ${last.unit}`, 'known']);
  return rows;
}

/** The expanded uncertainty of the pitch diameter shown, or an empty string. */
function knownTo(last) {
  return last.pitch_diameter && last.purpose !== 'zero' ? (last.uncertainty ?? '') : '';
}

/** Where the reading lies on the track, 0 to 1, or null when there is nothing to draw. */
function placeOnTrack(last) {
  if (!last?.limits || !last.pitch_diameter || last.void || ['zero', 'study'].includes(last.purpose)) return null;
  const [value, min, max] = [last.pitch_diameter, last.limits.min, last.limits.max].map(Number);
  if (![value, min, max].every(Number.isFinite) || max <= min) return null;
  return TRACK_SIDE + ((value - min) / (max - min)) * (1 - 2 * TRACK_SIDE);
}

/** How much of the room between the limits the decision rule keeps free at either end, 0 to 1. */
function guardBands({ last, thread, trust, tags }) {
  const own = last.job === tags?.job && last.feature === tags?.feature && thread?.unit === last.unit;
  const [min, max] = [last.limits.min, last.limits.max].map(Number);
  const [from, to] = [trust?.accept?.min, trust?.accept?.max].map(Number);
  if (!own || ![from, to].every(Number.isFinite)) return [0, 0];
  const share = (width) => Math.min(1, Math.max(0, width / (max - min)));
  return [share(from - min), share(max - to)];
}

function tagWords(tags) {
  return [
    'job' in tags && !isOfPlainMaster(tags) ? (tags.job ? `Job ${tags.job}` : 'No job') : '',
    tags.feature,
    // The pieces of a study have names of their own, which its board shows.
    tags.piece && tags.purpose !== 'study' ? `piece ${tags.piece}` : '',
    tags.position ? `at ${tags.position}` : '',
    tags.wire_set ? `wires ${tags.wire_set}` : '',
    tags.purpose === 'study' ? tags.method : '',
    tags.purpose ? purposeWords(tags.purpose) : '',
  ].filter(Boolean);
}

/** What the next press will be tagged with, where that differs from the last reading. */
function nextWords(last, tags, progress) {
  const names = ['job', 'feature', 'piece', 'position', 'wire_set', 'purpose'];
  const differing = names.filter((name) => (last[name] ?? null) !== (tags[name] ?? null));
  if (differing.length) {
    const now = Object.fromEntries(differing.map((name) => [name, tags[name]]));
    return `Next press: ${tagWords(now).join(' · ') || 'no position'}`;
  }
  if (!(progress?.readings_a_piece > 1)) return '';
  return `${progress.counted_on_piece} of ${progress.readings_a_piece} readings on this piece`;
}

/** Flags whose sentence stands elsewhere on the page already. */
function saidElsewhere(last, zero) {
  const said = last.corrections?.length ? ['corrected'] : [];
  return zero && zero.state !== 'within' ? [...said, 'zero_off', 'zero_old'] : said;
}

function noteLines(last, zero) {
  // The collector says what each flag means, in their order, after what it says of the seat.
  const flags = last.flags ?? [];
  const notes = last.notes ?? [];
  const elsewhere = saidElsewhere(last, zero);
  const flagAt = (at) => flags[at - (notes.length - flags.length)];
  const lines = notes.filter((_, at) => !elsewhere.includes(flagAt(at)));
  if (flags.length && !notes.length) lines.push(`${flags.map(flagWords).join(', ')}.`);
  if (last.comment) lines.push(`Comment: ${last.comment}`);
  return [...new Set(lines)];
}
