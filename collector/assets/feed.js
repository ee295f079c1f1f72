// Keeps the page true: one event stream that brings readings and stations, the whole
// state fetched again whenever something may have been missed, and a clear word when
// the stream is down. A stream that dies without a word looks like a quiet one, so
// after a silence the collector is asked whether it is there.
//
// The line is `live` (the stream is open), `polling` (the stream is down but the
// collector answers when asked) or `lost` (nothing answers).

import { get } from './api.js';

const STATE_PATIENCE_MS = 2000;
const GRACE_MS = 1200;
const POLL_MS = 2000;
const TICK_MS = 1000;
const SILENCE_MS = 8000;
const STUCK_MS = 6000;
const REFETCH_MS = 1000;
const SLEPT_MS = 10000;
const RECENT = 10;

export class Feed {
  /** `handlers`: onState(state), onReading(reading, live), onLine(line). */
  constructor(handlers) {
    this.handlers = handlers;
    this.state = null;
    this.line = { kind: 'opening', since: new Date() };
    this.good = new Date();
    this.doubt = false;
    this.heard = [];
    this.stationsHeard = new Map();
    this.asked = 0;
    this.lastTick = Date.now();
  }

  start() {
    this.#open();
    this.refetch();
    setInterval(() => this.#tick(), TICK_MS);
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'visible') this.wake();
    });
    addEventListener('pageshow', (event) => event.persisted && this.wake());
    addEventListener('online', () => this.wake());
    addEventListener('offline', () => this.#down());
  }

  /** Called when the page may have slept: ask now, and open the stream anew. */
  wake() {
    this.doubt = true;
    this.#open();
    this.refetch();
  }

  /** Fetches the whole state. An answer overtaken by a later question is dropped. */
  async refetch() {
    this.asked += 1;
    const mine = this.asked;
    const from = performance.now();
    try {
      const state = await get('/api/state', AbortSignal.timeout(STATE_PATIENCE_MS));
      this.#answered();
      if (mine === this.asked) this.#take(state, from);
    } catch {
      this.#down(true);
    }
  }

  /** Takes a station the collector sent. One it answered with gives way to one streamed since `asked`. */
  takeStation(station, asked) {
    if (!station?.name) return;
    const { name } = station;
    if (asked === undefined) this.stationsHeard.set(name, { station, when: performance.now() });
    else if (this.stationsHeard.get(name)?.when >= asked) return;
    if (!this.state) return;
    this.#place(station);
    this.handlers.onState(this.state);
    this.#seeRecord();
  }

  /** Takes a reading, new or revised. `live` is false for what was caught up. */
  takeReading(reading, live = false) {
    this.heard = [...this.heard.slice(-50), { reading, when: performance.now() }];
    if (!this.state) return;
    const isNew = this.#merge(reading);
    this.handlers.onState(this.state);
    if (isNew) this.handlers.onReading(reading, live);
    this.#seeRecord();
  }

  #open() {
    this.source?.close();
    const source = new EventSource('/events');
    this.source = source;
    this.openedAt = performance.now();
    let opened = Infinity;
    source.onopen = () => {
      opened = performance.now();
      this.#up();
      this.refetch();
    };
    source.onerror = () => {
      if (this.line.kind === 'live' && !this.doubt) this.good = new Date();
      this.#down();
    };
    const on = (name, act) =>
      source.addEventListener(name, (event) => {
        this.good = new Date();
        act(parse(event.data));
      });
    on('reading', (reading) => reading && this.takeReading(reading, performance.now() - opened > 500));
    on('revised', (reading) => reading && this.takeReading(reading));
    on('station', (station) => this.takeStation(station));
    on('register', () => this.refetch());
    on('resync', () => this.refetch());
  }

  #place(station) {
    const at = this.state.stations.findIndex((each) => each.name === station.name);
    if (at < 0) this.state.stations.push(station);
    else this.state.stations[at] = station;
    const newest = station.last?.entry ?? 0;
    for (const { reading } of this.heard) {
      if (reading.station === station.name && reading.entry > newest) this.#merge(reading);
    }
  }

  #merge(reading) {
    const station = this.state.stations.find((each) => each.name === reading.station);
    if (!station) return false;
    const isNew = !station.last || reading.entry > station.last.entry;
    if (isNew || station.last.entry === reading.entry) {
      // What the collector said beside the reading it knew is not said of this one.
      if (isNew || !saysTheSame(station.last, reading)) station.behind = true;
      station.last = reading;
    }
    const others = (station.recent ?? []).filter((each) => each.entry !== reading.entry);
    const known = others.length < (station.recent ?? []).length;
    if (known || isNew) {
      station.recent = [reading, ...others].sort((a, b) => b.entry - a.entry).slice(0, RECENT);
    }
    return isNew;
  }

  #take(state, from) {
    this.state = state;
    // What was heard after the question was put may be missing from the answer.
    this.heard = this.heard.filter((each) => each.when >= from);
    for (const { station, when } of this.stationsHeard.values()) {
      if (when >= from) this.#place(station);
    }
    for (const { reading } of this.heard) this.#merge(reading);
    this.handlers.onState(state);
  }

  /** Readings come again after the record was in trouble: see whether it is over. */
  #seeRecord() {
    if (!this.state?.record?.trouble || this.soon) return;
    this.soon = setTimeout(() => {
      this.soon = null;
      this.refetch();
    }, REFETCH_MS);
  }

  #up() {
    clearTimeout(this.graceTimer);
    clearInterval(this.pollTimer);
    this.graceTimer = this.pollTimer = null;
    this.doubt = false;
    this.good = new Date();
    this.#say('live');
  }

  #down(unanswered = false) {
    if (unanswered && this.source?.readyState === EventSource.OPEN) this.#open();
    if (!this.pollTimer) this.pollTimer = setInterval(() => this.#poll(), POLL_MS);
    if (unanswered || !navigator.onLine) this.#say('lost');
    else if (this.line.kind === 'live' || this.line.kind === 'opening') {
      this.graceTimer ??= setTimeout(() => this.#poll(), GRACE_MS);
    }
  }

  #poll() {
    if (this.source?.readyState === EventSource.OPEN) return;
    const stuck = performance.now() - this.openedAt > STUCK_MS;
    if (stuck || this.source?.readyState === EventSource.CLOSED) this.#open();
    this.refetch();
  }

  #answered() {
    if (this.source?.readyState === EventSource.OPEN) this.#up();
    else if (this.graceTimer || this.line.kind === 'lost') this.#say('polling');
    if (this.line.kind === 'polling') {
      this.line.checked = new Date();
      this.handlers.onLine(this.line);
    }
  }

  #say(kind) {
    if (this.line.kind === kind) return;
    const wasDown = this.line.kind === 'polling' || this.line.kind === 'lost';
    this.line = { kind, since: wasDown ? this.line.since : this.good, checked: null };
    this.handlers.onLine(this.line);
  }

  #tick() {
    const now = Date.now();
    const slept = now - this.lastTick > SLEPT_MS;
    this.lastTick = now;
    if (slept && document.visibilityState === 'visible') this.wake();
    else if (this.line.kind === 'live' && document.visibilityState === 'visible') {
      if (now - this.good > SILENCE_MS && !this.checking) this.#check();
    }
  }

  /** After a silence: is the collector still there, and does it still store? */
  async #check() {
    this.checking = true;
    try {
      const health = await get('/health', AbortSignal.timeout(STATE_PATIENCE_MS)).catch((refusal) => {
        if (refusal.status) return { trouble: true };
        throw refusal;
      });
      this.good = new Date();
      const record = this.state?.record;
      const turned = (one, other) => Boolean(one) !== Boolean(other);
      if (turned(health.trouble, record?.trouble) || turned(health.live?.trouble, record?.live?.trouble)) this.refetch();
    } catch {
      this.#down(true);
    } finally {
      this.checking = false;
    }
  }
}

/** Whether advice given on one state of a reading stands for the other. */
function saysTheSame(one, other) {
  const facts = ({ verdict, held, void: voided, counted, pitch_diameter, piece, job }) =>
    JSON.stringify([verdict, held, voided, counted, pitch_diameter, piece, job]);
  return facts(one) === facts(other);
}

function parse(text) {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
