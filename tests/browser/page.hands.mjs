// What hands do: pieces, readings, void, answers, keys. One part of page.spec.mjs.

import { describe, test } from 'node:test';
import assert from 'node:assert/strict';
import { focusOn, tabTo } from './page.helpers.mjs';
import {
  changeState,
  firstRow,
  freshSize,
  posted,
  readingTo,
  shoot,
  stateOf,
  withPage,
} from './page.setting.mjs';

describe('hands', () => {
  test('the next piece by keyboard alone, and back', () =>
    withPage({}, async (page) => {
      const piece = (await stateOf(page)).stations[0].tags.piece;
      await tabTo(page, 'next-piece');
      await page.keyboard.press('Enter');
      await page.waitForFunction(
        (wanted) => document.querySelector('#next-piece').textContent.includes(`to piece ${wanted}`),
        piece + 2,
      );
      assert.equal(await focusOn(page), 'next-piece');
      assert.equal((await stateOf(page)).stations[0].tags.piece, piece + 1);
      await tabTo(page, 'piece-back');
      await page.keyboard.press('Enter');
      await page.waitForFunction(
        (wanted) => document.querySelector('#next-piece').textContent.includes(`to piece ${wanted}`),
        piece + 1,
      );
    }));

  test('single keys do nothing until they are switched on', () =>
    withPage({}, async (page) => {
      await page.keyboard.press('v');
      assert.equal(await page.locator('[data-part="drawer"]').isVisible(), false);
      await page.click('#shortcuts');
      await page.keyboard.press('v');
      assert.equal(await page.locator('[data-part="drawer"]').isVisible(), true);
    }));

  test('a reading typed in is read out without moving the focus, then voided in two presses and restored', () =>
    withPage({}, async (page) => {
      const [station] = (await stateOf(page)).stations;
      await page.click('#type-reading');
      await page.selectOption('.typed-unit', station.thread.unit);
      await page.focus('.typed-input');
      await page.keyboard.type(freshSize(station));
      assert.match(await page.textContent('.echo'), /^Understood: /);
      await page.keyboard.press('Enter');
      await page.waitForFunction(() => document.querySelector('#status').textContent.includes('piece'));
      assert.equal(await page.locator('[role="status"]').count(), 1);
      assert.ok(
        await page.evaluate(() => document.activeElement.classList.contains('typed-input')),
        'focus stays in the field',
      );
      assert.match(await page.textContent('.recent tbody tr:first-child'), /typed in/);

      await page.click('#void-last');
      await page.click('.drawer-buttons button:first-child');
      await page.waitForSelector('.recent tbody tr:first-child s');
      assert.match(await page.textContent('.recent tbody tr:first-child'), /void: /);
      assert.notEqual((await stateOf(page)).stations[0].recent[0].void, null);
      await page.click('.recent tbody tr:first-child button:first-child');
      await page.waitForFunction(() => !document.querySelector('.recent tbody tr:first-child s'));
    }));

  test('the last reading is voided with two presses of Enter and restored by keyboard', () =>
    withPage({}, async (page) => {
      const [station] = (await stateOf(page)).stations;
      const { status, body } = await posted(page, ...readingTo(station, freshSize(station)));
      assert.equal(status, 200);
      await page.waitForSelector(`[data-key="void-${body.entry}"]`);
      await tabTo(page, 'void-last');
      await page.keyboard.press('Enter');
      await page.keyboard.press('Enter');
      await page.waitForSelector(`${firstRow} s`);
      assert.notEqual((await stateOf(page)).stations[0].last.void, null);
      assert.equal(await page.getAttribute('[data-part="verdict"]', 'data-verdict'), 'void');
      await page.focus(`[data-key="restore-${body.entry}"]`);
      await page.keyboard.press('Enter');
      await page.waitForFunction((row) => !document.querySelector(`${row} s`), firstRow);
      assert.equal((await stateOf(page)).stations[0].last.void, null);
    }));

  test('a reading that is held asks, and an answer is one press', () =>
    withPage({}, async (page) => {
      const [station] = (await stateOf(page)).stations;
      const size = freshSize(station);
      const otherUnit = station.thread.unit === 'in' ? 'mm' : 'in';
      // The digits of one unit under the name of the other: the collector asks for the unit.
      const { body } = await posted(page, ...readingTo(station, size, otherUnit));
      assert.equal(body.held.reason, 'unit');
      await page.waitForSelector('.answers-buttons button');
      assert.equal(await page.getAttribute('[data-part="verdict"]', 'data-verdict'), 'held');
      assert.equal(await page.textContent('.answers-question'), body.held.sentence);
      assert.deepEqual(
        await page.locator('.answers-buttons button').allTextContents(),
        body.held.answers.map(({ label }) => label),
      );
      await shoot(page, 'page-held.png');
      await page.click('[data-key="answer-other_unit"]');
      await page.waitForSelector('[data-part="verdict"][data-verdict="pass"]');
      const { last } = (await stateOf(page)).stations[0];
      assert.deepEqual([last.held, last.unit, last.verdict], [null, station.thread.unit, 'pass']);
      await page.waitForSelector('[data-part="answers"]', { state: 'hidden' });
    }));

  test('a held reading that another one followed is answered in its row', () =>
    withPage({}, async (page) => {
      const [station] = (await stateOf(page)).stations;
      const otherUnit = station.thread.unit === 'in' ? 'mm' : 'in';
      const { body } = await posted(page, ...readingTo(station, freshSize(station), otherUnit));
      await posted(page, ...readingTo(station, freshSize(station)));
      await page.click(`[data-key="answer-${body.entry}-void"]`);
      await page.waitForSelector(`[data-key="restore-${body.entry}"]`);
      const { recent } = (await stateOf(page)).stations[0];
      assert.notEqual(recent.find(({ entry }) => entry === body.entry).void, null);
    }));

  test('a button that bounces shows the reading it repeats, and void last means that one', () =>
    withPage({}, async (page) => {
      const [station] = (await stateOf(page)).stations;
      const size = freshSize(station);
      const first = await posted(page, ...readingTo(station, size));
      const repeat = structuredClone(first.body);
      Object.assign(repeat, { entry: first.body.entry + 1, counted: false, flags: ['double_press'] });
      await changeState(page, ({ stations }) => {
        stations[0].last = repeat;
        stations[0].recent.unshift(repeat);
      });
      await page.reload();
      await page.waitForSelector('[data-part="digits"]:not(:empty)');
      assert.equal(await page.locator('.verdict.uncounted').count(), 0);
      assert.match(await page.textContent('[data-part="notes"]'), /Pressed twice/);
      await page.click('#void-last');
      await page.click('.drawer-buttons button:first-child');
      await page.waitForSelector(`[data-key="restore-${first.body.entry}"]`);
    }));

  test('a comma is taken as decimal mark only where it can be nothing else', () =>
    withPage({}, async (page) => {
      await page.click('#type-reading');
      for (const [typed, echo] of [
        ['0,5123', /0\.5123/],
        ['1,07615', /1\.07615/],
        ['1,076', /two ways/],
        ['1,234.5', /one decimal mark/],
        ['12a', /not a number/],
      ]) {
        await page.fill('.typed-input', typed);
        assert.match(await page.textContent('.echo'), echo, typed);
      }
      const entries = (await stateOf(page)).record.entries;
      await page.fill('.typed-input', '1,076');
      await page.keyboard.press('Enter');
      assert.equal(await page.getAttribute('.typed-input', 'aria-invalid'), 'true');
      assert.equal((await stateOf(page)).record.entries, entries);
    }));
});
