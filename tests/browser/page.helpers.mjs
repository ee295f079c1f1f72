// What the page's tests measure in the browser.

/** The height of the digits' ink, in CSS pixels. */
export function inkHeight(page, selector) {
  return page.evaluate((wanted) => {
    const element = document.querySelector(wanted);
    const style = getComputedStyle(element);
    const canvas = document.createElement('canvas').getContext('2d');
    canvas.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
    const { actualBoundingBoxAscent, actualBoundingBoxDescent } = canvas.measureText('0');
    return actualBoundingBoxAscent + actualBoundingBoxDescent;
  }, selector);
}

/** Elements that stick out of the window sideways, and the page itself when it scrolls. */
export function overflowing(page) {
  return page.evaluate(() => {
    const out = [...document.querySelectorAll('body *')]
      .filter((each) => each.checkVisibility() && !each.closest('.unseen, .skip, thead, svg'))
      .filter((each) => each.getBoundingClientRect().right > innerWidth + 1)
      .map((each) => `${each.tagName}.${each.className}`);
    return document.documentElement.scrollWidth > innerWidth ? ['the page scrolls', ...out] : out;
  });
}

/** WCAG 2.2 contrast ratio of an element's text against another's background. */
export function contrast(page, text, background) {
  return page.evaluate(
    ([front, back]) => {
      const light = (colour) => {
        const [r, g, b] = colour
          .match(/[\d.]+/g)
          .slice(0, 3)
          .map((part) => part / 255)
          .map((part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4));
        return 0.2126 * r + 0.7152 * g + 0.0722 * b;
      };
      const one = light(getComputedStyle(document.querySelector(front)).color);
      const other = light(getComputedStyle(document.querySelector(back)).backgroundColor);
      return (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05);
    },
    [text, background],
  );
}

/** The id of the element that has the focus. */
export function focusOn(page) {
  return page.evaluate(() => document.activeElement.id);
}

/** Presses Tab until the element with this id has the focus. */
export async function tabTo(page, id) {
  for (let presses = 0; presses < 60; presses += 1) {
    await page.keyboard.press('Tab');
    if ((await focusOn(page)) === id) return;
  }
  throw new Error(`Tab never reached ${id}`);
}
