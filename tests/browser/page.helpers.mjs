// What the page's tests measure in the browser, and the gate its traffic goes through.

import http from 'node:http';

/**
 * A proxy for the browser that lets nothing through but requests to one address.
 * `turnedAway` lists what asked for another; `mode` is `open`, `frozen` (connections
 * stay, nothing passes any more) or `cut` (connections end).
 */
export async function gateTo(address) {
  const { host } = new URL(address);
  const gate = { mode: 'open', turnedAway: [] };
  const passing = new Set();
  const server = http.createServer((question, answer) => {
    const wanted = new URL(question.url);
    if (wanted.host !== host) {
      gate.turnedAway.push(wanted.host);
      return answer.writeHead(403).end();
    }
    if (gate.mode === 'frozen') return undefined;
    if (gate.mode === 'cut') return question.socket.destroy();
    const { method, headers } = question;
    const onward = http.request(wanted, { method, headers }, (reply) => {
      answer.writeHead(reply.statusCode, reply.headers);
      reply.on('data', (piece) => gate.mode !== 'frozen' && answer.write(piece));
      reply.on('end', () => gate.mode !== 'frozen' && answer.end());
      reply.on('error', () => answer.destroy());
    });
    onward.on('error', () => answer.destroy());
    passing.add(answer);
    answer.on('close', () => {
      passing.delete(answer);
      onward.destroy();
    });
    return question.pipe(onward);
  });
  server.on('connect', (question, socket) => {
    gate.turnedAway.push(question.url);
    socket.destroy();
  });
  await new Promise((ready) => server.listen(0, '127.0.0.1', ready));
  gate.address = `http://127.0.0.1:${server.address().port}`;
  gate.cut = () => {
    gate.mode = 'cut';
    for (const answer of passing) answer.destroy();
  };
  gate.close = () => {
    server.closeAllConnections();
    server.close();
  };
  return gate;
}

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
