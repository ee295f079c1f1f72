// Reads a decimal as people type it. A comma is taken as the decimal mark only
// where it cannot be a thousands mark; nothing is ever guessed.

const PLAIN = /^([+-]?)(\d*)(?:\.(\d*))?$/;

/**
 * Reads typed text. Returns `{ text }` with a point as decimal mark,
 * `{ empty: true }` for nothing typed, or `{ why }`: a sentence for the person.
 */
export function readDecimal(typed) {
  const trimmed = String(typed ?? '').trim();
  if (trimmed === '') return { empty: true };
  const pointed = withPoint(trimmed);
  if (pointed.why) return pointed;
  const parts = PLAIN.exec(pointed.text);
  if (!parts || (parts[2] === '' && !parts[3])) return { why: `“${trimmed}” is not a number.` };
  const digits = parts[2] === '' ? '0' : parts[2];
  const places = parts[3] ? `.${parts[3]}` : '';
  return { text: `${parts[1] === '-' ? '-' : ''}${digits}${places}` };
}

function withPoint(trimmed) {
  const commas = trimmed.split(',').length - 1;
  if (commas === 0) return { text: trimmed };
  if (commas > 1 || trimmed.includes('.')) {
    return { why: 'Use one decimal mark and no thousands marks.' };
  }
  const [before, after] = trimmed.replace(/^[+-]/, '').split(',');
  if (after.length === 3 && /^[1-9]\d{0,2}$/.test(before)) {
    return { why: `“${trimmed}” can be read two ways. Type it with a point as the decimal mark.` };
  }
  return { text: trimmed.replace(',', '.') };
}
