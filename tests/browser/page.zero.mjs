// Zero checks, and jobs begun without one. One part of page.spec.mjs.

import { describe, test } from 'node:test';
import assert from 'node:assert/strict';
import { focusOn, overflowing, tabTo } from './page.helpers.mjs';
import {
  firstStation,
  freshSize,
  measured,
  PHONE,
  posted,
  shoot,
  stamp,
  stateOf,
  tagsOf,
  withPage,
  zeroReading,
} from './page.setting.mjs';

/** Off by this, mm: more than any tolerance, and near enough to be a check. */
const OFF_MM = 0.1;

const purposeIs = (page, wanted) =>
  page.waitForFunction(
    (words) => document.querySelector('[data-tag="purpose"] strong').textContent === words,
    wanted,
  );
const verdictIs = (page, code) => page.waitForSelector(`[data-part="verdict"][data-verdict="${code}"]`);

/** Leaves the zero off, so that no job may be begun without a word. */
async function zeroOff(page) {
  const station = await firstStation(page);
  const { purpose } = station.tags;
  await posted(page, tagsOf(station), { purpose: 'zero' });
  await measured(page, station, await zeroReading(page, station, OFF_MM));
  const { status } = await posted(page, tagsOf(station), { purpose, reason: 'for this test' });
  assert.equal(status, 200);
  await page.waitForSelector('[data-part="zero"][data-state="heed"]');
}

async function newJob(page, name, more = {}) {
  const { jobs, stations } = await stateOf(page);
  const [{ features }] = jobs.filter(({ job }) => job === stations[0].tags.job);
  const { status } = await posted(page, '/api/jobs', { job: name, features, by: '', ...more });
  assert.equal(status, 200);
  await page.waitForSelector(`[data-key="job"] option[value="${name}"]`, { state: 'attached' });
}

describe('zero checks', () => {
  test('one press goes to the check; off and good are said; one press goes back', () =>
    withPage({}, async (page) => {
      const station = await firstStation(page);
      const { purpose } = station.tags;
      await tabTo(page, 'zero-check');
      await page.keyboard.press('Enter');
      await purposeIs(page, 'zero check');
      assert.match(await page.textContent('[data-part="zeroing"]'), /next press is a zero check/);

      const off = await measured(page, station, await zeroReading(page, station, OFF_MM));
      await verdictIs(page, 'zero_off');
      assert.equal(off.verdict, 'zero_off');
      assert.equal(await page.textContent('[data-part="word"]'), 'ZERO OFF');
      const said = (await firstStation(page)).zero;
      assert.equal(said.state, 'off_by');
      assert.ok((await page.textContent('[data-part="zeroing"]')).includes(said.sentence));
      await shoot(page, 'page-zero-off.png');
      await page.click('[data-part="zeroing"] button');
      await page.waitForSelector('.begin-form');
      assert.equal((await firstStation(page)).tags.purpose, 'zero');
      await page.keyboard.press('Escape');
      await page.waitForSelector('[data-part="drawer"]', { state: 'hidden' });

      await measured(page, station, await zeroReading(page, station, 0));
      await verdictIs(page, 'zero_within');
      await page.waitForFunction(() => document.querySelector('#status').textContent.includes('ZERO GOOD'));
      assert.equal(await page.textContent('[data-part="whose"]'), '');
      await page.waitForSelector('[data-part="zero"][data-state="good"]');
      const back = page.locator(`[data-key="after-zero-${purpose}"]`);
      assert.equal(await back.textContent(), `Go on ${purpose}`);
      await back.focus();
      await page.keyboard.press('Enter');
      await purposeIs(page, purpose);
      await page.waitForSelector('[data-part="zeroing"]', { state: 'hidden' });
      await page.waitForFunction(() => document.activeElement.id === 'zero-check');
    }));

  test('a reading of a thread taken as a zero check is said to be none', () =>
    withPage({}, async (page) => {
      const station = await firstStation(page);
      await page.click('#zero-check');
      await purposeIs(page, 'zero check');
      const { entry, flags } = await measured(page, station, freshSize(station));
      assert.ok(flags.includes('no_zero'));
      await page.waitForFunction(() =>
        document.querySelector('[data-part="zeroing"]').textContent.includes('far from'),
      );
      assert.equal((await firstStation(page)).zero.state, 'within');
      await posted(page, `/api/readings/${entry}/void`, { reason: 'other', by: '' });
      await page.click('[data-part="zeroing"] button');
      await purposeIs(page, station.tags.purpose);
    }));

  test('a job begun without one asks for the reason, keeps what is typed, and then begins', () =>
    withPage({ viewport: PHONE }, async (page) => {
      const { tags } = await firstStation(page);
      await newJob(page, `J-Z1-${stamp}`);
      await zeroOff(page);
      await page.selectOption('[data-key="job"]', `J-Z1-${stamp}`);
      await page.click('[data-key="job-set"]');
      await page.waitForSelector('.begin-form');
      const { zero } = await firstStation(page);
      assert.ok((await page.textContent('.drawer-question')).includes(zero.sentence.slice(0, 20)));
      assert.equal(await page.evaluate(() => document.activeElement.name), 'reason');
      assert.equal((await firstStation(page)).tags.job, tags.job);
      await page.keyboard.press('Enter');
      assert.equal(await page.getAttribute('.begin-form input', 'aria-invalid'), 'true');
      assert.deepEqual(await overflowing(page), []);
      await shoot(page, 'page-begin-phone.png');
      await page.keyboard.type('standard is out for calibration');
      await page.keyboard.press('Enter');
      await page.waitForFunction(
        (job) => document.querySelector('[data-tag="job"] strong').textContent.startsWith(job),
        `J-Z1-${stamp}`,
      );
      await page.waitForSelector('[data-part="drawer"]', { state: 'hidden' });
      assert.equal((await firstStation(page)).tags.job, `J-Z1-${stamp}`);
    }));

  test('or the check comes first, and the job is then begun with one press, even after a reload', () =>
    withPage({}, async (page) => {
      const station = await firstStation(page);
      const { purpose } = station.tags;
      await newJob(page, `J-Z2-${stamp}`);
      await page.selectOption('[data-key="job"]', `J-Z2-${stamp}`);
      await page.click('[data-key="job-set"]');
      await page.click('.begin-form .primary');
      await purposeIs(page, 'zero check');
      assert.notEqual((await firstStation(page)).tags.job, `J-Z2-${stamp}`);
      await page.reload();
      await page.waitForSelector('[data-key="after-zero-wished"]');
      await measured(page, station, await zeroReading(page, station, 0));
      await verdictIs(page, 'zero_within');
      const begin = page.locator('[data-key="after-zero-wished"]');
      await page.waitForFunction(
        (words) => document.querySelector('[data-key="after-zero-wished"]').textContent === words,
        `Begin job J-Z2-${stamp}`,
      );
      await begin.click();
      await purposeIs(page, purpose);
      const { tags } = await firstStation(page);
      assert.deepEqual([tags.job, tags.purpose], [`J-Z2-${stamp}`, purpose]);
      assert.notEqual(await focusOn(page), '');
    }));
});
