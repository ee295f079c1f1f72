// Studies of masters: linearity and stability planned in their form and walked through. One part of page.spec.mjs.

import { describe, test } from 'node:test';
import assert from 'node:assert/strict';
import { overflowing } from './page.helpers.mjs';
import { firstStation, PHONE, posted, readingTo, serious, shoot, stamp, stateOf, tagsOf, URL_OF_PAGE, withPage } from './page.setting.mjs';

const LINEAR = `linearity ${stamp}`;
const STABLE = `stability ${stamp}`;
const boardSays = (page, words) =>
  page.waitForFunction(
    (wanted) => {
      const board = document.querySelector('[data-part="study"]');
      return !board.hidden && board.textContent.includes(wanted);
    },
    words,
  );

const master = (page, at, name) => page.locator('.sheet .master').nth(at).locator(`[name="${name}"]`);
const sizeOf = async (page) => {
  const { study } = await firstStation(page);
  return study.next.master.name.replace('SM ', '');
};

/** Stores a reading, and waits until the board shows it. */
async function press(page, text, unit, words) {
  const { status, body } = await posted(page, ...readingTo(await firstStation(page), text, unit));
  assert.equal(status, 200, JSON.stringify(body));
  await boardSays(page, words);
  return body;
}

describe('studies of masters', () => {
  test('linearity is planned master by master; refusals stand beside their fields', () =>
    withPage({}, async (page) => {
      await page.click('#new-study');
      await page.check('.sheet input[value="linearity"]');
      assert.equal(await page.isVisible('.sheet textarea[name="pieces"]'), false);
      assert.equal(await page.isVisible('.sheet select[name="job"]'), false);
      assert.equal(await page.inputValue('.sheet select[name="instrument"]'), (await firstStation(page)).instrument);
      await page.fill('.sheet input[name="study"]', LINEAR);
      await page.fill('.sheet input[name="rounds"]', '2');
      await page.click('[data-key="add-master"]');
      for (const [at, size] of ['10.0002', 'ten', '30.0001', '39.9999'].entries()) {
        await master(page, at, 'master').fill(`SM ${(at + 1) * 10}`);
        await master(page, at, 'size').fill(size);
        await master(page, at, 'unit').selectOption('mm');
      }
      await master(page, 3, 'certificate').fill('C-40');
      assert.match(await page.textContent('.study-sum'), /4 masters × 2 rounds: 8 readings/);
      await page.click('.sheet .primary');
      await page.waitForSelector('.sheet .master:nth-child(2) input[name="size"][aria-invalid="true"]');
      await master(page, 1, 'size').fill('10.0002');
      await page.click('.sheet .primary');
      await page.waitForFunction(() =>
        document.querySelector('.sheet .master:nth-child(2)').textContent.includes('has the same size'),
      );
      assert.equal(await master(page, 3, 'certificate').inputValue(), 'C-40');
      await master(page, 1, 'size').fill('20.0000');
      assert.deepEqual(await overflowing(page), []);
      assert.deepEqual(await serious(page), []);
      await shoot(page, 'page-masters-form.png');
      await page.click('.sheet .primary');
      await boardSays(page, LINEAR);
      const { studies, stations } = await stateOf(page);
      const stored = studies.find(({ study }) => study === LINEAR);
      assert.deepEqual(
        [stored.kind, stored.over, stored.masters.length, stored.masters[1].size, stored.masters[3].certificate],
        ['linearity', 'plain', 4, '20.0000', 'C-40'],
      );
      assert.equal(stations[0].study.plain, true);
    }));

  test('the board says which master and its nominal size, never the certified one', () =>
    withPage({}, async (page) => {
      const size = await sizeOf(page);
      await boardSays(page, `SM ${size}`);
      const board = await page.textContent('[data-part="study"]');
      assert.match(board, new RegExp(`Nominal ${size}\\.00 mm`));
      assert.match(board, /Round 1 of 2/);
      assert.ok(!/0002|0001|9999/.test(board), board);
      await press(page, `${Number(size) + 5}.001`, 'mm', 'not the master asked for');
      await boardSays(page, '0 of 8');
      const read = await press(page, `${size}.002`, 'mm', '1 of 8');
      assert.deepEqual([read.job, read.counted], [null, true]);
      assert.match(await page.textContent('[data-part="quantity"]'), /Plain master/);
      await boardSays(page, 'Change master');
      await shoot(page, 'page-masters.png');
    }));

  test('finished: bias over size with its picture, and what is known is said at the job', () =>
    withPage({}, async (page, seen) => {
      for (let taken = 1; taken < 8; taken += 1) {
        const size = await sizeOf(page);
        const text = `${size}.00${1 + Math.round(Number(size) / 10) + (taken % 2)}`;
        await press(page, text, 'mm', taken < 7 ? `${taken + 1} of 8` : 'FINISHED');
      }
      await page.click('[data-part="study"] a');
      await page.waitForSelector('.report-first');
      assert.equal(await page.textContent('.report-answer h2'), 'Does the bias change with size?');
      await page.waitForFunction(() => {
        const image = document.querySelector('.report-picture img');
        return image?.complete && image.naturalWidth > 100;
      });
      const captions = await page.locator('.report-picture figcaption').allTextContents();
      assert.ok(captions.some((each) => each.startsWith('Bias over size')), captions.join());
      const report = await page.textContent('.report-body');
      for (const words of ['What the line is worth', 'certificate C-40', 'Nothing is corrected for it'])
        assert.ok(report.includes(words), words);
      assert.deepEqual(await serious(page), []);
      assert.deepEqual(seen.complaints, []);
      await shoot(page, 'page-masters-result.png');
      await page.click('#back');
      await page.waitForSelector('[data-part="digits"]:not(:empty)');
      await page.click('#study-pause');
      await page.waitForSelector('[data-part="study"]', { state: 'hidden' });
      const { bias } = await firstStation(page);
      const said = bias.find((each) => each.includes(LINEAR));
      assert.ok(said, 'what is known at the size of the job');
      await page.waitForFunction(
        (words) => document.querySelector('[data-part="trust"]').textContent.includes(words),
        said,
      );
    }));

  test('stability on a phone: visits without an end, then nothing more until another day', () =>
    withPage({ viewport: PHONE }, async (page) => {
      await page.click('#new-study');
      await page.check('.sheet input[value="stability"]');
      await page.fill('.sheet input[name="study"]', STABLE);
      await page.fill('.sheet input[name="rounds"]', '2');
      assert.match(await page.textContent('.study-sum'), /1 master, 2 readings a visit, every 7 days, without an end/);
      assert.equal(await page.locator('.sheet .master').count(), 1);
      await master(page, 0, 'master').fill('SM 25');
      await master(page, 0, 'size').fill('25.0000');
      await master(page, 0, 'unit').selectOption('mm');
      await page.fill('.sheet input[name="every_days"]', '0');
      assert.deepEqual(await overflowing(page), []);
      await page.click('.sheet .primary');
      await page.waitForSelector('.sheet input[name="every_days"][aria-invalid="true"]');
      await page.fill('.sheet input[name="every_days"]', '7');
      await page.click('.sheet .primary');
      await boardSays(page, 'The first visit.');
      assert.match(await page.textContent('[data-part="study"]'), /Visit 1\s*Reading 1 of 2/);
      await press(page, '25.001', 'mm', 'visit 1: 1 of 2');
      await press(page, '25.002', 'mm', 'DONE FOR NOW');
      const { study } = await firstStation(page);
      await boardSays(page, `The next is due ${study.visit.due}`);
      assert.deepEqual(await overflowing(page), []);
      assert.deepEqual(await serious(page), []);
      await shoot(page, 'page-visits.png');
      await press(page, '25.003', 'mm', 'it is no part of it');
      await page.goto(`${URL_OF_PAGE}findings.html?study=${encodeURIComponent(STABLE)}`);
      await page.waitForSelector('.report-far');
      assert.match(await page.textContent('.report-far'), /Visits so far: 1, with 2 readings/);
      const edge = (name, side) => page.$eval(name, (element, at) => element.getBoundingClientRect()[at], side);
      assert.ok((await edge('.report-far', 'top')) >= (await edge('.report-about', 'bottom')), 'one line below the other');
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      assert.ok(wide <= 0, `${wide} px too wide`);
      await page.goto(URL_OF_PAGE);
      await page.waitForSelector('[data-part="digits"]:not(:empty)');
      await posted(page, tagsOf(await firstStation(page)), { study: null });
      await page.waitForFunction(
        (words) => document.querySelector('select[data-key="study"]')?.textContent.includes(words),
        `${STABLE} · ${(await firstStation(page)).instrument} · due ${study.visit.due}`,
      );
    }));
});
