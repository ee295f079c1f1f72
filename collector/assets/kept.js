// Choices that this browser keeps. Where it keeps nothing (as in a private window) a
// choice holds as long as the page.

const held = new Map();

/** What was chosen, if it is one of `known`; else the first of them. */
export function kept(name, known) {
  let said = held.get(name);
  try {
    said = localStorage.getItem(name) ?? said;
  } catch {
    // What this page holds itself is all there is.
  }
  return known.includes(said) ? said : known[0];
}

/** Keeps a choice. */
export function keep(name, said) {
  held.set(name, said);
  try {
    localStorage.setItem(name, said);
  } catch {
    // It holds until the page is left.
  }
}
