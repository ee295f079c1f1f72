// The page says what is so: live, hostile, old, back again. One part of page.spec.mjs.

import { describe, test } from 'node:test';
import assert from 'node:assert/strict';
import { inkHeight, overflowing } from './page.helpers.mjs';
import {
  changeState,
  freshSize,
  gate,
  HOSTILE,
  PHONE,
  posted,
  readingTo,
  shoot,
  stateOf,
  URL_OF_PAGE,
  withPage,
} from './page.setting.mjs';

describe('truth', () => {
  test('a live file that cannot be written is told over everything, and readings are not', () =>
    withPage(
      {
        viewport: PHONE,
        prepare: (page) =>
          changeState(page, ({ record }) => {
            record.live = { folder: HOSTILE, file: null, upto: 0, trouble: `The disk is full. ${HOSTILE}`, notice: null };
          }),
      },
      async (page) => {
        const told = page.locator('#live-trouble');
        assert.equal(await told.isVisible(), true);
        assert.match(await told.textContent(), /^The disk is full/);
        assert.equal(await page.textContent('#urgent'), '', 'nobody is told that a reading was lost');
        assert.deepEqual(await overflowing(page), []);
      },
    ));

  test('nothing outside is asked for, nor could be', () =>
    withPage({}, async (page, seen) => {
      // 192.0.2.0/24 is nobody's (RFC 5737).
      const outside = await page.context().newPage();
      const reply = await outside.goto('http://192.0.2.1/').catch(() => null);
      assert.ok(reply === null || reply.status() === 403);
      assert.ok(gate.turnedAway.includes('192.0.2.1'));
      assert.deepEqual([...seen.hosts], [new URL(URL_OF_PAGE).host]);
      assert.deepEqual(seen.complaints, []);
    }));

  test('a reading shows at once, with the day’s count, and without asking for everything again', () =>
    withPage({}, async (page) => {
      await page.waitForTimeout(1500);
      const [station] = (await stateOf(page)).stations;
      const asked = [];
      page.on('request', (request) => asked.push(new URL(request.url()).pathname));
      const { body } = await posted(page, ...readingTo(station, freshSize(station)));
      await page.waitForSelector(`[data-key="void-${body.entry}"]`, { timeout: 1000 });
      await page.waitForFunction(
        (count) => document.querySelector('[data-part="today"] dd').textContent === String(count),
        station.today.readings + 1,
        { timeout: 1000 },
      );
      await page.waitForTimeout(1500);
      assert.deepEqual(asked.filter((path) => path === '/api/state'), []);
    }));

  test('a second page shows the same within a second', () =>
    withPage({}, (page) =>
      withPage({ viewport: PHONE }, async (second) => {
        const [station] = (await stateOf(page)).stations;
        const { body } = await posted(page, ...readingTo(station, freshSize(station)));
        const shows = (which) =>
          which.waitForSelector(`[data-key="void-${body.entry}"]`, { timeout: 1000 });
        await Promise.all([shows(page), shows(second)]);
        const piece = `to piece ${(await stateOf(page)).stations[0].tags.piece + 2}`;
        await page.click('#next-piece');
        const counts = (which) =>
          which.waitForFunction(
            (wanted) => document.querySelector('#next-piece').textContent.includes(wanted),
            piece,
            { timeout: 1000 },
          );
        await counts(second);
        await page.click('#piece-back');
        await page.waitForTimeout(1000);
        for (const part of ['word', 'left', 'digits', 'unit', 'belongs', 'next-press', 'next-more', 'recent', 'today', 'tags'])
          assert.equal(
            await second.textContent(`[data-part="${part}"]`),
            await page.textContent(`[data-part="${part}"]`),
            part,
          );
      }),
    ));

  test('hostile tags and remarks in the record stay text', () =>
    withPage({}, async (page) => {
      const [station] = (await stateOf(page)).stations;
      const path = `/api/stations/${encodeURIComponent(station.name)}/tags`;
      assert.equal((await posted(page, path, { position: HOSTILE })).status, 200);
      const { body } = await posted(page, ...readingTo(station, freshSize(station)));
      await posted(page, `/api/readings/${body.entry}/comment`, { text: HOSTILE, by: HOSTILE });
      await page.waitForFunction(
        (text) => document.querySelector('[data-part="recent"]').textContent.includes(`“${text}”`),
        HOSTILE,
      );
      assert.ok((await page.textContent('[data-part="belongs"]')).includes(HOSTILE));
      assert.equal(await page.evaluate(() => window.ran), undefined);
      assert.equal(await page.locator('body script, img:not([data-part])').count(), 0);
      assert.deepEqual(await overflowing(page), []);
      // Marks that turn the direction would let a tag rewrite what stands beside it.
      await posted(page, path, { position: 'end \u202eetisoppo' });
      await page.waitForFunction(() =>
        document.querySelector('[data-tag="position"] strong').textContent.startsWith('end'),
      );
      assert.doesNotMatch(await page.textContent('body'), /[\u202a-\u202e\u2066-\u2069]/);
      await posted(page, path, { position: null });
      await posted(page, `/api/readings/${body.entry}/void`, { reason: 'other', by: '' });
    }));

  test('hostile text stays text, wherever it comes from', () =>
    withPage(
      {
        prepare: (page) =>
          changeState(page, (state) => {
            const [station] = state.stations;
            Object.assign(state.shop, {
              name: HOSTILE,
              operators: [HOSTILE],
              methods: [HOSTILE],
              void_reasons: [HOSTILE],
            });
            Object.assign(station, { instrument: HOSTILE, port: HOSTILE, problem: HOSTILE });
            Object.assign(station.link, { state: 'unplugged', sentence: HOSTILE, hint: HOSTILE });
            Object.assign(station, {
              zero: { state: 'off_by', sentence: HOSTILE, at: HOSTILE, asked_for: true },
              causes: [HOSTILE],
              about_wires: [HOSTILE],
              form: { piece: 1, sentence: HOSTILE, cautions: [HOSTILE] },
              trust: {
                uncertainty: HOSTILE,
                sentence: HOSTILE,
                rule: HOSTILE,
                accept: { min: HOSTILE, max: HOSTILE },
                rows: [{ source: HOSTILE, spread: HOSTILE, contribution: HOSTILE, share: HOSTILE }],
              },
            });
            Object.assign(station.tags, {
              job: HOSTILE,
              feature: HOSTILE,
              position: HOSTILE,
              operator: HOSTILE,
              wire_set: HOSTILE,
            });
            for (const reading of [station.last, ...station.recent]) {
              Object.assign(reading, {
                feature: HOSTILE,
                comment: HOSTILE,
                notes: [HOSTILE],
                left: HOSTILE,
                words: HOSTILE,
                flags: [HOSTILE],
                uncertainty: HOSTILE,
                corrections: [{ kind: 'zero', words: HOSTILE, amount: HOSTILE }],
              });
            }
            for (const job of state.jobs) Object.assign(job, { drawing: HOSTILE });
          }),
      },
      async (page) => {
        await page.click('#void-last');
        await page.waitForTimeout(300);
        assert.equal(await page.evaluate(() => window.ran), undefined);
        assert.equal(await page.locator('body script, img:not([data-part])').count(), 0);
        assert.ok((await page.textContent('[data-part="recent"]')).includes(HOSTILE));
        assert.deepEqual(await overflowing(page), []);
      },
    ));

  test('an instrument that cannot be heard is said in large letters', () =>
    withPage(
      {
        prepare: (page) =>
          changeState(page, ({ stations: [station] }) => {
            station.link = {
              state: 'unplugged',
              since: station.link.since,
              sentence: 'The cable is out.',
              hint: 'Put it back.',
            };
          }),
      },
      async (page) => {
        assert.ok(await page.locator('.deaf-word').isVisible());
        assert.ok((await inkHeight(page, '.deaf-word')) >= 28);
        assert.ok(await page.locator('[data-part="deaf-hint"]').isVisible());
      },
    ));

  test('with several stations the address keeps the chosen one', () =>
    withPage(
      {
        hash: '#station=second%20lathe',
        prepare: (page) =>
          changeState(page, ({ stations }) => {
            stations.push({ ...structuredClone(stations[0]), name: 'second lathe' });
          }),
      },
      async (page) => {
        assert.equal(await page.textContent('#station-name'), 'second lathe');
        const { length } = (await stateOf(page)).stations;
        assert.equal(await page.locator('#overview .card').count(), length);
        await page.click('#overview .card:first-child');
        await page.waitForFunction(
          () => document.querySelector('#station-name').textContent !== 'second lathe',
        );
        await page.reload();
        await page.waitForSelector('[data-part="digits"]:not(:empty)');
        assert.notEqual(await page.textContent('#station-name'), 'second lathe');
      },
    ));

  test('a dead stream raises the banner: first asking again and again, then old, then back', () =>
    withPage({ prepare: (page) => page.route('**/events', (route) => route.abort()) }, async (page) => {
      const alert = page.locator('#line-alert');
      await page.waitForSelector('#line-banner[data-line="polling"]', { timeout: 10000 });
      assert.equal(await alert.getAttribute('role'), 'alert');
      assert.match(await alert.textContent(), /since \d/);
      await page.route('**/api/state', (route) => route.abort());
      await page.waitForSelector('#line-banner[data-line="lost"]', { timeout: 10000 });
      assert.match(await alert.textContent(), /^OLD: nothing heard since \d\d:\d\d:\d\d\. .*Check/);
      assert.ok((await page.locator('#line-banner').boundingBox()).y >= 0);
      await shoot(page, 'page-stale.png');
      await page.unroute('**/events');
      await page.unroute('**/api/state');
      await page.waitForSelector('#line-banner', { state: 'hidden', timeout: 10000 });
    }));

  test('a stream that is cut raises the banner, and the page comes back by itself', () =>
    withPage({}, async (page) => {
      try {
        gate.cut();
        await page.waitForSelector('#line-banner[data-line="lost"]', { timeout: 8000 });
        assert.ok(await page.locator('#line-banner').isVisible());
      } finally {
        gate.mode = 'open';
      }
      await page.waitForSelector('#line-banner', { state: 'hidden', timeout: 8000 });
    }));

  test('a stream that dies without a word is noticed too', () =>
    withPage({}, async (page) => {
      try {
        gate.mode = 'frozen';
        await page.waitForSelector('#line-banner[data-line="lost"]', { timeout: 16000 });
        assert.match(await page.textContent('#line-alert'), /^OLD: nothing heard since/);
      } finally {
        gate.mode = 'open';
      }
      await page.waitForSelector('#line-banner', { state: 'hidden', timeout: 15000 });
    }));

  test('a page that wakes shows within two seconds what happened meanwhile', () => {
    let asleep = true;
    return withPage(
      {
        prepare: async (page) => {
          await page.route('**/events', (route) => route.abort());
          await changeState(page, ({ stations }) => {
            if (!asleep) stations[0].last.piece = 4711;
          });
        },
      },
      async (page) => {
        asleep = false;
        await page.evaluate(() => document.dispatchEvent(new Event('visibilitychange')));
        await page.waitForFunction(
          () => document.querySelector('[data-part="whose"]').textContent.includes('4711'),
          null,
          { timeout: 2000 },
        );
      },
    );
  });
});
