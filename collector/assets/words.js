// Words for what the collector says in codes: flags, units, times, sentences.

const FLAGS = {
  double_press: 'double press',
  closed_jaws: 'jaws closed',
  empty: 'nothing between the jaws',
  out_of_window: 'far from what this job expects',
  overdue_instrument: 'instrument overdue',
  overdue_wires: 'wires overdue',
  waited_in_port: 'waited in the port',
  lead_angle: 'lead angle matters',
  unregistered: 'instrument not registered',
  clock_went_back: 'clock went back',
  unattributed: 'unattributed',
  typed: 'typed in',
  zero_off: 'zero was off',
  zero_old: 'no recent zero check',
  corrected: 'corrected',
  beyond_elastic: 'force may dent',
  no_zero: 'no zero check',
  study_done: 'the study asked for none',
  other_master: 'not the master asked for',
};

const PURPOSES = { cutting: 'cutting', inspecting: 'inspecting', zero: 'zero check' };

/** What readings are taken for, in words. */
export function purposeWords(purpose) {
  return PURPOSES[purpose] ?? String(purpose ?? '');
}

/** A flag in words; one not known here is shown with its underscores opened. */
export function flagWords(flag) {
  return FLAGS[flag] ?? String(flag).replaceAll('_', ' ');
}

/** The unit as it is spoken. */
export function unitSpoken(unit) {
  return unit === 'in' ? 'inch' : unit === 'mm' ? 'millimetres' : unit;
}

/** The hour as the record wrote it (the shop's clock, not this device's). */
export function clockOf(stamp) {
  const found = /T(\d\d:\d\d:\d\d)/.exec(stamp ?? '');
  return found ? found[1] : String(stamp ?? '');
}

/** The day as the record wrote it. */
export function dayOf(stamp) {
  return String(stamp ?? '').slice(0, 10);
}

/** This device's clock, for what this page itself noticed. */
export function clockHere(date) {
  return date.toLocaleTimeString([], {
    hour: '2-digit',
    minute: '2-digit',
    second: '2-digit',
    hour12: false,
  });
}

/** A time span in words. */
export function spanWords(seconds) {
  if (seconds < 90) return `${Math.max(0, Math.round(seconds))} s`;
  if (seconds < 5400) return `${Math.round(seconds / 60)} min`;
  return `${Math.floor(seconds / 3600)} h ${Math.round((seconds % 3600) / 60)} min`;
}

/** Two limits with their unit, or nothing. */
export function limitsWords(limits, unit) {
  return limits ? `${limits.min} to ${limits.max} ${unit ?? ''}`.trim() : '';
}

/** The value a reading is read by: its pitch diameter, or what the instrument showed. */
export function mainValue(reading) {
  if (reading.pitch_diameter && reading.purpose !== 'zero') {
    return { quantity: 'Pitch diameter', text: reading.pitch_diameter };
  }
  const plain = isOfPlainMaster(reading) ? 'Plain master' : 'Over wires (M)';
  const quantity = reading.purpose === 'zero' ? 'Zero check' : plain;
  return { quantity, text: reading.over_wires ?? reading.text };
}

/** Whether a reading is of a study over plain masters, which belong to no job. */
export function isOfPlainMaster(reading) {
  return reading.purpose === 'study' && !reading.job;
}

/** One reading as a sentence, for the live region; `more` are whole sentences that follow. */
export function readingSentence(reading, verdict, more = []) {
  const value = mainValue(reading);
  const zero = reading.purpose === 'zero';
  const said = [
    zero || reading.purpose === 'study' ? `${reading.station}` : `${reading.station}: piece ${reading.piece ?? 'not set'}`,
    `${value.quantity.toLowerCase()} ${value.text} ${unitSpoken(reading.unit)}`,
    verdict.word,
    reading.purpose === 'study' ? '' : reading.left,
    reading.counted === false && !reading.held && !zero ? 'not counted' : '',
    ...(reading.flags ?? []).filter((flag) => flag !== 'corrected').map(flagWords),
  ];
  const first = said.filter(Boolean).join(', ').replace(/\.$/, '');
  return [`${first}.`, reading.held?.sentence, ...more].filter(Boolean).join(' ');
}

/** What was added to a reading, one amount after the other, or an empty string where nothing shows. */
export function correctionWords(reading) {
  return (reading.corrections ?? [])
    .filter(({ amount }) => Number(amount) !== 0)
    .map(({ words, amount }) => `${words} ${amount} ${reading.unit}`)
    .join(' · ');
}

/** Who is at the station, or null when nobody is or the time has run out. */
export function operatorNow(tags, now = new Date()) {
  if (!tags?.operator) return null;
  if (tags.operator_until && new Date(tags.operator_until) <= now) return null;
  return tags.operator;
}

/** All that was added to a reading, as one amount, or an empty string for nothing. */
export function correctionSum(reading) {
  const amounts = (reading.corrections ?? []).map(({ amount }) => String(amount));
  const places = Math.max(0, ...amounts.map((amount) => (amount.split('.')[1] ?? '').length));
  const sum = amounts.reduce((total, amount) => total + Number(amount), 0);
  const text = sum.toFixed(places);
  return Number(text) ? `${sum > 0 ? '+' : ''}${text} ${reading.unit}` : '';
}
