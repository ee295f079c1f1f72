// Talks to the collector. Every refusal becomes a `Refusal` with a sentence to show.

const PATIENCE_MS = 5000;

/** What the collector (or the lack of one) answered instead of doing it. */
export class Refusal extends Error {
  constructor(status, body) {
    super(body.error ?? `The collector answered ${status}.`);
    this.status = status;
    this.code = body.code ?? '';
    this.hint = body.hint ?? '';
    this.fields = body.fields ?? {};
    this.at = Number.isInteger(body.at) ? body.at : null;
  }

  /** The sentence and, where there is one, what to do next. */
  get sentence() {
    return this.hint ? `${this.message} ${this.hint}` : this.message;
  }
}

async function ask(path, options) {
  let answer;
  try {
    answer = await fetch(path, { cache: 'no-store', ...options });
  } catch (trouble) {
    if (options.signal?.aborted && trouble.name === 'AbortError') throw trouble;
    throw new Refusal(0, {
      error: 'No answer from the collector.',
      hint: 'Check that it runs and that this device can reach it, then try again.',
    });
  }
  const body = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Refusal(answer.status, body ?? {});
  return body;
}

/** Reads something from the collector. */
export function get(path, signal) {
  return ask(path, { signal: signal ?? AbortSignal.timeout(PATIENCE_MS) });
}

/** Asks the collector to do something. */
export function post(path, body, signal) {
  return ask(path, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
    signal: signal ?? AbortSignal.timeout(PATIENCE_MS * 2),
  });
}

/** The path of a station's own address. */
export function stationPath(name, what) {
  return `/api/stations/${encodeURIComponent(name)}/${what}`;
}

/** The path of a stored reading's own address. */
export function readingPath(reading, what) {
  return `/api/readings/${encodeURIComponent(reading.entry)}/${what}`;
}
