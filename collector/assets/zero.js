// The zero check of a station: how it stands, always in view, and the way there and
// back. What the station was doing before is remembered, so that one press goes on.

import { make, refill, setText, show } from './dom.js';
import { purposeWords } from './words.js';

const STORE = 'overwire-before-zero';

/** What each station was doing before its zero check; kept over a reload of the page. */
export class BeforeZero {
  constructor() {
    this.stations = parse(sessionStorage.getItem(STORE));
  }

  /** `{ purpose, wished }`, or nothing when this page did not begin the check. */
  of(name) {
    return this.stations[name] ?? {};
  }

  /** Remembers the purpose, and the change of tags (`wished`) that waits for the check. */
  keep(station, wished) {
    const before = this.of(station.name);
    const { purpose } = station.tags;
    this.stations[station.name] = {
      purpose: purpose === 'zero' ? before.purpose : purpose,
      wished: wished ?? (purpose === 'zero' ? before.wished : null),
    };
    this.#store();
  }

  forget(name) {
    delete this.stations[name];
    this.#store();
  }

  #store() {
    sessionStorage.setItem(STORE, JSON.stringify(this.stations));
  }
}

function parse(text) {
  try {
    return JSON.parse(text) ?? {};
  } catch {
    return {};
  }
}

/** How the zero stands: small while it is good, plain when it is not. */
export function drawZero(parts, station) {
  const zero = station.zero ?? {};
  const good = zero.state === 'within';
  // While it is being checked, what came of it stands with the way on.
  const zeroing = station.tags?.purpose === 'zero';
  const heeded = !good && !zeroing && (zero.asked_for || zero.state !== 'missing');
  parts.zero.dataset.state = good ? 'good' : heeded ? 'heed' : 'quiet';
  const quiet = zeroing ? 'Zero being checked' : 'Zero not checked';
  setText(parts['zero-words'], good || heeded ? zero.sentence : quiet);
}

/** While the next press is a zero check: what to do, what came of it, and the way on. */
export function drawZeroing(container, station, instruments, before, deeds) {
  const zeroing = station.tags?.purpose === 'zero';
  show(container, zeroing);
  if (!zeroing) return refill(container, null, () => []);
  const found = foundBy(station);
  const standard = standardOf(station, instruments);
  const ways = waysOn(before);
  return refill(container, [station.name, found, station.zero?.sentence, standard, ways], () => [
    make('p', { class: 'zeroing-words', text: wordsFor(found, station, standard) }),
    make(
      'div',
      { class: 'answers-buttons' },
      ...ways.map(({ purpose, change, words }) =>
        make('button', {
          type: 'button',
          class: found === 'good' ? 'big primary' : 'big keep',
          'data-key': `after-zero-${purpose}`,
          text: found === 'good' ? words : `${words} all the same`,
          onclick: () => deeds.afterZero(change),
        }),
      ),
    ),
  ]);
}

/** What the newest reading says as a check: `good`, `off`, `none` (it was no check), or nothing yet. */
function foundBy({ last }) {
  if (!last || last.void || last.purpose !== 'zero') return '';
  if (last.verdict === 'zero_within') return 'good';
  return last.verdict === 'zero_off' ? 'off' : 'none';
}

function standardOf(station, instruments) {
  const known = instruments.find(({ instrument }) => instrument === station.instrument);
  return known?.zero_standard ? `${known.zero_standard} ${known.unit}` : '';
}

function wordsFor(found, station, standard) {
  const how = standard
    ? `Measure the standard of ${standard} and press the data button.`
    : 'Close the anvils, or measure the standard, and press the data button.';
  if (found === 'good') return 'The zero is good. The next press is a zero check again, until you go on.';
  if (found === 'off') return station.zero?.sentence ?? how;
  if (found === 'none') return `That was far from what a zero check measures. ${how}`;
  return `The next press is a zero check. ${how}`;
}

/** The ways on: what this page left for the check, or else either purpose. */
function waysOn({ purpose, wished }) {
  if (wished?.study) return [{ purpose: 'wished', change: wished, words: `Go on with study ${wished.study}` }];
  if (wished?.job) {
    const change = { ...wished, purpose: wished.purpose ?? purpose ?? 'cutting' };
    return [{ purpose: 'wished', change, words: `Begin job ${wished.job}` }];
  }
  const purposes = purpose ? [purpose] : ['cutting', 'inspecting'];
  return purposes.map((each) => ({
    purpose: each,
    change: { purpose: each },
    words: `Go on ${purposeWords(each)}`,
  }));
}
