// Finding readings, copying them, taking them along. One part of page.spec.mjs.

import { describe, test } from 'node:test';
import assert from 'node:assert/strict';
import { overflowing } from './page.helpers.mjs';
import {
  DESKTOP,
  firstStation,
  freshSize,
  PHONE,
  posted,
  readingTo,
  serious,
  shoot,
  stamp,
  stateOf,
  tagsOf,
  withPage,
} from './page.setting.mjs';

const JOB = `F-${stamp}`;
const LOT = '0042-07';
const READINGS = 104;
const READY = '#rows[aria-busy="false"]';
const found = (words, options = {}) => ({ path: `find.html?${new URLSearchParams(words)}`, ready: READY, ...options });
const asked = (page, path) => page.evaluate((to) => fetch(to).then((answer) => answer.json()), path);
const rowsOf = (page) => page.locator('#rows tbody tr');
const settled = (page) => page.waitForSelector(READY);
const sumSays = (page, words) =>
  page.waitForFunction((wanted) => document.querySelector('#sum').textContent.includes(wanted), words);

async function done(page, path, body) {
  const answer = await posted(page, path, body);
  assert.equal(answer.status, 200, JSON.stringify(answer.body));
  return answer.body;
}

/** A job of its own with more readings than fit on a page, the last but one of them void. */
async function makeJob(page) {
  const { stations, jobs } = await stateOf(page);
  const [station] = stations;
  const like = jobs.find(({ job }) => job === station.tags.job);
  const { revision: _revision, entry: _entry, ...form } = like;
  await done(page, '/api/jobs', { ...form, job: JOB, lot: LOT, readings_a_piece: 1, by: 'AK' });
  await done(page, tagsOf(station), { job: JOB, purpose: 'inspecting', operator: 'AK' });
  const entries = [];
  for (let at = 0; at < READINGS; at += 1) {
    const { entry } = await done(page, ...readingTo(station, freshSize(station)));
    entries.push(entry);
  }
  await done(page, `/api/readings/${entries.at(-2)}/void`, { reason: '=1+1 wire slipped', by: 'AK' });
  return { station, entries };
}

/** What the clipboard holds, by pasting it. */
async function pasted(page) {
  await page.evaluate(() => {
    const box = document.createElement('div');
    box.id = 'box';
    box.contentEditable = 'true';
    document.body.append(box);
    box.addEventListener('paste', (event) => {
      const of = (kind) => event.clipboardData.getData(kind);
      window.pasted = { text: of('text/plain'), table: of('text/html') };
      event.preventDefault();
    });
    box.focus();
  });
  await page.keyboard.press('Control+V');
  const got = await page.evaluate(() => window.pasted);
  await page.evaluate(() => document.querySelector('#box').remove());
  return got;
}

/** The browser on another computer: the page's address is not secure there, and it gets no clipboard. */
const overTheNetwork = (page) =>
  page.addInitScript(() => Object.defineProperty(Navigator.prototype, 'clipboard', { get: () => undefined }));
const CLIPBOARD = ['clipboard-read', 'clipboard-write'];

describe('finding readings', () => {
  test('the main page leads there, with the job', () =>
    withPage({}, async (page) => {
      await makeJob(page);
      await page.waitForFunction((job) => document.querySelector('[data-part="find"]').href.includes(job), JOB);
      await page.click('[data-part="find"]');
      await settled(page);
      assert.equal(await page.inputValue('input[name="job"]'), JOB);
      await sumSays(page, `${READINGS} readings on ${READINGS} pieces.`);
      assert.equal(await rowsOf(page).count(), 100);
    }));

  test('what is shown is what the record holds; void rows are struck through with their reason', () =>
    withPage(found({ job: JOB }), async (page, seen) => {
      const { rows } = await asked(page, `/api/readings?job=${JOB}&most=3`);
      const [newest, voided] = rows;
      const first = rowsOf(page).nth(0);
      assert.equal(await first.getAttribute('data-entry'), newest.entry);
      const told = await first.textContent();
      for (const part of [newest.local_time, JOB, newest.pitch_diameter, newest.verdict_words, 'AK'])
        assert.ok(told.includes(part), `${part} in ${told}`);
      const second = rowsOf(page).nth(1);
      assert.match(await second.textContent(), /VOID.*void: =1\+1 wire slipped \(AK\)/);
      assert.equal(await second.locator('s').count(), 2);
      assert.equal(voided.void_reason, '=1+1 wire slipped');
      const { standing } = await asked(page, `/api/readings/count?job=${JOB}`);
      assert.equal(Object.values(standing).reduce((sum, each) => sum + each), READINGS);
      for (const [code, count] of Object.entries(standing))
        assert.match(await page.textContent(`#kinds [data-kind="${code}"]`), new RegExp(`${count}$`));
      assert.deepEqual(seen.complaints, []);
    }));

  test('older and newer pages have addresses of their own', () =>
    withPage(found({ job: JOB }), async (page) => {
      const newest = await rowsOf(page).nth(0).getAttribute('data-entry');
      const last = await rowsOf(page).nth(99).getAttribute('data-entry');
      await page.click('#paging >> text=Older');
      await page.waitForFunction(() => document.querySelectorAll('#rows tbody tr').length === 4);
      assert.ok(Number(await rowsOf(page).nth(0).getAttribute('data-entry')) < Number(last));
      assert.equal(await page.locator('#paging >> text=Older').count(), 0);
      const address = page.url();
      assert.match(address, /before=\d+/);
      await page.click('#paging >> text=Newer');
      await page.waitForFunction(() => document.querySelectorAll('#rows tbody tr').length === 100);
      assert.equal(await rowsOf(page).nth(0).getAttribute('data-entry'), newest);
      await page.goBack();
      await page.waitForFunction(() => document.querySelectorAll('#rows tbody tr').length === 4);
      await page.goto(address);
      await settled(page);
      assert.equal(await rowsOf(page).count(), 4);
    }));

  test('the register is offered, anything may be typed, and the search is in the address', () =>
    withPage(found({}), async (page) => {
      await page.waitForSelector('datalist option', { state: 'attached' });
      const offered = await page.evaluate(() =>
        ['job', 'lot', 'instrument'].map((name) =>
          [...document.querySelector(`input[name="${name}"]`).list.options].map(({ value }) => value),
        ),
      );
      const { instruments } = await stateOf(page);
      assert.ok(offered[0].includes(JOB) && offered[1].includes(LOT));
      for (const { instrument, serial } of instruments) assert.ok(offered[2].includes(instrument) && offered[2].includes(serial));
      await page.click('#more summary');
      await page.fill('input[name="lot"]', '0042*');
      await page.fill('input[name="job"]', JOB.toLowerCase());
      await page.fill('input[name="piece"]', '3');
      await page.keyboard.press('Enter');
      await sumSays(page, '1 reading on 1 piece.');
      const words = new URL(page.url()).searchParams;
      assert.deepEqual([...words], [['job', JOB.toLowerCase()], ['piece', '3'], ['lot', '0042*']]);
      await page.reload();
      await settled(page);
      assert.equal(await page.inputValue('input[name="lot"]'), '0042*');
      assert.equal(await rowsOf(page).count(), 1);
    }));

  test('what cannot be looked for is refused beside its field, and nothing else is shown for it', () =>
    withPage(found({ job: JOB }), async (page) => {
      await page.fill('input[name="piece"]', 'seven');
      await page.click('#look');
      await page.waitForSelector('input[name="piece"][aria-invalid="true"]');
      assert.equal(await page.evaluate(() => document.activeElement.name), 'piece');
      assert.equal(await page.inputValue('input[name="piece"]'), 'seven');
      // A file of something else than was asked for must not be had.
      assert.equal(await page.isVisible('#csv'), false);
      assert.equal(await rowsOf(page).count(), 0);
      await page.fill('input[name="piece"]', '');
      await page.fill('input[name="from"]', '2026-03-31');
      await page.fill('input[name="to"]', '2026-03-30');
      await page.click('#look');
      await page.waitForSelector('input[name="to"][aria-invalid="true"]');
      await page.goto(new URL('find.html?jbo=J-1', page.url()).href);
      await page.waitForFunction(() => document.querySelector('#problem').textContent.includes('`jbo`'));
      assert.equal(await rowsOf(page).count(), 0);
    }));

  test('one tap takes what was measured between two calibrations', () =>
    withPage(found({}), async (page) => {
      const { instruments } = await stateOf(page);
      const { revision: _revision, entry: _entry, ...form } = instruments[0];
      const today = new Date().toISOString().slice(0, 10);
      const late = await posted(page, '/api/instruments', { ...form, calibrated: '2031-01-01', due: '2030-01-01', by: 'AK' });
      assert.deepEqual([late.status, Object.keys(late.body.fields)], [422, ['calibrated']]);
      for (const [calibrated, certificate] of [['2019-05-06', 'C-901'], [today, 'C-902']])
        await done(page, '/api/instruments', { ...form, calibrated, certificate, due: '', by: 'AK' });
      await page.fill('input[name="instrument"]', form.serial);
      await page.waitForSelector('.period-row');
      const periods = await page.locator('.period-row .chip').allTextContents();
      assert.deepEqual(periods, [
        'until 2019-05-06',
        `2019-05-06 to ${today}, certificate C-901`,
        `from ${today} on, certificate C-902`,
      ]);
      await page.click('.period-row .chip:nth-child(2)');
      await page.waitForFunction(() => location.search.includes('from=2019-05-06'));
      await settled(page);
      const words = new URL(page.url()).searchParams;
      assert.deepEqual([...words], [['instrument', form.instrument], ['from', '2019-05-06'], ['to', today]]);
      assert.ok((await rowsOf(page).count()) > 0);
      await done(page, '/api/instruments', { ...form, by: 'AK' });
    }));

  for (const colorScheme of ['light', 'dark']) {
    for (const [name, viewport] of [['desktop', DESKTOP], ['phone', PHONE]]) {
      test(`usable for everybody, ${name}, ${colorScheme}`, () =>
        withPage(found({ job: JOB }, { viewport, colorScheme }), async (page, seen) => {
          await sumSays(page, 'readings');
          await shoot(page, `find-${name}-${colorScheme}.png`);
          await page.click('#copy-ways button:nth-child(2)');
          await page.waitForSelector('.copy');
          await page.click('#more summary');
          assert.deepEqual(await serious(page), []);
          assert.deepEqual(await overflowing(page).then((out) => out.filter((each) => !/^T[A-Z]+\.$|TABLE|TBODY/.test(each))), []);
          assert.deepEqual(seen.complaints, []);
        }));
    }
  }

  test('nothing runs off sideways at 320 px, and every control is at least 24 px both ways', () =>
    withPage(found({ job: JOB }, { viewport: { width: 320, height: 844 } }), async (page) => {
      assert.deepEqual(await overflowing(page), []);
      const small = await page.evaluate(() =>
        [...document.querySelectorAll('button, select, input, a, summary, .choose')]
          .filter((each) => each.offsetParent && !each.closest('label label, .skip') && each.type !== 'checkbox' && each.type !== 'radio')
          .filter((each) => each.offsetWidth < 24 || each.offsetHeight < 24)
          .map((each) => each.outerHTML),
      );
      assert.deepEqual(small, []);
    }));

  test('a file is taken along as it was shown, and the choice is remembered', () =>
    withPage(found({ job: JOB.toLowerCase() }), async (page) => {
      await page.waitForFunction(() => document.querySelector('#preview').textContent.includes('pitch_diameter'));
      await page.check('#take input[value="comma"]');
      await page.waitForFunction(() => /;\d+,\d+;/.test(document.querySelector('#preview').textContent));
      const shown = (await page.textContent('#preview')).split('\n');
      assert.equal(shown.length, 3);
      const path = await page.getAttribute('#csv', 'href');
      const file = await page.evaluate((to) => fetch(to).then((answer) => answer.text()), path);
      assert.match(path, /dialect=comma/);
      const beside = await page.getAttribute('#descriptor', 'href');
      const [described] = (await page.evaluate((to) => fetch(to).then((answer) => answer.json()), beside)).resources;
      assert.equal(described.bytes, new TextEncoder().encode(file).length + (described.byteOrderMark ? 3 : 0));
      assert.equal(described.dialect.delimiter, ';');
      assert.equal(file.split('\r\n').length - 2, READINGS);
      await page.check('#take input[value="pieces"]');
      await page.waitForFunction(() => document.querySelector('#preview').textContent.includes('pitch_diameter_mean'));
      await page.reload();
      await settled(page);
      assert.ok(await page.isChecked('#take input[value="comma"]'));
      assert.ok(await page.isChecked('#take input[value="pieces"]'));
      assert.match(await page.getAttribute('#csv', 'href'), /rows=pieces/);
      assert.match(await page.getAttribute('#report', 'href'), new RegExp(`/report\\?job=${JOB}$`));
    }));
});

describe('copying readings', () => {
  for (const [where, prepare] of [
    ['on this computer', undefined],
    ['over the network, where pages get no clipboard', overTheNetwork],
  ]) {
    test(`chosen rows come as text and as a table, ${where}`, () =>
      withPage(found({ job: JOB }, { prepare, permissions: CLIPBOARD }), async (page) => {
        assert.equal(await page.evaluate(() => Boolean(navigator.clipboard)), !prepare);
        const { rows } = await asked(page, `/api/readings?job=${JOB}&most=2`);
        for (const at of [0, 1]) await rowsOf(page).nth(at).locator('input').check();
        await page.click('#copy-ways button:nth-child(1)');
        assert.match(await page.textContent('.copy-mind'), /^1 of these does not count/);
        await page.check('.copy input[value=","]');
        const comma = rows[0].pitch_diameter.replace('.', ',');
        assert.ok((await page.textContent('.copy-rows')).includes(comma));
        await page.click('.copy .primary');
        await page.waitForFunction(() => document.querySelector('.copy-told').textContent.startsWith('2 rows copied'));
        const { text, table } = await pasted(page);
        const lines = text.trimEnd().split(/\r?\n/).map((line) => line.split('\t'));
        assert.equal(lines.length, 3);
        const at = lines[0].indexOf('Pitch diameter');
        assert.deepEqual(
          lines.slice(1).map((cells) => cells[at]),
          rows.map((row) => row.pitch_diameter.replace('.', ',')),
        );
        assert.equal(lines[2][lines[0].indexOf('Void')], "'=1+1 wire slipped");
        assert.match(table, /mso-number-format:["\\&quot;]*@/);
        assert.ok(table.includes(`>${comma}</td>`), table);
        assert.ok(table.includes(">'=1+1 wire slipped</td>"));
      }));
  }

  test('where not even that is let, the rows stand selected for the keyboard', () =>
    withPage(
      found({ job: JOB }, {
        permissions: CLIPBOARD,
        prepare: async (page) => {
          await overTheNetwork(page);
          await page.addInitScript(() => {
            document.execCommand = () => false;
          });
        },
      }),
      async (page) => {
        await page.click('#copy-ways button:nth-child(2)');
        await page.check('.copy input[value="."]');
        await page.click('.copy .primary');
        await page.waitForFunction(() => document.querySelector('.copy-told').textContent.includes('press Ctrl and C'));
        await page.keyboard.press('Control+C');
        const { text, table } = await pasted(page);
        assert.equal(text.trimEnd().split('\n').length, 101);
        assert.match(table, /mso-number-format/);
      },
    ));

  test('a job’s pieces, a row each', () =>
    withPage(found({ job: JOB }, { permissions: CLIPBOARD }), async (page) => {
      await page.click('#copy-ways button:nth-child(3)');
      await page.waitForSelector('.copy');
      await page.check('.copy input[value="."]');
      await page.click('.copy .primary');
      await page.waitForFunction((many) => document.querySelector('.copy-told').textContent.startsWith(`${many} rows`), READINGS);
      const { text } = await pasted(page);
      const lines = text.trimEnd().split(/\r?\n/).map((line) => line.split('\t'));
      assert.equal(lines.length, READINGS + 1);
      assert.match(lines[1][lines[0].indexOf('pitch diameter mean')], /^\d+\.\d+$/);
    }));

  test('the station’s newest readings, and the mark chosen last', () =>
    withPage({ permissions: CLIPBOARD }, async (page) => {
      const { recent } = await firstStation(page);
      await page.click('#copy-recent');
      await page.check('.copy input[value=","]');
      await page.keyboard.press('Escape');
      assert.equal(await page.locator('.copy').count(), 0);
      await page.click('#copy-recent');
      assert.ok(await page.isChecked('.copy input[value=","]'));
      await page.click('.copy .primary');
      await page.waitForFunction(() => document.querySelector('.copy-told').textContent.includes('copied'));
      const { text } = await pasted(page);
      const lines = text.trimEnd().split(/\r?\n/).map((line) => line.split('\t'));
      const pitch = lines[0].indexOf('Pitch diameter');
      assert.deepEqual(
        lines.slice(1).map((cells) => cells[pitch]),
        recent.map((reading) => (reading.pitch_diameter ?? '').replace('.', ',')),
      );
      const { rows } = await asked(page, `/api/readings?most=1&only=local_time&station=${encodeURIComponent(recent[0].station)}`);
      assert.equal(lines[1][0], rows[0].local_time);
    }));
});
