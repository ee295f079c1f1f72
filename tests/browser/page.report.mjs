// The inspection report, from the page: one press there, readable on every screen. One part of page.spec.mjs.

import { describe, test } from 'node:test';
import assert from 'node:assert/strict';
import axe from 'axe-core';
import { DESKTOP, HOSTILE, PHONE, posted, shoot, stamp, stateOf, tagsOf, withPage } from './page.setting.mjs';

async function faults(page) {
  await page.evaluate(axe.source);
  const { violations } = await page.evaluate(() =>
    globalThis.axe.run({ runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa'] }),
  );
  return violations.flatMap(({ id, nodes }) => nodes.map(({ html }) => `${id}: ${html}`));
}

describe('the inspection report', () => {
  for (const [name, viewport, scheme] of [
    ['desktop', DESKTOP, 'light'],
    ['desktop', DESKTOP, 'dark'],
    ['phone', PHONE, 'light'],
    ['narrow', { width: 320, height: 640 }, 'dark'],
  ])
    test(`is one press away and fits, ${name}, ${scheme}`, () =>
      withPage({ viewport, colorScheme: scheme }, async (page) => {
        const { stations, record } = await stateOf(page);
        const { job } = stations[0].tags;
        await page.click('[data-part="report"]');
        await page.waitForSelector('h1:has-text("Inspection report")');
        const text = await page.textContent('main');
        for (const said of [job, 'not functional size', stations[0].thread.limits.min]) assert.ok(text.includes(said), said);
        assert.equal(record.trouble, null);
        assert.equal(await page.evaluate(() => document.scripts.length), 0);
        const wide = await page.evaluate(() => document.documentElement.scrollWidth);
        assert.ok(wide <= viewport.width, `${wide} px wide`);
        assert.deepEqual(await faults(page), []);
        await shoot(page, `report-${name}-${scheme}.png`);
      }));

  test('of the first article, on letter, in millimetres, by the form; a hostile job stays text', () =>
    withPage({ viewport: PHONE }, async (page) => {
      const { jobs, stations } = await stateOf(page);
      const own = jobs.find(({ job }) => job === stations[0].tags.job);
      const job = `${HOSTILE} ${stamp}`;
      const feature = { ...own.features[0], name: HOSTILE, characteristic: '7' };
      const made = { job, drawing: HOSTILE, lot: HOSTILE, features: [feature], by: '' };
      assert.equal((await posted(page, '/api/jobs', made)).status, 200);
      const begun = await posted(page, tagsOf(stations[0]), { job, purpose: 'inspecting', reason: 'for this test' });
      assert.equal(begun.status, 200, JSON.stringify(begun.body));
      const { min } = begun.body.thread.window;
      const path = `/api/stations/${encodeURIComponent(stations[0].name)}/reading`;
      assert.equal((await posted(page, path, { text: min, unit: begun.body.thread.unit })).status, 200);
      await page.waitForFunction((wanted) => document.querySelector('[data-part="report-job"]').value === wanted, job);
      await page.click('[data-part="report-more"] summary');
      await page.selectOption('[data-part="report-piece"]', 'first');
      await page.selectOption('.report-form select[name="paper"]', 'letter');
      await page.selectOption('.report-form select[name="unit"]', 'mm');
      await page.click('.report-form button');
      await page.waitForSelector('h1:has-text("First article inspection report, piece 1")');
      const text = await page.textContent('main');
      assert.ok(text.includes(HOSTILE) && text.includes('No. 7') && text.includes(' mm'));
      assert.equal(await page.evaluate(() => globalThis.ran), undefined);
      assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= 390));
      assert.ok((await page.content()).includes('size: letter'));
      await page.goBack();
      await posted(page, tagsOf(stations[0]), {
        job: stations[0].tags.job,
        feature: stations[0].tags.feature,
        purpose: stations[0].tags.purpose,
        reason: 'for this test',
      });
    }));
});
