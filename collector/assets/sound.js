// Sounds told apart by rhythm, not only by pitch. Off until someone asks for
// them; every sound goes with something that is also visible.

// Each beat: start and length in seconds, pitch in hertz.
const RHYTHMS = {
  accepted: [[0, 0.12, 660]],
  refused: [
    [0, 0.1, 440],
    [0.16, 0.1, 440],
    [0.32, 0.35, 330],
  ],
  uncounted: [
    [0, 0.06, 660],
    [0.12, 0.06, 660],
  ],
  waiting: [
    [0, 0.12, 520],
    [0.45, 0.12, 520],
  ],
  not_stored: [
    [0, 0.5, 220],
    [0.7, 0.5, 220],
    [1.4, 0.5, 220],
  ],
};
const LOUDNESS = 0.25;

let context = null;

/** Switches sound on or off; browsers allow it only from a press. */
export function switchSound(on) {
  if (!on) {
    context?.close();
    context = null;
    return;
  }
  context = new AudioContext();
  play('accepted');
}

/** Plays a rhythm by name, when sound is on. */
export function play(name) {
  if (!context) return;
  const beats = RHYTHMS[name] ?? [];
  for (const [start, length, pitch] of beats) beat(context.currentTime + 0.02 + start, length, pitch);
}

const REFUSED = ['fail_under', 'fail_over', 'zero_off'];

/** The rhythm that goes with a reading. */
export function rhythmOf(reading) {
  if (reading.held) return 'waiting';
  if (reading.purpose !== 'study' && REFUSED.includes(reading.verdict)) return 'refused';
  if (reading.verdict === 'zero_within') return 'accepted';
  return reading.counted === false ? 'uncounted' : 'accepted';
}

function beat(start, length, pitch) {
  const tone = new OscillatorNode(context, { type: 'triangle', frequency: pitch });
  const loudness = new GainNode(context, { gain: 0 });
  loudness.gain.setValueAtTime(0, start);
  loudness.gain.linearRampToValueAtTime(LOUDNESS, start + 0.01);
  loudness.gain.setValueAtTime(LOUDNESS, start + length - 0.02);
  loudness.gain.linearRampToValueAtTime(0, start + length);
  tone.connect(loudness).connect(context.destination);
  tone.start(start);
  tone.stop(start + length);
}
