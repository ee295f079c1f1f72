// The functional check of a piece: whether a go gauge or the mating part was tried on it,
// because wires cannot see what a nut feels. It stands beside the reading of that piece.

import { freshId, make, refill, setText, show } from './dom.js';
import { clockOf } from './words.js';

const OF_PIECES = ['cutting', 'inspecting'];

/** The piece whose check is shown: that of the reading shown, or else the next one. */
export function pieceShown(station) {
  const { last, tags, study } = station ?? {};
  const reading = last ?? station?.recent?.[0];
  const named = [reading, tags].find(
    (each) => each?.job && each.feature && OF_PIECES.includes(each.purpose),
  );
  if (!named || study) return null;
  const { job, feature, piece, attempt } = named;
  return { job, feature, piece, attempt };
}

/** What is known of the check of a piece, or nothing. */
export function checkOf(station, piece) {
  const names = ['job', 'feature', 'piece', 'attempt'];
  const same = (check) => names.every((name) => check[name] === piece[name]);
  return (station.functional_checks ?? []).find(same) ?? null;
}

/** A check in a few words: what it did, with what, who and when. */
export function checkWords({ state, gauge, by, at, words, reason }) {
  const said = { goes: `goes, ${gauge}`, does_not_go: `does not go, ${gauge}`, not_done: 'not done', withdrawn: 'withdrawn' };
  if (!said[state]) return 'none recorded';
  const who = [by, clockOf(at).slice(0, 5)].filter(Boolean).join(' ');
  const more = [reason, words].filter(Boolean).join('; ');
  return `${said[state]}, ${who}${more ? ` (${more})` : ''}`;
}

/** Draws the check of the piece shown: a button that says how it stands and records another. */
export function drawFunctional(container, station, deeds) {
  const piece = pieceShown(station);
  const check = piece ? checkOf(station, piece) : null;
  show(container, Boolean(piece));
  container.dataset.state = check?.state ?? 'none';
  const caution = station.behind ? '' : (station.functional_caution ?? '');
  const words = check ? checkWords(check) : 'not known';
  refill(container, [piece, words, caution, station.name], () =>
    piece
      ? [
          make(
            'button',
            {
              type: 'button',
              class: 'medium functional-button',
              'data-key': 'functional',
              onclick: (event) => deeds.checkFunctionally(event.currentTarget),
            },
            make('span', { class: 'functional-words', text: `Functional check: ${words}` }),
          ),
          caution ? make('p', { class: 'functional-caution', text: caution }) : null,
        ].filter(Boolean)
      : [],
  );
}

/**
 * Content of the drawer: the gauge used last is there already, so that one press says
 * what it did. `store(told)` rejects with a refusal.
 */
export function functionalContent(station, piece, store, close) {
  const check = checkOf(station, piece);
  const fields = fieldsOf(station.check_gauges ?? []);
  const problem = make('p', { class: 'field-problem', role: 'alert' });
  const tell = async (told) => {
    setText(problem, '');
    try {
      await store(told);
    } catch (refusal) {
      setText(problem, `NOT STORED: ${refusal.sentence ?? refusal.message}`);
      fields[refusal.fields?.gauge ? 'gauge' : 'words'].focus();
    }
  };
  const done = (result) => () =>
    tell({ result, gauge: fields.gauge.value.trim(), words: fields.words.value.trim() });
  const undone = () => tell({ result: 'not_done', words: fields.words.value.trim() });
  const withdraw = () => tell({ result: 'withdrawn', reason: fields.words.value.trim() });
  const stands = check && !['none', 'withdrawn'].includes(check.state);
  const answers = [
    ['Goes', 'big primary', done('goes')],
    ['Does not go', 'big', done('does_not_go')],
    ['Not done', 'big', undone],
    ...(stands ? [['Withdraw', 'big keep', withdraw]] : []),
    ['Close', 'big keep', close],
  ];
  const buttons = answers.map(([text, kind, onclick]) =>
    make('button', { type: 'button', class: kind, text, onclick }),
  );
  return {
    content: [
      make('p', { class: 'drawer-question', text: `Piece ${piece.piece}, ${piece.feature}: go ring or mating part?` }),
      stands ? make('p', { text: `Now: ${check.sentence}.` }) : null,
      make('p', { class: 'quiet', text: 'Spindle stopped and clear. By hand, without force; mind burrs.' }),
      ...fields.elements,
      problem,
      make('div', { class: 'drawer-buttons', role: 'group', 'aria-label': 'What it did' }, ...buttons),
    ].filter(Boolean),
    focusOn: fields.gauge.value ? buttons[0] : fields.gauge,
  };
}

function fieldsOf(gauges) {
  const gauge = line('gauge', gauges[0] ?? '', 'off');
  const words = line('words', '', 'off');
  const others = gauges.map((name) =>
    make('button', {
      type: 'button',
      class: 'medium',
      text: name,
      'aria-label': `With ${name}`,
      onclick: () => {
        gauge.value = name;
      },
    }),
  );
  const field = (input, label, ...more) =>
    make('div', { class: 'functional-field' }, make('label', { for: input.id, text: label }), input, ...more);
  return {
    gauge,
    words,
    elements: [
      field(
        gauge,
        'Gauge or mating part',
        gauges.length > 1 ? make('span', { class: 'functional-gauges' }, ...others) : null,
      ),
      field(words, 'In words (to withdraw: why)'),
    ],
  };
}

function line(name, value, autocomplete) {
  return make('input', { id: freshId(name), name, value, autocomplete, maxlength: 200, spellcheck: 'false' });
}
