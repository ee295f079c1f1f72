// The quieter facts of a station: connection, the day's count, picture, noise.

import { make, refill, setText, show } from './dom.js';
import { clockOf, limitsWords } from './words.js';

function rows(pairs) {
  return pairs
    .filter(([, said]) => said)
    .map(([term, said]) => make('div', {}, make('dt', { text: term }), make('dd', { text: said })));
}

/** How the station hears its instrument. */
export function drawConnection(container, station, instruments) {
  const link = station.link ?? {};
  const known = instruments.find((each) => each.instrument === station.instrument);
  const due = known?.due ?? '';
  const overdue = station.instrument_overdue;
  const missing = Boolean(station.instrument) && station.instrument_known === false;
  refill(container, [link, station.port, station.instrument, due, overdue, missing], () =>
    [
      make('p', {
        class: link.state === 'listening' ? 'link-good' : 'link-bad',
        text: link.sentence ?? 'Not known.',
      }),
      link.hint ? make('p', { class: 'hint', text: link.hint }) : null,
      overdue
        ? make('p', {
            class: 'caution',
            text: `Instrument ${station.instrument} was due for calibration on ${due}. Each reading says so.`,
          })
        : null,
      missing
        ? make('p', {
            class: 'caution',
            text: `${station.instrument} is not in the register of instruments: enter it below, so that its calibration is watched.`,
          })
        : null,
      make(
        'dl',
        { class: 'pairs' },
        ...rows([
          ['Port', station.port],
          ['Instrument', station.instrument],
          ['Calibration due', due],
          ['Since', link.since ? `${clockOf(link.since)} on ${String(link.since).slice(0, 10)}` : ''],
        ]),
      ),
    ].filter(Boolean),
  );
}

/** The day's count. */
export function drawToday(container, station) {
  const today = station.today ?? {};
  refill(container, today, () =>
    rows([
      ['Readings', String(today.readings ?? 0)],
      ['Counted', String(today.counted ?? 0)],
      ['Within limits', String(today.pass ?? 0)],
      ['Outside limits', String(today.fail ?? 0)],
    ]),
  );
}

let lastFacts = '';
let turn = 0;

/** The server's drawing of thread and wires; fetched anew when its facts change. */
export function drawPicture(parts, station) {
  const { thread, last, tags } = station;
  show(parts.picture, Boolean(thread));
  if (!thread) return;
  const facts = JSON.stringify([
    station.name,
    last?.entry,
    last?.void,
    last?.over_wires,
    tags?.job_revision,
    tags?.job,
    tags?.feature,
    tags?.wire_set,
  ]);
  if (facts !== lastFacts) {
    lastFacts = facts;
    turn += 1;
    const image = parts['picture-image'];
    image.src = `/picture?station=${encodeURIComponent(station.name)}&v=${last?.entry ?? 0}.${turn}`;
    image.alt = `Profile of ${thread.designation} along its axis with the wires in its grooves.`;
  }
  setText(parts['picture-words'], pictureWords(thread));
}

function pictureWords(thread) {
  const said = [
    thread.designation,
    thread.limits ? `pitch diameter ${limitsWords(thread.limits, thread.unit)}` : 'no limits',
    thread.window ? `over these wires ${limitsWords(thread.window, thread.unit)}` : '',
  ];
  return `${said.filter(Boolean).join(', ')}. ${thread.basis ?? ''}`.trim();
}

/** What came down the line without being a reading. */
export function drawNoise(container, station) {
  const frames = station.refused_frames ?? 0;
  const bytes = station.noise_bytes ?? 0;
  const refused = frames === 1 ? '1 refused frame' : `${frames} refused frames`;
  const noise = bytes === 1 ? '1 byte of noise' : `${bytes} bytes of noise`;
  const why = station.last_refusal ? ` The last: ${station.last_refusal}` : '';
  const said = frames || bytes ? `${refused}, ${noise}.${why}` : 'Nothing: every frame was a reading.';
  setText(container, said);
}
