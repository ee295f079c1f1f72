// What is seen first, its sizes, and the drawing. One part of page.spec.mjs.

import { describe, test } from 'node:test';
import assert from 'node:assert/strict';
import { inkHeight } from './page.helpers.mjs';
import { atRest, changeState, DESKTOP, PHONE, stateOf, VERDICTS, withPage } from './page.setting.mjs';

describe('what is seen first', () => {
  test('verdict, left to cut and reading stand in this order, with word and shape', () =>
    withPage({}, async (page) => {
      const [station] = (await stateOf(page)).stations;
      const verdict = page.locator('[data-part="verdict"]');
      assert.ok(VERDICTS.includes(await verdict.getAttribute('data-verdict')));
      assert.notEqual((await page.textContent('[data-part="word"]')).trim(), '');
      assert.ok((await page.locator('[data-part="shape"] svg *').count()) > 0);
      const shown = station.last.purpose === 'zero' ? null : station.last.pitch_diameter;
      assert.equal(
        await page.textContent('[data-part="digits"]'),
        shown ?? station.last.over_wires ?? station.last.text,
      );
      assert.equal((await page.textContent('[data-part="unit"]')).trim(), station.last.unit);
      assert.match(
        await page.textContent('[data-part="belongs"]'),
        new RegExp(`piece ${station.last.piece}\\b`),
      );
      const tops = [];
      for (const part of ['verdict', 'left', 'reading'])
        tops.push((await page.locator(`[data-part="${part}"]`).boundingBox()).y);
      assert.deepEqual(
        tops,
        [...tops].sort((a, b) => a - b),
      );
      assert.ok(tops[0] < tops[1] && tops[1] < tops[2]);
    }));

  test('a verdict of each kind keeps its own shape and word without colour', () => {
    const kinds = ['pass', 'fail_under', 'fail_over', 'still_to_cut', 'undecided', 'zero_within', 'zero_off'];
    const drawings = new Set();
    const each = (kind) =>
      withPage(
        {
          prepare: (page) =>
            changeState(page, ({ stations }) => {
              Object.assign(stations[0].last, {
                verdict: kind,
                words: '',
                void: null,
                held: null,
                counted: true,
              });
            }),
        },
        async (page) => {
          assert.equal(await page.getAttribute('[data-part="verdict"]', 'data-verdict'), kind);
          drawings.add(
            (await page.innerHTML('[data-part="shape"]')) + (await page.textContent('[data-part="word"]')),
          );
        },
      );
    return kinds
      .reduce((done, kind) => done.then(() => each(kind)), Promise.resolve())
      .then(() => assert.equal(drawings.size, kinds.length));
  });

  test('the digits take a fifth of the window height at 1280 by 800', () =>
    withPage({ prepare: atRest }, async (page) => {
      const ink = await inkHeight(page, '[data-part="digits"]');
      const letters = (await page.textContent('[data-part="digits"]')).length;
      const wanted = letters <= 7 ? 0.2 : 0.2 * (7 / letters);
      assert.ok(ink >= DESKTOP.height * wanted, `digits are ${ink} px high`);
      const { height } = await page.locator('[data-part="verdict"]').boundingBox();
      assert.ok(height >= DESKTOP.height * 0.2, `the verdict is ${height} px high`);
    }));

  test('verdict and digits together take a fifth of a phone, digits across its width', () =>
    withPage({ viewport: PHONE }, async (page) => {
      const verdict = await page.locator('[data-part="verdict"]').boundingBox();
      const value = await page.locator('.value').boundingBox();
      assert.ok(verdict.height + value.height >= PHONE.height * 0.2);
      const spread = await page.evaluate(() => {
        const range = document.createRange();
        range.selectNodeContents(document.querySelector('.value'));
        return range.getBoundingClientRect().width;
      });
      assert.ok(spread >= PHONE.width * 0.75 && spread <= PHONE.width, `digits are ${spread} px wide`);
    }));

  test('the bar with the next piece is in view at once, big, and away from void', () => {
    const each = (viewport) =>
      withPage({ viewport }, async (page) => {
        const next = await page.locator('#next-piece').boundingBox();
        const last = await page.locator('#type-reading').boundingBox();
        const away = await page.locator('#void-last').boundingBox();
        assert.ok(next.height >= 76 && next.y + next.height <= viewport.height);
        assert.ok(away.height >= 76 && away.x - (last.x + last.width) >= 12);
      });
    return each(DESKTOP).then(() => each(PHONE));
  });
});

describe('the drawing', () => {
  test('thread and wires are drawn by the collector and seen', () =>
    withPage({}, async (page) => {
      const image = page.locator('[data-part="picture-image"]');
      await image.scrollIntoViewIfNeeded();
      await page.waitForFunction(() => {
        const drawn = document.querySelector('[data-part="picture-image"]');
        return drawn.complete && drawn.naturalWidth > 100;
      });
      const { width, height } = await image.boundingBox();
      assert.ok(width > 300 && height > 200);
      assert.notEqual(await image.getAttribute('alt'), '');
    }));
});
