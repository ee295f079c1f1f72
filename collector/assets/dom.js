// Small helpers for building the page. Text from the collector goes in through
// textContent only, so that whatever a job or a frame holds stays text.

const SVG = 'http://www.w3.org/2000/svg';

/** Builds an element. `on…` keys become listeners, `text` the text, the rest attributes. */
export function make(tag, properties = {}, ...children) {
  const element = document.createElement(tag);
  apply(element, properties);
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

/** Builds an SVG element with the given attributes. */
export function makeSvg(tag, attributes = {}, ...children) {
  const element = document.createElementNS(SVG, tag);
  apply(element, attributes);
  element.append(...children);
  return element;
}

/** Text without the marks that turn the direction of what stands beside it; each leaves a visible trace. */
export function plain(text) {
  return String(text ?? '').replace(/[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]/g, '\ufffd');
}

function apply(element, properties) {
  for (const [name, value] of Object.entries(properties)) {
    if (value === null || value === undefined || value === false) continue;
    if (name === 'text') element.textContent = plain(value);
    else if (name.startsWith('on')) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? '' : value);
  }
}

/** Sets text only when it differs, so that nothing is announced or selected anew. */
export function setText(element, text) {
  const wanted = plain(text);
  if (element.textContent !== wanted) element.textContent = wanted;
}

/** Shows or hides an element. */
export function show(element, visible) {
  element.hidden = !visible;
}

const signatures = new WeakMap();

/**
 * Rebuilds a container only when `facts` changed since last time. The keyboard
 * focus stays on the child with the same `data-key`.
 */
export function refill(container, facts, build) {
  const signature = JSON.stringify(facts);
  if (signatures.get(container) === signature) return;
  signatures.set(container, signature);
  const focused = container.contains(document.activeElement)
    ? document.activeElement.closest('[data-key]')?.dataset.key
    : null;
  container.replaceChildren(...build());
  if (!focused) return;
  const again = [...container.querySelectorAll('[data-key]')].find((each) => each.dataset.key === focused);
  again?.focus({ preventScroll: true });
}

/** The parts of an element marked with `data-part`, by name. */
export function partsOf(root) {
  const parts = {};
  for (const element of root.querySelectorAll('[data-part]')) parts[element.dataset.part] = element;
  return parts;
}

const canvas = document.createElement('canvas').getContext('2d');

/** How wide `text` is in the element's own typeface, in em. */
export function widthInEms(text, element) {
  const style = getComputedStyle(element);
  canvas.font = `${style.fontWeight} 100px ${style.fontFamily}`;
  return canvas.measureText(text).width / 100;
}

let lastId = 0;

/** A fresh id for tying labels and messages to their fields. */
export function freshId(stem) {
  lastId += 1;
  return `${stem}-${lastId}`;
}
