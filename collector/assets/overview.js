// With several stations: each as a small card; the chosen one fills the page.
// The choice lives in the address, so that a tablet keeps its station.

import { make, refill, show } from './dom.js';
import { shownReading, stationVerdict, verdictShape } from './verdict.js';
import { mainValue } from './words.js';

/** The address part that chooses a station. */
export function hashOf(name) {
  return `#station=${encodeURIComponent(name)}`;
}

/** The station named in the address, or null. */
export function stationInHash(hash) {
  const found = /^#station=(.+)$/.exec(hash);
  if (!found) return null;
  try {
    return decodeURIComponent(found[1]);
  } catch {
    return null;
  }
}

/** Draws the cards; nothing when there is only one station. */
export function drawOverview(container, stations, chosen, trouble) {
  show(container, stations.length > 1);
  document.body.classList.toggle('several', stations.length > 1);
  const facts = stations.map((station) => [
    station.name,
    station.last,
    station.link?.state,
    station.tags?.piece,
  ]);
  refill(container, [facts, chosen?.name, trouble], () =>
    stations.map((station) => card(station, station === chosen, trouble)),
  );
}

/** Whose a reading is, where that is no piece of a job. */
const WHOSE = { zero: 'zero check', study: 'in a study' };

function card(station, isChosen, trouble) {
  const verdict = stationVerdict(station, trouble);
  const last = shownReading(station);
  const listening = station.link?.state === 'listening';
  const whose = WHOSE[last?.purpose] ?? `piece ${last?.piece ?? '–'}`;
  const said = last ? `${mainValue(last).text} ${last.unit}, ${whose}` : 'no reading yet';
  return make(
    'a',
    {
      class: 'card',
      href: hashOf(station.name),
      'data-key': station.name,
      'data-verdict': verdict.code,
      'aria-current': isChosen ? 'true' : null,
    },
    verdictShape(verdict.code),
    make('span', { class: 'card-name', text: station.name }),
    make('span', { class: 'card-word', text: verdict.word }),
    make('span', {
      class: listening ? 'card-said' : 'card-said bad',
      text: listening ? said : `not listening; ${said}`,
    }),
  );
}
