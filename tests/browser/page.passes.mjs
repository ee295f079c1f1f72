// Between passes: the figure to dial, what was dialled, a wire that fell. One part of page.spec.mjs.

import { describe, test } from 'node:test';
import assert from 'node:assert/strict';
import { contrast, inkHeight, overflowing } from './page.helpers.mjs';
import {
  beyondMaximum,
  changeState,
  DESKTOP,
  firstStation,
  measured,
  posted,
  shoot,
  tagsOf,
  withPage,
} from './page.setting.mjs';

/** Begins another piece, to be cut; gives the station then. */
async function freshPiece(page) {
  const station = await firstStation(page);
  const piece = station.tags.piece + 1;
  const { status } = await posted(page, tagsOf(station), { purpose: 'cutting', piece });
  assert.equal(status, 200);
  return firstStation(page);
}

/** Measures before and after a pass that took `taken` mm off, from `over` mm above the maximum. */
const aPass = async (page, station, over) => measured(page, station, beyondMaximum(station, over));
const toldIs = (page, words) =>
  page.waitForFunction((said) => document.querySelector('.cut-told').textContent.includes(said), words);
const notesOf = async (page) => (await page.locator('.cut-notes li').allTextContents()).join(' ');

describe('between passes', () => {
  test('the next pass stands below what is left, its figure to be read from the lathe', () =>
    withPage({}, async (page) => {
      const station = await freshPiece(page);
      await aPass(page, station, 0.5);
      await page.waitForSelector('.cutboard:not(.waiting) .cut-dial');
      const { cut } = await firstStation(page);
      assert.equal(await page.textContent('.cut-dial'), cut.dial);
      assert.equal(await page.textContent('.cut-sentence'), cut.sentence);
      // Letters of 15 minutes of arc at 2 m are 9 mm high, a fifteenth of a window of 135 mm: common
      // practice, no source.
      assert.ok((await inkHeight(page, '.cut-dial')) >= DESKTOP.height / 15);
      const left = await page.locator('[data-part="left"]').boundingBox();
      const board = await page.locator('.cutboard').boundingBox();
      assert.ok(board.y >= left.y + left.height - 1);
      assert.ok((await contrast(page, '.cut-sentence', '.cutboard')) >= 7);
      await page.waitForFunction(
        (said) => document.querySelector('#status').textContent.includes(said),
        cut.sentence,
      );
      await shoot(page, 'page-next-pass.png');
    }));

  test('dialled as said is one press; the reading after it teaches the next advice', () =>
    withPage({}, async (page) => {
      const station = await freshPiece(page);
      await aPass(page, station, 0.62);
      await page.waitForSelector('.cutboard:not(.waiting) .cut-dial');
      const { dial } = (await firstStation(page)).cut;
      const before = await notesOf(page);
      await page.focus('.cut-said');
      await page.keyboard.press('Enter');
      await toldIs(page, `Dialled ${dial}`);
      assert.equal((await firstStation(page)).tags.dialled, dial);
      const top = (await page.locator('.digits').boundingBox()).y;
      // What the compound takes at 29.5 degrees, a little less than was dialled.
      const taken = 2 * Number(dial) * 25.4 * Math.cos((29.5 * Math.PI) / 180) * 0.9;
      await aPass(page, station, 0.62 - taken);
      await page.waitForFunction(
        (old) =>
          [...document.querySelectorAll('.cut-notes li')].some(
            ({ textContent }) => /so far took/.test(textContent) && !old.includes(textContent),
          ),
        before,
      );
      assert.equal((await firstStation(page)).tags.dialled, null);
      assert.ok(await page.isVisible('.cut-said'));
      assert.ok(Math.abs((await page.locator('.digits').boundingBox()).y - top) < 30, 'the digits keep their place');
    }));

  test('another figure is typed; one that is none is refused beside it and stays', () =>
    withPage({}, async (page) => {
      const station = await freshPiece(page);
      await aPass(page, station, 0.55);
      await page.waitForSelector('.cutboard:not(.waiting) .cut-dial');
      for (const [typed, said] of [
        ['0.00x', /not a number/],
        ['-0.004', /0 or more/],
      ]) {
        await page.fill('.cutboard input', typed);
        await page.press('.cutboard input', 'Enter');
        await page.waitForFunction(
          (words) => new RegExp(words).test(document.querySelector('.cutboard .field-problem').textContent),
          said.source,
        );
        assert.equal(await page.inputValue('.cutboard input'), typed);
        assert.equal(await page.getAttribute('.cutboard input', 'aria-invalid'), 'true');
      }
      await page.fill('.cutboard input', '0.0035');
      await page.press('.cutboard input', 'Enter');
      await toldIs(page, 'Dialled 0.0035');
      await page.click('.cut-told button');
      await page.waitForSelector('.cut-said');
      assert.equal((await firstStation(page)).tags.dialled, null);
      for (const width of [320, 390, 768]) {
        await page.setViewportSize({ width, height: 844 });
        assert.deepEqual(await overflowing(page), [], `${width}`);
      }
    }));

  test('a wire that fell is asked about, with what the reading may come from', () =>
    withPage({}, async (page) => {
      const station = await freshPiece(page);
      await aPass(page, station, 0.4);
      await posted(page, tagsOf(station), { dialled: '0.0020' });
      const { entry, held } = await aPass(page, station, -0.05);
      assert.equal(held.reason, 'fall');
      await page.waitForSelector('.causes li');
      const { causes } = await firstStation(page);
      assert.deepEqual(await page.locator('.causes li').allTextContents(), causes);
      assert.ok(causes.length > 0);
      assert.equal(await page.textContent('.answers-question'), held.sentence);
      assert.ok(!(await page.isVisible('.cutboard')), 'no advice on a reading that is doubted');
      await page.waitForFunction(
        (said) => document.querySelector('#status').textContent.includes(said),
        causes[0],
      );
      await shoot(page, 'page-fallen-wire.png');
      await page.click('[data-key="answer-void"]');
      await page.waitForSelector(`[data-key="restore-${entry}"]`);
      await page.waitForSelector('.causes', { state: 'hidden' });
    }));

  test('advice that has not come yet is not shown beside a newer reading', () =>
    withPage({ prepare: (page) => page.route('**/events', (route) => route.abort()) }, async (page) => {
      const station = await freshPiece(page);
      await aPass(page, station, 0.58).catch(() => {});
      await page.waitForSelector('.cutboard:not(.waiting) .cut-dial');
      await page.click('#type-reading');
      await page.selectOption('.typed-unit', station.thread.unit);
      await page.fill('.typed-input', beyondMaximum(station, 0.51));
      // The answer brings the reading alone; the station is not heard of.
      await page.route('**/api/state', (route) => route.abort());
      await page.press('.typed-input', 'Enter');
      await page.waitForSelector('.cutboard.waiting');
      assert.equal(await page.textContent('.cut-figure'), '');
      await page.unroute('**/api/state');
      await page.waitForSelector('.cutboard:not(.waiting) .cut-dial', { timeout: 10000 });
    }));

  test('nothing to dial is said in a word', () => {
    const each = (advice) =>
      withPage(
        {
          prepare: (page) =>
            changeState(page, ({ stations: [station] }) => {
              station.tags.purpose = 'cutting';
              station.causes = [];
              station.cut = { advice, sentence: 'Said so.', slide: 'compound', dial: null, radial: null };
              Object.assign(station.cut, { leaves: null, notes: [], dialled: null });
            }),
        },
        async (page) => {
          assert.match(await page.textContent('.cut-figure'), /CUT NO MORE|SPRING PASS/, advice);
          assert.equal(await page.isVisible('.cut-said'), false);
        },
      );
    return ['below_the_dial', 'at_size', 'already_under'].reduce(
      (done, advice) => done.then(() => each(advice)),
      Promise.resolve(),
    );
  });
});
