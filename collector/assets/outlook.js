// Where the last pieces lead: how many are left until wear meets a limit, and whether the last one stands out. Asked
// for when a reading of the thread came, was voided or was moved.

import { get } from './api.js';
import { make, refill, show } from './dom.js';
import { Pace } from './pace.js';
import { outlookPath, statisticsPath } from './paths.js';

export class OutlookLine {
  /**
   * `line`: where it stands beside the verdict when there is something to come; `panel` with `body`: all of it.
   * `say(sentence)` reads it out when something should be done.
   */
  constructor({ outlook: line, 'outlook-panel': panel, 'outlook-body': body }, say) {
    Object.assign(this, { line, panel, body, say });
    this.pace = new Pace(() => this.#ask());
  }

  /** Shows what is known of the station's thread, and asks when something happened to it. */
  draw(station) {
    const tags = station.study ? {} : (station.tags ?? {});
    const thread = tags.job && tags.feature ? outlookPath(tags) : null;
    if (thread !== this.thread) {
      this.thread = thread;
      this.facts = null;
      this.#show(null);
    }
    this.more = thread && statisticsPath(tags, station.name);
    const facts = JSON.stringify((station.recent ?? []).map(({ entry, piece, job, counted, comment, void: gone }) => [entry, piece, job, counted, comment, gone]));
    if (!thread || facts === this.facts) return;
    this.facts = facts;
    this.pace.note();
  }

  async #ask() {
    const thread = this.thread;
    if (!thread) return;
    // What is not known is not shown; the next reading asks again.
    const told = await get(thread).catch(() => null);
    if (thread === this.thread) this.#show(told);
  }

  #show(told) {
    const sentences = told?.sentences ?? [];
    const [first] = sentences;
    const urgent = Boolean(told?.heed);
    const ahead = urgent || (told?.left ?? null) !== null;
    show(this.line, ahead);
    this.line.classList.toggle('urgent', urgent);
    refill(this.line, [ahead && first], () => (ahead ? [make('p', { text: first })] : []));
    if (urgent && first !== this.said) this.say(first);
    this.said = urgent ? first : null;
    show(this.panel, sentences.length > 0);
    refill(this.body, [told, this.more], () => [
      ...sentences.map((text) => make('p', { class: 'form-sentence', text })),
      told?.since ? make('p', { class: 'quiet', text: `Since ${told.since}.` }) : null,
      make('p', { class: 'quiet', text: 'A remark with the word tool on the first piece of another edge begins afresh.' }),
      this.more ? make('a', { href: this.more, text: 'How steady is this job?' }) : null,
    ].filter(Boolean));
  }
}
