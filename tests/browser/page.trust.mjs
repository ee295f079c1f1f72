// How well it is known: guard band, corrections, coating, form. One part of page.spec.mjs.

import { describe, test } from 'node:test';
import assert from 'node:assert/strict';
import {
  changeState,
  firstStation,
  freshSize,
  measured,
  posted,
  serious,
  shoot,
  stamp,
  stateOf,
  tagsOf,
  withPage,
} from './page.setting.mjs';

const FIELD = '.sheet input';

/** Works on a job like the station's own, with this changed. */
async function workOn(page, name, change) {
  const { jobs, stations } = await stateOf(page);
  const own = jobs.find(({ job }) => job === stations[0].tags.job);
  const job = { job: name, features: own.features, by: '', ...change };
  assert.equal((await posted(page, '/api/jobs', job)).status, 200);
  const tags = { job: name, purpose: 'inspecting', reason: 'for this test' };
  const { status, body } = await posted(page, tagsOf(stations[0]), tags);
  assert.equal(status, 200, JSON.stringify(body));
  await page.waitForFunction(
    (wanted) => document.querySelector('[data-tag="job"] strong').textContent.startsWith(wanted),
    name,
  );
  return body;
}

describe('how well it is known', () => {
  test('a guarded job says UNDECIDED at its limit, and by what', () =>
    withPage({}, async (page) => {
      const station = await workOn(page, `J-G-${stamp}`, { decision: 'guarded' });
      const reading = await measured(page, station, station.thread.window.max);
      assert.equal(reading.verdict, 'undecided');
      await page.waitForSelector('[data-part="verdict"][data-verdict="undecided"]');
      assert.equal(await page.textContent('[data-part="plus-minus"]'), `± ${reading.uncertainty}`);
      const { trust } = await firstStation(page);
      const panel = await page.textContent('[data-part="trust"]');
      for (const said of [trust.sentence, trust.rule, trust.accept.min, trust.accept.max])
        assert.ok(panel.includes(said), said);
      assert.equal(await page.locator('.budget tbody tr').count(), trust.rows.length);
      const bars = await page.locator('.share-bar').evaluateAll((all) =>
        all.map((bar) => Number(bar.style.getPropertyValue('--share'))),
      );
      assert.deepEqual(bars, trust.rows.map(({ share }) => share));
      assert.ok((await page.locator('.guard-high').boundingBox()).width > 1, 'the guard band is drawn');
      assert.match(await page.textContent('.recent tbody tr:first-child'), /known to ±/);
      await shoot(page, 'page-undecided.png');
      await posted(page, `/api/readings/${reading.entry}/void`, { reason: 'other', by: '' });
    }));

  test('temperatures correct the next reading; each correction stands there with its sign', () =>
    withPage({}, async (page) => {
      const station = await firstStation(page);
      for (const [typed, said] of [
        ['warm', /not a number/],
        ['999', /-50 to 200/],
      ]) {
        await page.fill('.warmth input[name="part_celsius"]', typed);
        await page.press('.warmth input[name="part_celsius"]', 'Enter');
        await page.waitForFunction(
          (words) => new RegExp(words).test(document.querySelector('.warmth .field-problem').textContent),
          said.source,
        );
        assert.equal(await page.inputValue('.warmth input[name="part_celsius"]'), typed);
      }
      await page.fill('.warmth input[name="part_celsius"]', '32.5');
      await page.press('.warmth input[name="part_celsius"]', 'Enter');
      await page.fill('.warmth input[name="gauge_celsius"]', '20');
      await page.press('.warmth input[name="gauge_celsius"]', 'Enter');
      await page.waitForFunction(() => /20 °C/.test(document.querySelector('.warmth').textContent));
      const reading = await measured(page, station, freshSize(station));
      const warm = reading.corrections.find(({ kind }) => kind === 'part_temperature');
      // Steel, 11.5 per million and kelvin: a warm part measures large, so the correction is negative.
      assert.ok(Number(warm.amount) < 0);
      await page.waitForSelector('[data-part="corrections"]');
      const said = await page.textContent('[data-part="corrections"]');
      for (const { words, amount } of reading.corrections)
        assert.equal(said.includes(`${words} ${amount}`), Number(amount) !== 0, words);
      assert.match(await page.textContent('.recent tbody tr:first-child'), /corrected by -/);
      await posted(page, tagsOf(station), { part_celsius: null, gauge_celsius: null });
    }));

  test('a coating to come moves the limits; what cannot be is refused at its field, in a folded part too', () =>
    withPage({}, async (page) => {
      await page.click('#new-job');
      await page.fill(`${FIELD}[name="job"]`, `J-C-${stamp}`);
      await page.fill(`${FIELD}[name="thread"]`, '1 1/16-12 UN-2A');
      await page.click('.sheet summary:has-text("Plated")');
      await page.check('.sheet .part:has(input[name="thickness_min"]) input[value="in"]');
      await page.fill(`${FIELD}[name="thickness_min"]`, '0.0002');
      await page.fill(`${FIELD}[name="thickness_max"]`, '0.0400');
      await page.click('.sheet summary:has-text("Plated")');
      await page.click('.sheet .primary');
      await page.waitForSelector(`${FIELD}[name="thickness_max"][aria-invalid="true"]`);
      assert.ok(await page.isVisible(`${FIELD}[name="thickness_max"]`), 'the part is opened again');
      assert.equal(await page.evaluate(() => document.activeElement.name), 'thickness_max');
      assert.equal(await page.inputValue(`${FIELD}[name="thickness_max"]`), '0.0400');
      await page.fill(`${FIELD}[name="thickness_max"]`, '0.0004');
      // Four times the thickness on a 60 degree thread: common practice, no source. 1.0010 and
      // 1.0067 in are the limits of ASME B1.1 for this thread, from memory.
      await page.waitForFunction(() => /1\.00020? to 1\.00510? in/.test(document.querySelector('.preview').textContent));
      await page.uncheck('.sheet .tick input');
      await page.click('.sheet .primary');
      await page.waitForSelector('.stored');
      const stored = (await stateOf(page)).jobs.find(({ job }) => job === `J-C-${stamp}`);
      assert.deepEqual(stored.features[0].coating, { unit: 'in', thickness_min: '0.0002', thickness_max: '0.0004' });
    }));

  test('limits that no standard gives are asked for, and refused at their own field', () =>
    withPage({}, async (page) => {
      await page.click('#new-job');
      await page.fill(`${FIELD}[name="job"]`, `J-W-${stamp}`);
      await page.fill(`${FIELD}[name="thread"]`, 'WORM m2 d22.4 z2 20deg');
      await page.waitForSelector(`${FIELD}[name="limits_min"]`, { state: 'visible' });
      await page.check('.sheet .part:has(input[name="limits_min"]) input[value="mm"]');
      await page.fill(`${FIELD}[name="limits_min"]`, '22.40');
      await page.fill(`${FIELD}[name="limits_max"]`, '22.35');
      await page.click('.sheet .primary');
      await page.waitForSelector(`${FIELD}[name="limits_max"][aria-invalid="true"]`);
      assert.equal(await page.inputValue(`${FIELD}[name="limits_min"]`), '22.40');
      await page.fill(`${FIELD}[name="limits_min"]`, '22.30');
      await page.waitForFunction(() => /22\.300 to 22\.350 mm/.test(document.querySelector('.preview').textContent));
      await page.uncheck('.sheet .tick input');
      await page.click('.sheet .primary');
      await page.waitForSelector('.stored');
      const stored = (await stateOf(page)).jobs.find(({ job }) => job === `J-W-${stamp}`);
      assert.deepEqual(stored.features[0].limits, { unit: 'mm', min: '22.30', max: '22.35' });
    }));

  test('a rule asks for its own number, and only where it has one', () =>
    withPage({}, async (page) => {
      await page.click('#new-job');
      const visible = () => page.locator(`${FIELD}[name="decision_value"]:visible`);
      assert.equal(await visible().count(), 0);
      await page.selectOption('.sheet select[name="decision"]', 'guarded');
      assert.equal(await visible().count(), 1);
      await page.fill(`${FIELD}[name="job"]`, `J-R-${stamp}`);
      await page.fill(`${FIELD}[name="thread"]`, '1 1/16-12 UN-2A');
      await visible().fill('200');
      await page.click('.sheet .primary');
      await page.waitForSelector(`${FIELD}[name="decision_value"][aria-invalid="true"]`);
      assert.equal(await visible().inputValue(), '200');
      await page.selectOption('.sheet select[name="decision"]', '');
      await page.uncheck('.sheet .tick input');
      await page.click('.sheet .primary');
      await page.waitForSelector('.stored');
      const stored = (await stateOf(page)).jobs.find(({ job }) => job === `J-R-${stamp}`);
      assert.equal(stored.decision_value, undefined);
    }));

  test('taper and roundness have their panel where a piece was measured at positions', () =>
    withPage({}, async (page) => {
      assert.equal(await page.isVisible('[data-part="form"]'), Boolean((await firstStation(page)).form));
      const sentence = 'Taper 0.0004 in, larger at the far end.';
      await changeState(page, ({ stations }) => {
        stations[0].form = { piece: 3, sentence, cautions: ['Wires may tilt.'] };
      });
      await page.reload();
      await page.waitForSelector('[data-part="form"]');
      const said = await page.textContent('[data-part="form"]');
      assert.ok(said.includes(`Piece 3: ${sentence}`) && said.includes('Wires may tilt.'));
    }));

  for (const colorScheme of ['light', 'dark']) {
    test(`no serious fault found by axe while everything is said, ${colorScheme}`, () =>
      withPage(
        {
          colorScheme,
          prepare: (page) =>
            changeState(page, ({ stations: [station] }) => {
              station.tags.purpose = 'cutting';
              station.zero = { state: 'old', sentence: 'The last was long ago.', at: null, asked_for: true };
              station.cut = { advice: 'cut', sentence: 'Next pass.', slide: 'compound', dial: '0.0040' };
              Object.assign(station.cut, { radial: '0.0035', leaves: '0.0020', notes: ['Learn.'], dialled: null });
              station.form = { piece: 1, sentence: 'Taper.', cautions: ['Mind.'] };
            }),
        },
        async (page) => {
          await page.click('#new-job');
          await page.click('.sheet summary:has-text("Limits")');
          assert.deepEqual(await serious(page), []);
        },
      ));
  }
});
