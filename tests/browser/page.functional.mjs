// The functional check beside the reading: two presses where the gauge is known. One part of page.spec.mjs.

import { describe, test } from 'node:test';
import assert from 'node:assert/strict';
import { firstStation, measured, posted, shoot, stamp, stateOf, tagsOf, withPage } from './page.setting.mjs';

const OPEN = '[data-part="functional"] button';
const WORDS = '[data-part="functional"] .functional-words';
const ringName = `RING-${stamp}`;

const shown = (page, part) =>
  page.waitForFunction(
    ([selector, wanted]) => document.querySelector(selector)?.textContent.includes(wanted),
    [WORDS, part],
  );

async function press(page, text) {
  await page.click(`[data-part="drawer"] button:text-is("${text}")`);
  await page.waitForFunction(() => document.querySelector('[data-part="drawer"]').hidden);
}

describe('the functional check', () => {
  test('is recorded beside the reading, at a telephone, and nothing scrolls sideways', () =>
    withPage({ viewport: { width: 390, height: 844 } }, async (page) => {
      const { jobs, stations } = await stateOf(page);
      const own = jobs.find(({ job }) => job === stations[0].tags.job);
      const job = `J-F-${stamp}`;
      await posted(page, '/api/jobs', { job, features: [own.features[0]], by: '' });
      const tags = { job, purpose: 'inspecting', operator: 'AK', reason: 'for this test' };
      const { status, body: station } = await posted(page, tagsOf(stations[0]), tags);
      assert.equal(status, 200, JSON.stringify(station));
      await page.waitForFunction(
        (wanted) => document.querySelector('[data-tag="job"] strong').textContent.startsWith(wanted),
        job,
      );
      const first = await measured(page, station, station.thread.window.max);
      await shown(page, 'none recorded');

      await page.click(OPEN);
      await page.fill('[data-part="drawer"] input[name="gauge"]', '');
      await page.click('[data-part="drawer"] button:text-is("Goes")');
      await page.waitForSelector('[data-part="drawer"] .field-problem:has-text("NOT STORED")');
      await page.fill('[data-part="drawer"] input[name="gauge"]', ringName);
      for (const text of ['Goes', 'Does not go', 'Not done']) {
        const box = await page.locator(`[data-part="drawer"] button:text-is("${text}")`).boundingBox();
        assert.ok(box.height >= 76, `${text} is ${box.height} px high`);
        assert.ok(box.x >= 0 && box.x + box.width <= 390, `${text} lies in the window`);
      }
      await shoot(page, 'page-functional-drawer.png');
      await press(page, 'Goes');
      await shown(page, `goes, ${ringName}, AK `);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth);
      assert.ok(wide <= 390, `${wide} px wide`);
      await page.waitForFunction(
        (ring) => document.querySelector('.recent tbody tr').textContent.includes(`functional check: goes, ${ring}`),
        ringName,
      );

      // The gauge is known now: two presses.
      const second = await measured(page, station, station.thread.window.min);
      assert.notEqual(second.piece, first.piece);
      await shown(page, 'none recorded');
      await page.click(OPEN);
      await press(page, 'Does not go');
      await shown(page, `does not go, ${ringName}`);
      await page.waitForSelector('.functional-caution:has-text("Wires do not see them")');
      const { functional_checks: checks } = await firstStation(page);
      const of = (piece) => checks.find((each) => each.piece === piece && each.job === job).state;
      assert.deepEqual([of(first.piece), of(second.piece)], ['goes', 'does_not_go']);
      await shoot(page, 'page-functional.png');

      // On the job's findings the gauge stands beside the measurement.
      const found = await page.context().newPage();
      const words = new URLSearchParams({ job, feature: own.features[0].name });
      await found.goto(new URL(`/findings.html?${words}`, page.url()).href);
      const section = found.locator('.report-section:has(h2:text("Does the go gauge say"))');
      await section.waitFor();
      const told = await section.textContent();
      // The first one goes, which is right unless it is over its limit.
      const same = first.verdict === 'fail_over' ? 'the same of 0 (0 %)' : 'the same of 1 (50 %)';
      assert.ok(told.includes(`Of 2 pieces both say ${same}`), told);
      assert.ok(told.includes(`Measured not over, does not go: piece ${second.piece}.`), told);
      assert.match(told, /poor form, and no fault of the gauge/);
      assert.equal(await section.locator('tbody tr').count(), 2);
      assert.ok((await found.evaluate(() => document.documentElement.scrollWidth)) <= 390);
      await section.scrollIntoViewIfNeeded();
      await shoot(found, 'page-go-gauge.png');
      await found.close();

      await page.click(OPEN);
      await page.click('[data-part="drawer"] button:text-is("Withdraw")');
      await page.waitForSelector('[data-part="drawer"] .field-problem:has-text("Say why")');
      await page.fill('[data-part="drawer"] input[name="words"]', 'wrong ring');
      await press(page, 'Withdraw');
      await shown(page, 'wrong ring');
      await posted(page, tagsOf(stations[0]), {
        job: stations[0].tags.job,
        feature: stations[0].tags.feature,
        purpose: stations[0].tags.purpose,
        reason: 'for this test',
      });
    }));
});
