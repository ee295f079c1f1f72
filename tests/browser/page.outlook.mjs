// Where the last pieces lead, beside the verdict and in full below. One part of page.spec.mjs.

import { after, before, describe, test } from 'node:test';
import assert from 'node:assert/strict';
import { overflowing } from './page.helpers.mjs';
import { jobsOfTheThread, PHONE, posted, serious, shoot, stamp, withPage } from './page.setting.mjs';

const JOB = `J-W-${stamp}`;

let piece;
let goBack;

const LINE = '[data-part="outlook"]';
const PANEL = '[data-part="outlook-panel"]';
const lineSays = (page, words) =>
  page.waitForFunction(([where, wanted]) => document.querySelector(where).textContent.includes(wanted), [LINE, words]);
/** Down from nine tenths of the window, a twentieth a piece, with a little up and down. */
const worn = (number) => 0.9 - 0.05 * number + [0, 0.01, -0.01][number % 3];

describe('where the last pieces lead', () => {
  before(() =>
    withPage({}, async (page) => {
      ({ piece, goBack } = await jobsOfTheThread(page, [JOB]));
    }),
  );
  after(() => withPage({}, (page) => goBack(page)));

  test('nothing is said of a few pieces; then how many are left, and when it is time', () =>
    withPage({}, async (page, seen) => {
      for (let number = 1; number < 10; number += 1) await piece(page, JOB, number, worn(number));
      await page.waitForFunction(() => document.querySelector('[data-part="whose"]').textContent === 'piece 9');
      await page.waitForTimeout(1500);
      assert.ok(await page.isHidden(LINE));
      assert.ok(await page.isHidden(PANEL));
      await piece(page, JOB, 10, worn(10));
      await lineSays(page, 'pieces left');
      const told = await page.evaluate(
        (job) => fetch(`/api/outlook?job=${job}&feature=stud%20end`).then((answer) => answer.json()),
        JOB,
      );
      assert.ok(told.left > 2 && told.left < 8, JSON.stringify(told));
      assert.equal(await page.textContent(LINE), told.sentences[0]);
      assert.match(await page.textContent(PANEL), /By the last 10 pieces the diameter shrinks by/);
      assert.ok(await page.locator(`${LINE}.urgent`).isVisible());
      // Read out, in the one place for it.
      await page.waitForFunction((words) => document.querySelector('#status').textContent === words, told.sentences[0]);
      assert.deepEqual(await serious(page), []);
      assert.deepEqual(seen.complaints, []);
      await shoot(page, 'page-outlook.png');
      const { href } = await page.locator(`${PANEL} a`).evaluate(({ href }) => ({ href }));
      assert.ok(href.includes(`findings.html?job=${JOB}`), href);
    }));

  test('a void takes a piece out, another tool begins afresh, another job leaves nothing behind', () =>
    withPage({ viewport: PHONE, colorScheme: 'dark' }, async (page) => {
      const last = await piece(page, JOB, 11, worn(11));
      await lineSays(page, 'left');
      await page.locator(LINE).scrollIntoViewIfNeeded();
      assert.deepEqual(await overflowing(page), []);
      await shoot(page, 'page-outlook-phone.png');
      const before = await page.textContent(PANEL);
      assert.match(before, /By the last 11 pieces/);
      await posted(page, `/api/readings/${last.entry}/void`, { reason: 'wire slipped', by: '' });
      await page.waitForFunction(([where]) => document.querySelector(where).textContent.includes('By the last 10 pieces'), [PANEL]);
      const next = await piece(page, JOB, 12, 0.7);
      await posted(page, `/api/readings/${next.entry}/comment`, { text: 'new tool', by: '' });
      await page.waitForSelector(PANEL, { state: 'hidden' });
      assert.ok(await page.isHidden(LINE));
    }));
});
