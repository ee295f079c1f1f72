// How often something is worked out anew: not at every reading of a burst, not while nobody looks, and never more
// often than the working out takes.

const SETTLE_MS = 800;
const LONGEST_WAIT_MS = 5000;
/** Working it out takes at most this share of the time. */
const SHARE = 5;

export class Pace {
  /** `again()` works it out. */
  constructor(again) {
    this.again = again;
    this.since = null;
    this.busy = false;
    this.notBefore = 0;
    document.addEventListener('visibilitychange', () => this.#plan());
  }

  /** Something changed. */
  note() {
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
