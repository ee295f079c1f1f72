// Tells when something of what is shown was recorded, so that it can be worked out anew: not at every
// reading of a burst, not while nobody looks, and never more often than the working out takes.

const SETTLE_MS = 800;
const LONGEST_WAIT_MS = 5000;
/** Working it out takes at most this share of the time. */
const SHARE = 5;

export class Fresh {
  /** `concerns(reading)` says whether a reading belongs to what is shown; `again()` works it out. */
  constructor(concerns, again) {
    this.concerns = concerns;
    this.again = again;
    this.since = null;
    this.busy = false;
    this.notBefore = 0;
  }

  start() {
    this.#open();
    document.addEventListener('visibilitychange', () => this.#plan());
    // A page that goes must not keep its stream; one that comes back has missed what came meanwhile.
    addEventListener('pagehide', () => this.source?.close());
    addEventListener('pageshow', (event) => {
      if (!event.persisted) return;
      this.#open();
      this.#note();
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
      if (lost) this.#note();
      lost = false;
    };
    const on = (name, act) => source.addEventListener(name, (event) => act(parse(event.data)));
    on('reading', (reading) => reading && this.concerns(reading) && this.#note());
    // One that was moved away no longer says that it was here.
    on('revised', () => this.#note());
    on('register', () => this.#note());
    on('resync', () => this.#note());
  }

  #note() {
    this.since ??= performance.now();
    this.#plan();
  }

  /** Waits for the end of a burst, and for its turn. */
  #plan() {
    clearTimeout(this.timer);
    if (this.since === null || this.busy || document.visibilityState !== 'visible') return;
    const now = performance.now();
    const settled = Math.min(now + SETTLE_MS, this.since + LONGEST_WAIT_MS);
    this.timer = setTimeout(() => this.#act(), Math.max(0, settled - now, this.notBefore - now));
  }

  async #act() {
    this.since = null;
    this.busy = true;
    const begun = performance.now();
    try {
      await this.again();
    } finally {
      this.busy = false;
      const ended = performance.now();
      this.notBefore = ended + SHARE * (ended - begun);
      this.#plan();
    }
  }
}

function parse(text) {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
