// Between passes: the figure to dial, large enough to be read at the machine, and a
// place to say what was dialled, from which the next advice is learned.

import { freshId, make, refill, setText, show } from './dom.js';
import { readDecimal } from './decimal.js';

/** What stands in the figure's place when nothing is to be dialled. */
const INSTEAD = { below_the_dial: 'SPRING PASS', at_size: 'CUT NO MORE', already_under: 'CUT NO MORE' };
const SLIDES = { cross_slide: 'cross slide', compound: 'compound' };

export class CutBoard {
  /** `container` is filled once; `dialled(figure)` tells the collector, and rejects with its refusal. */
  constructor(container, dialled) {
    this.container = container;
    this.dialled = dialled;
    this.advised = new Set();
    this.#build();
  }

  /** Draws the advice. Once a station had any, its place is kept while it cuts. */
  draw(station) {
    const cutting = station.tags?.purpose === 'cutting';
    const cut = station.behind ? null : station.cut;
    if (station.cut) this.advised.add(station.name);
    // What a doubtful reading may come from takes the place of advice on it.
    const doubted = !station.behind && station.causes?.length > 0;
    show(this.container, cutting && !doubted && (Boolean(station.cut) || this.advised.has(station.name)));
    if (this.station !== station.name) this.#clear();
    this.station = station.name;
    this.cut = cut;
    this.container.classList.toggle('waiting', !cut);
    this.container.dataset.advice = cut?.advice ?? '';
    this.#figure(cut, station.unit);
    setText(this.sentence, cut ? cut.sentence : waitingWords(station));
    refill(this.notes, cut?.notes ?? [], () => (cut?.notes ?? []).map((text) => make('li', { text })));
    this.#told(cut, station.unit);
  }

  #build() {
    const id = freshId('dialled');
    this.figure = make('p', { class: 'cut-figure' });
    this.sentence = make('p', { class: 'cut-sentence' });
    this.notes = make('ul', { class: 'cut-notes' });
    this.problem = make('p', { class: 'field-problem', id: `${id}-problem`, role: 'alert' });
    this.asSaid = make('button', {
      type: 'button',
      class: 'medium cut-said',
      text: 'Dialled as said',
      onclick: () => this.#tell(this.cut?.dial),
    });
    this.input = make('input', {
      id,
      name: 'dialled',
      inputmode: 'decimal',
      autocomplete: 'off',
      maxlength: 20,
      placeholder: 'another figure',
      'aria-describedby': `${id}-problem`,
    });
    this.form = make(
      'form',
      { class: 'pick', novalidate: true },
      make('label', { for: id, class: 'unseen', text: 'Another figure was dialled' }),
      this.input,
      make('button', { class: 'medium', text: 'Set', 'aria-label': 'Set: another figure was dialled' }),
    );
    this.form.addEventListener('submit', (event) => {
      event.preventDefault();
      this.#typed();
    });
    this.input.addEventListener('input', () => this.#refuse(''));
    this.said = make('span');
    this.change = make('button', {
      type: 'button',
      class: 'small',
      text: 'Change',
      'aria-label': 'Change what was dialled',
      onclick: () => this.#tell(null),
    });
    this.toldLine = make('p', { class: 'cut-told' }, this.said, ' ', this.change);
    this.ask = make('div', { class: 'cut-ask' }, this.asSaid, this.form);
    this.control = make('div', { class: 'cut-dialled' }, this.ask, this.toldLine, this.problem);
    this.container.replaceChildren(
      this.figure,
      make('div', { class: 'cut-words' }, this.sentence, this.notes),
      this.control,
    );
  }

  #figure(cut, unit) {
    const cuts = cut?.advice === 'cut';
    // Where the dial's own numbers are not known, the in-feed square to the axis is.
    const caption = cut?.dial ? `dial, ${SLIDES[cut.slide] ?? ''}` : 'in-feed, square to the axis';
    const figure = cuts ? (cut.dial ?? cut.radial) : null;
    refill(this.figure, [cut?.advice, caption, figure, unit], () =>
      figure
        ? [
            make('span', { class: 'cut-caption', text: caption }),
            make('span', { class: 'cut-dial', text: figure }),
            make('span', { class: 'cut-unit', text: ` ${unit}` }),
          ]
        : [make('span', { class: 'cut-instead', text: INSTEAD[cut?.advice] ?? '' })],
    );
  }

  #told(cut, unit) {
    const told = cut?.dialled ?? '';
    const dials = cut?.advice === 'cut' && Boolean(cut.dial);
    // Hidden parts keep their place, so that the reading below does not move.
    this.control.classList.toggle('unneeded', !dials && !told);
    const held = this.control.contains(document.activeElement);
    show(this.ask, !told);
    show(this.toldLine, Boolean(told));
    setText(this.said, told ? `Dialled ${told} ${unit}: goes with the next reading.` : '');
    if (held && document.activeElement === document.body && dials) (told ? this.change : this.asSaid).focus();
  }

  #typed() {
    const read = readDecimal(this.input.value);
    if (!read.text) return this.#refuse(read.why ?? 'Type the figure that was dialled.');
    return this.#tell(read.text);
  }

  async #tell(figure) {
    if (figure === undefined) return;
    this.#refuse('');
    try {
      await this.dialled(figure);
      this.input.value = '';
    } catch (refusal) {
      this.#refuse(refusal.fields?.dialled ?? refusal.sentence ?? refusal.message);
    }
  }

  #refuse(sentence) {
    setText(this.problem, sentence);
    if (sentence) this.input.setAttribute('aria-invalid', 'true');
    else this.input.removeAttribute('aria-invalid');
  }

  #clear() {
    this.input.value = '';
    this.#refuse('');
  }
}

function waitingWords(station) {
  return station.behind ? '' : 'The next pass shows after the next reading of this piece.';
}
