// Jobs, wire sets and instruments. One part of page.spec.mjs.

import { describe, test } from 'node:test';
import assert from 'node:assert/strict';
import { posted, stamp, stateOf, withPage } from './page.setting.mjs';

describe('forms', () => {
  test('a wire set: a diameter that is none is refused at its field, then all is stored', () =>
    withPage({}, async (page) => {
      await page.click('#new-wire-set');
      await page.fill('.sheet input[name="wire_set"]', `WS-${stamp}`);
      await page.check('.sheet input[value="in"]');
      for (const at of [0, 1, 2]) await page.fill(`.sheet input[name="diameter_${at}"]`, '0.04811');
      await page.fill('.sheet input[name="diameter_1"]', '-0.04811');
      await page.click('.sheet .primary');
      await page.waitForSelector('.sheet input[name="diameter_1"][aria-invalid="true"]');
      assert.equal(await page.inputValue('.sheet input[name="diameter_1"]'), '-0.04811');
      assert.equal(await page.inputValue('.sheet input[name="wire_set"]'), `WS-${stamp}`);
      await page.fill('.sheet input[name="diameter_1"]', '0.04811');
      await page.fill('.sheet input[name="due"]', '2040-01-31');
      await page.click('.sheet .primary');
      await page.waitForSelector('.stored');
      const stored = (await stateOf(page)).wire_sets.find((set) => set.wire_set === `WS-${stamp}`);
      assert.deepEqual(stored.diameters, ['0.04811', '0.04811', '0.04811']);
      assert.deepEqual([stored.unit, stored.convention, stored.due], ['in', 'under_load', '2040-01-31']);
    }));

  test('an instrument is stored as typed', () =>
    withPage({}, async (page) => {
      await page.click('#new-instrument');
      const typed = {
        instrument: `MIC-${stamp}`,
        serial: 'TM-0400',
        range_min: '1',
        range_max: '2',
        resolution: '0.00005',
        certificate: 'C-1200',
        due: '2040-01-31',
      };
      for (const [name, value] of Object.entries(typed)) await page.fill(`.sheet input[name="${name}"]`, value);
      await page.check('.sheet input[value="in"]');
      await page.click('.sheet .primary');
      await page.waitForSelector('.stored');
      const { instruments } = await stateOf(page);
      const stored = instruments.find(({ instrument }) => instrument === typed.instrument);
      for (const [name, value] of Object.entries(typed)) assert.equal(stored[name], value, name);
      assert.equal(stored.unit, 'in');
    }));

  test('a job with its window over the wires is stored and taken up at the station', () =>
    withPage({}, async (page) => {
      const before = (await stateOf(page)).stations[0].tags;
      await page.click('#new-job');
      await page.fill('.sheet input[name="job"]', `J-${stamp}`);
      await page.fill('.sheet input[name="name"]', 'stud end');
      await page.fill('.sheet input[name="thread"]', '1 1/16-12 UN-2A');
      await page.selectOption('.sheet select[name="wire_set"]', `WS-${stamp}`);
      await page.waitForFunction(() => /Over these wires/.test(document.querySelector('.preview').textContent));
      // Three wires on a 60 degree thread: M = E + 3W - 0.866025 P (NBS Handbook H28, from memory);
      // the lead changes less than the last place here.
      for (const pitchDiameter of [1.001, 1.0067]) {
        const overWires = (pitchDiameter + 3 * 0.04811 - 0.8660254 / 12).toFixed(4);
        assert.match(await page.textContent('.preview'), new RegExp(overWires.replace('.', '\\.')));
      }
      await page.click('.sheet .primary');
      await page.waitForFunction(
        (job) => document.querySelector('[data-tag="job"] strong').textContent.startsWith(job),
        `J-${stamp}`,
      );
      const { tags } = (await stateOf(page)).stations[0];
      assert.deepEqual([tags.job, tags.feature, tags.wire_set], [`J-${stamp}`, 'stud end', `WS-${stamp}`]);
      const { job, feature, wire_set } = before;
      const path = `/api/stations/${encodeURIComponent((await stateOf(page)).stations[0].name)}/tags`;
      assert.equal((await posted(page, path, { job, feature, wire_set })).status, 200);
    }));

  test('a designation shows its limits; a refusal keeps what was typed and takes the focus there', () =>
    withPage({}, async (page) => {
      await page.click('#new-job');
      await page.fill('.sheet input[name="job"]', 'NOT-STORED-1');
      await page.fill('.sheet input[name="thread"]', '1 1/16-12 UN-2A');
      await page.waitForFunction(() => /Pitch diameter/.test(document.querySelector('.preview').textContent));
      // ASME B1.1, 1 1/16-12 UN-2A: pitch diameter 1.0010 to 1.0067 in (from memory of the table).
      assert.match(await page.textContent('.preview'), /1\.00[01]\d* to 1\.006\d* in/);
      await page.fill('.sheet input[name="thread"]', '1/2-13 NOT-A-THREAD');
      await page.waitForSelector('.preview-refusal');
      await page.click('.sheet .primary');
      await page.waitForFunction(() => document.activeElement.name === 'thread');
      const field = page.locator('.sheet input[name="thread"]');
      assert.equal(await field.getAttribute('aria-invalid'), 'true');
      const described = (await field.getAttribute('aria-describedby')).split(' ')[0];
      assert.notEqual(await page.textContent(`#${described}`), '');
      assert.equal(await field.inputValue(), '1/2-13 NOT-A-THREAD');
      assert.equal(await page.inputValue('.sheet input[name="job"]'), 'NOT-STORED-1');
      assert.ok(!(await stateOf(page)).jobs.some(({ job }) => job === 'NOT-STORED-1'));
    }));

  test('a known job is chosen in at most three inputs', () =>
    withPage({}, async (page) => {
      const state = await stateOf(page);
      const job = state.stations[0].tags.job ?? state.jobs[0].job;
      await page.selectOption('[data-key="job"]', job);
      await page.click('[data-key="job-set"]');
      await page.waitForFunction(
        (name) => document.querySelector('[data-tag="job"] strong').textContent.startsWith(name),
        job,
      );
    }));
});
