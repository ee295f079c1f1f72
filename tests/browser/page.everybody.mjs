// Contrast, reflow, targets: usable for everybody. One part of page.spec.mjs.

import { describe, test } from 'node:test';
import assert from 'node:assert/strict';
import { contrast, overflowing } from './page.helpers.mjs';
import { DESKTOP, PHONE, serious, shoot, URL_OF_PAGE, VERDICTS, withPage } from './page.setting.mjs';

describe('for everybody', () => {
  for (const colorScheme of ['light', 'dark']) {
    for (const [name, viewport] of [
      ['desktop', DESKTOP],
      ['phone', PHONE],
    ]) {
      test(`no serious fault found by axe, ${name}, ${colorScheme}`, () =>
        withPage({ viewport, colorScheme }, async (page, seen) => {
          await page.waitForTimeout(500);
          await shoot(page, `page-${name}-${colorScheme}.png`);
          await page.click('#new-job');
          assert.deepEqual(await serious(page), []);
          assert.deepEqual(seen.complaints, []);
          assert.deepEqual([...seen.hosts], [new URL(URL_OF_PAGE).host]);
        }));
    }

    test(`the verdict has a contrast of 7 to 1 whatever it is, ${colorScheme}`, () =>
      withPage({ colorScheme }, async (page) => {
        for (const kind of VERDICTS) {
          await page.evaluate((code) => {
            document.querySelector('[data-part="verdict"]').dataset.verdict = code;
          }, kind);
          const ratio = await contrast(page, '[data-part="word"]', '[data-part="verdict"]');
          assert.ok(ratio >= 7, `${kind}: ${ratio}`);
        }
      }));
  }

  for (const width of [320, 390, 768, 1280]) {
    test(`nothing runs off sideways at ${width} px, forms included`, () =>
      withPage({ viewport: { width, height: 844 } }, async (page) => {
        for (const opener of [
          '#new-job',
          '#new-wire-set',
          '#new-instrument',
          '#new-study',
          '#type-reading',
          '#void-last',
        ]) {
          await page.click(opener);
          assert.deepEqual(await overflowing(page), [], opener);
        }
      }));
  }

  test('every control is at least 24 px both ways', () =>
    withPage({ viewport: PHONE }, async (page) => {
      const small = await page.evaluate(() =>
        [...document.querySelectorAll('button, select, input, .csv a')]
          .filter((each) => each.offsetParent && !each.closest('label'))
          .filter((each) => each.offsetWidth < 24 || each.offsetHeight < 24)
          .map((each) => each.outerHTML),
      );
      assert.deepEqual(small, []);
    }));

  test('shapes and words stay with forced colours', () =>
    withPage({ forcedColors: 'active' }, async (page) => {
      const { width } = await page.locator('[data-part="shape"] svg').boundingBox();
      assert.ok(width > 60);
      assert.ok((await contrast(page, '[data-part="word"]', '[data-part="verdict"]')) >= 7);
    }));
});
