// Tells when something of what is shown was recorded, so that it can be worked out anew.

import { Pace } from './pace.js';

export class Fresh {
  /** `concerns(reading)` says whether a reading belongs to what is shown; `again()` works it out. */
  constructor(concerns, again) {
    this.concerns = concerns;
    this.pace = new Pace(again);
  }

  start() {
    this.#open();
    // A page that goes must not keep its stream; one that comes back has missed what came meanwhile.
    addEventListener('pagehide', () => this.source?.close());
    addEventListener('pageshow', (event) => {
      if (!event.persisted) return;
      this.#open();
      this.pace.note();
    });
  }

  #open() {
    this.source?.close();
    const source = new EventSource('/events');
    this.source = source;
    let lost = false;
    source.onerror = () => {
      lost = true;
    };
    source.onopen = () => {
      if (lost) this.pace.note();
      lost = false;
    };
    const on = (name, act) => source.addEventListener(name, (event) => act(parse(event.data)));
    on('reading', (reading) => reading && this.concerns(reading) && this.pace.note());
    // One that was moved away no longer says that it was here.
    on('revised', () => this.pace.note());
    on('register', () => this.pace.note());
    on('resync', () => this.pace.note());
  }
}

function parse(text) {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
