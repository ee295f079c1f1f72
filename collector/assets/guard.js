// Keeps text from being run as a formula by a spreadsheet, by the rule of the CSV: an
// apostrophe before text that begins with one of the signs, and before an apostrophe.

const RISKY = /^ *[=+\-@\t\r\n\0'＝＋－＠]/;

/** The text, guarded where it needs to be. */
export function guarded(text) {
  return RISKY.test(text) ? `'${text}` : text;
}
