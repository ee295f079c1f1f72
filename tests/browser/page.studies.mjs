// Studies: planned, walked through, and what they found; the statistics of a job. One part of page.spec.mjs.

import { describe, test } from 'node:test';
import assert from 'node:assert/strict';
import { contrast, focusOn, inkHeight, overflowing, tabTo } from './page.helpers.mjs';
import {
  DESKTOP,
  firstRow,
  firstStation,
  measured,
  PHONE,
  posted,
  serious,
  shoot,
  stamp,
  stateOf,
  tagsOf,
  URL_OF_PAGE,
  withPage,
} from './page.setting.mjs';

const STUDY = `holders ${stamp}`;
const JOB = `J-S-${stamp}`;
const BASELINE = 'by hand';
const OTHER = 'rubber strips';
const ROUNDS = 4;
const TOTAL = 2 * ROUNDS;

const boardSays = (page, words) =>
  page.waitForFunction(
    (wanted) => {
      const board = document.querySelector('[data-part="study"]');
      return !board.hidden && board.textContent.includes(wanted);
    },
    words,
  );
const statusSays = (page, words) =>
  page.waitForFunction((wanted) => document.querySelector('#status').textContent.includes(wanted), words);
const nextOf = async (page) => (await firstStation(page)).study?.next ?? null;

/** A size for the method that comes next: the other one reads far more than the margin higher. */
async function sizeForNext(page) {
  const { study, thread } = await firstStation(page);
  const [min, max] = [thread.window.min, thread.window.max].map(Number);
  const repeats = [0, 1, -1, 2, 1, 0, -2, 1];
  const share = study.next.words.includes(OTHER) ? 0.8 : 0.3;
  const step = thread.unit === 'in' ? 0.00005 : 0.001;
  const places = thread.unit === 'in' ? 5 : 3;
  return (min + (max - min) * share + step * repeats[study.filled % repeats.length]).toFixed(places);
}

/** Where the reading and the bar below it stand. */
const places = (page) =>
  page.evaluate(() =>
    ['[data-part="study"]', '[data-part="reading"]', '.bar'].map(
      (part) => document.querySelector(part).getBoundingClientRect().top,
    ),
  );

const pictureLoaded = (page, at) =>
  page.waitForFunction((each) => {
    const image = document.querySelectorAll('.report-picture img')[each];
    return image?.complete && image.naturalWidth > 100;
  }, at);

describe('studies', () => {
  test('planned: how many readings it makes, refusals beside their fields, then begun here', () =>
    withPage({}, async (page) => {
      await page.click('#new-study');
      assert.match(await page.textContent('.study-sum'), /2 methods × 1 piece × 1 person × 10 rounds: 20 readings/);
      await page.selectOption('.sheet select[name="job"]', (await firstStation(page)).tags.job);
      await page.fill('.sheet input[name="rounds"]', '0');
      await page.fill('.sheet input[name="margin_percent"]', 'much');
      await page.click('.sheet .primary');
      await page.waitForSelector('.sheet input[name="margin_percent"][aria-invalid="true"]');
      await page.fill('.sheet input[name="margin_percent"]', '');
      await page.click('.sheet .primary');
      await page.waitForSelector('.sheet input[name="rounds"][aria-invalid="true"]');
      await page.waitForSelector('.sheet input[name="study"][aria-invalid="true"]');
      assert.equal(await page.evaluate(() => document.activeElement.name), 'study');
      assert.equal(await page.inputValue('.sheet input[name="rounds"]'), '0');
      await page.fill('.sheet input[name="study"]', STUDY);
      await page.fill('.sheet input[name="rounds"]', String(ROUNDS));
      assert.match(await page.textContent('.study-sum'), new RegExp(`: ${TOTAL} readings`));
      await page.click('.sheet .primary');
      await boardSays(page, STUDY);
      const { studies, stations } = await stateOf(page);
      const stored = studies.find(({ study }) => study === STUDY);
      assert.deepEqual([stored.kind, stored.rounds], ['method_comparison', ROUNDS]);
      assert.deepEqual(stored.methods, [BASELINE, OTHER]);
      assert.deepEqual([stations[0].tags.study, stations[0].tags.purpose], [STUDY, 'study']);
      await statusSays(page, stations[0].study.next.words);
    }));

  test('each kind asks for what it needs; what was typed stays', () =>
    withPage({ viewport: PHONE }, async (page) => {
      await page.click('#new-study');
      await page.fill('.sheet textarea[name="pieces"]', 'A\nB\nC');
      await page.check('.sheet input[value="gauge_rr"]');
      assert.match(await page.textContent('.study-sum'), /1 method × 3 pieces × 1 person × 3 rounds: 9 readings/);
      assert.equal(await page.locator('.sheet select[name="methods"]').count(), 1);
      assert.equal(await page.isVisible('.sheet input[name="margin_percent"]'), false);
      assert.deepEqual(await overflowing(page), []);
      await page.check('.sheet input[value="repeatability"]');
      assert.ok(await page.isVisible('.sheet input[name="reference"]'));
      await page.fill('.sheet input[name="study"]', `not stored ${stamp}`);
      await page.click('.sheet .primary');
      await page.waitForSelector('.sheet textarea[name="pieces"][aria-invalid="true"]');
      assert.equal(await page.inputValue('.sheet textarea[name="pieces"]'), 'A\nB\nC');
      assert.deepEqual(await serious(page), []);
      await page.keyboard.press('Escape');
      assert.ok(!(await stateOf(page)).studies.some(({ study }) => study === `not stored ${stamp}`));
    }));

  test('what is measured next is read from two metres, and typed readings walk through it', () =>
    withPage({}, async (page) => {
      const first = await nextOf(page);
      await boardSays(page, first.words.includes(OTHER) ? OTHER : BASELINE);
      assert.ok((await inkHeight(page, '.study-value')) >= DESKTOP.height * 0.05);
      assert.equal(await page.isVisible('[data-part="verdict"]'), false);
      assert.equal(await page.isVisible('#next-piece'), false);
      const size = await sizeForNext(page);
      await page.click('#type-reading');
      await page.fill('.typed-input', size);
      await page.keyboard.press('Enter');
      await boardSays(page, `1 of ${TOTAL}`);
      const next = await nextOf(page);
      assert.equal(next.number, 2);
      await statusSays(page, next.words);
      assert.ok(!(await page.textContent('#status')).includes('PASS'));
      assert.deepEqual(next.changes, ['method']);
      assert.match(await page.textContent('.study-card.changed'), new RegExp(next.words.includes(OTHER) ? OTHER : BASELINE));
      assert.ok((await contrast(page, '.study-card.changed .study-value', '.study-card.changed')) >= 7);
      await page.keyboard.press('Escape');
      await shoot(page, 'page-study.png');
    }));

  for (const [name, viewport] of [
    ['desktop', DESKTOP],
    ['phone', PHONE],
  ]) {
    test(`nothing moves when a reading arrives, ${name}`, () =>
      withPage({ viewport }, async (page) => {
        const station = await firstStation(page);
        const before = await places(page);
        await measured(page, station, await sizeForNext(page));
        await boardSays(page, `${station.study.filled + 1} of ${TOTAL}`);
        assert.deepEqual(await places(page), before);
        assert.deepEqual(await overflowing(page), []);
        const digits = await page.locator('.value').boundingBox();
        const bar = await page.locator('.bar').boundingBox();
        assert.ok(digits.y + digits.height <= bar.y + 2, 'the digits are in view');
      }));
  }

  test('a void with its reason opens the place again; there is no way to restore it', () =>
    withPage({}, async (page) => {
      const { last, study } = await firstStation(page);
      await tabTo(page, 'void-last');
      await page.keyboard.press('Enter');
      assert.match(await page.textContent('.drawer-question'), /place in the study opens again/);
      const reason = await page.textContent('.drawer-buttons button:first-child');
      await page.keyboard.press('Enter');
      await boardSays(page, `Measured again: ${reason}`);
      await boardSays(page, `${study.filled - 1} of ${TOTAL}`);
      const next = await nextOf(page);
      assert.equal(next.again, reason);
      assert.ok(next.words.includes(last.method));
      await statusSays(page, next.words);
      assert.equal(await page.locator(`[data-key="restore-${last.entry}"]`).count(), 0);
      await page.waitForSelector(`${firstRow} s`);
      const station = await firstStation(page);
      const again = await measured(page, station, await sizeForNext(page));
      assert.equal(again.method, last.method);
      await boardSays(page, `${study.filled} of ${TOTAL}`);
    }));

  test('a press with closed jaws fills no place, and the page says so', () =>
    withPage({}, async (page) => {
      const station = await firstStation(page);
      await measured(page, station, '0.00000');
      await boardSays(page, 'Not counted');
      await boardSays(page, `${station.study.filled} of ${TOTAL}`);
    }));

  test('paused and gone on with, and a zero check leads back to it', () =>
    withPage({}, async (page) => {
      await tabTo(page, 'study-pause');
      await page.keyboard.press('Enter');
      await page.waitForSelector('[data-part="study"]', { state: 'hidden' });
      assert.equal((await firstStation(page)).tags.study, null);
      assert.equal(await page.locator('[data-tag="purpose"] .chip').count(), 3);
      await page.selectOption('[data-key="study"]', STUDY);
      await page.click('[data-tag="study"] [data-key="study-set"]');
      await boardSays(page, STUDY);
      await page.click('#zero-check');
      await page.click('[data-key="after-zero-wished"]');
      await boardSays(page, STUDY);
      assert.equal((await firstStation(page)).tags.study, STUDY);
      assert.notEqual(await focusOn(page), '');
    }));

  test('finished: the result is one press away and says which method differs', () =>
    withPage({}, async (page, seen) => {
      const before = await places(page);
      for (let filled = (await firstStation(page)).study.filled; filled < TOTAL; filled += 1)
        await measured(page, await firstStation(page), await sizeForNext(page));
      await boardSays(page, 'FINISHED');
      assert.deepEqual(await places(page), before);
      await shoot(page, 'page-study-finished.png');
      await page.click('[data-part="study"] a');
      await page.waitForSelector('.report-first');
      assert.equal(await page.textContent('.report-answer h2'), 'Do the methods differ?');
      // The other method was measured half the tolerance higher, which is more than the margin.
      assert.equal(await page.textContent('.report-first'), `${OTHER}: DIFFERENT`);
      await pictureLoaded(page, 0);
      const alt = await page.getAttribute('.report-picture img', 'alt');
      assert.ok(alt.includes(BASELINE) && alt.includes(OTHER), alt);
      assert.match(await page.textContent('.report-conventions'), /10 % of the tolerance/);
      assert.match(await page.textContent('.report-far'), new RegExp(`${TOTAL} of ${TOTAL} readings`));
      assert.deepEqual(await serious(page), []);
      assert.deepEqual(seen.complaints, []);
      assert.deepEqual([...seen.hosts], [new URL(URL_OF_PAGE).host]);
      await shoot(page, 'page-result.png');
      const { name } = await firstStation(page);
      await page.click('#back');
      await page.waitForSelector('[data-part="digits"]:not(:empty)');
      assert.equal(await page.textContent('#station-name'), name);
      await page.click('#study-pause');
      await page.waitForSelector('[data-part="study"]', { state: 'hidden' });
    }));

  for (const colorScheme of ['light', 'dark']) {
    test(`a result on a phone keeps to its width, ${colorScheme}`, () =>
      withPage({ viewport: PHONE, colorScheme }, async (page) => {
        await page.goto(`${URL_OF_PAGE}findings.html?study=${encodeURIComponent(STUDY)}`);
        await pictureLoaded(page, 0);
        assert.match(await page.getAttribute('.report-picture img', 'src'), /width=phone/);
        assert.deepEqual(await serious(page), []);
        const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
        assert.ok(wide <= 0, `${wide} px too wide`);
        await shoot(page, `page-result-phone-${colorScheme}.png`);
      }));
  }
});

describe('statistics of a job', () => {
  /** A job of its own with twelve pieces inspected; the station goes back to what it did. */
  async function inspectTwelve(page) {
    const station = await firstStation(page);
    const { jobs } = await stateOf(page);
    const { job, feature, purpose } = station.tags;
    const { features } = jobs.find((each) => each.job === job);
    assert.equal((await posted(page, '/api/jobs', { job: JOB, features, by: '' })).status, 200);
    const reason = 'for this test';
    await posted(page, tagsOf(station), { job: JOB, feature, purpose: 'inspecting', reason });
    const [min, max] = [station.thread.window.min, station.thread.window.max].map(Number);
    const shares = [0.5, 0.45, 0.55, 0.52, 0.47, 0.5, 0.58, 0.44, 0.49, 0.53, 0.51, 0.46];
    for (const [at, share] of shares.entries()) {
      await posted(page, tagsOf(station), { piece: at + 1 });
      await measured(page, station, (min + (max - min) * share).toFixed(station.thread.unit === 'in' ? 5 : 3));
    }
    return () => posted(page, tagsOf(station), { job, feature, purpose, reason });
  }

  test('steadiness, capability and their three pictures; other run rules ask anew', () =>
    withPage({}, async (page) => {
      const goBack = await inspectTwelve(page);
      await page.click('[data-part="steady"]');
      await page.waitForSelector('.report-first');
      assert.match(await page.textContent('.report-answer'), /Is it steady\?/);
      assert.match(await page.textContent('.report-body'), /Provisional, from 12 pieces/);
      const kinds = await page.locator('.report-picture figcaption').allTextContents();
      for (const kind of ['Run chart', 'Control chart', 'Histogram'])
        assert.ok(
          kinds.some((each) => each.startsWith(kind)),
          `${kind}: ${kinds}`,
        );
      for (const at of kinds.keys()) await pictureLoaded(page, at);
      assert.match(await page.getAttribute('.report-picture img', 'src'), /width=desk/);
      await page.click('.report-how summary');
      await page.selectOption('.report-choices [name="rules"]', 'nelson');
      await page.click('.report-choices button');
      await page.waitForURL(/rules=nelson/);
      await page.waitForSelector('.report-first');
      assert.equal(await page.inputValue('.report-choices [name="rules"]'), 'nelson');
      assert.match(await page.getAttribute('.report-picture img', 'src'), /rules=nelson/);
      assert.deepEqual(await serious(page), []);
      await shoot(page, 'page-statistics.png');
      await goBack();
    }));

  test('where there is nothing to chart, or no such study, the page says so and what to do', () =>
    withPage({}, async (page) => {
      const { jobs } = await stateOf(page);
      const features = jobs[0].features;
      await posted(page, '/api/jobs', { job: `${JOB}-new`, features, by: '' });
      for (const [query, words] of [
        [`job=${JOB}-new&feature=${encodeURIComponent(features[0].name)}`, /nothing to chart.*Inspect some pieces/s],
        ['study=nowhere', /nowhere/],
      ]) {
        await page.goto(`${URL_OF_PAGE}findings.html?${query}`);
        await page.waitForSelector('.report-answer');
        assert.match(await page.textContent('.report-answer'), words);
        assert.match(await page.textContent('#status'), words);
      }
    }));
});
