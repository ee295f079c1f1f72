// The banner that says the page may be old: since when, and what to do.

import { setText, show } from './dom.js';
import { clockHere, spanWords } from './words.js';

export class LineBanner {
  constructor(element, alert, clock) {
    Object.assign(this, { element, alert, clock });
    this.line = { kind: 'opening' };
    setInterval(() => this.#tick(), 1000);
  }

  /** Shows what the line is now. */
  say(line) {
    this.line = line;
    const down = line.kind === 'polling' || line.kind === 'lost';
    show(this.element, down);
    this.element.dataset.line = line.kind;
    document.body.classList.toggle('stale', line.kind === 'lost');
    document.body.classList.toggle('lagging', line.kind === 'polling');
    setText(this.alert, SENTENCES[line.kind]?.(clockHere(line.since)) ?? '');
    this.#tick();
  }

  // Kept out of the alert, so that a ticking clock is not read out.
  #tick() {
    const { kind, since, checked } = this.line;
    if (kind === 'lost') setText(this.clock, `for ${spanWords((Date.now() - since) / 1000)}`);
    else if (kind === 'polling') setText(this.clock, checked ? `last answer ${clockHere(checked)}` : '');
  }
}

const SENTENCES = {
  lost: (since) =>
    `OLD: nothing heard since ${since}. Do not go by what stands below. ` +
    'Check that the collector runs and that this device is on its network; the page comes back by itself.',
  polling: (since) =>
    `The live line has been down since ${since}. The page asks every 2 seconds instead; ` +
    'if this stays, reload the page or restart the collector.',
};
