// The status page in a real browser, against a running collector.
//
//   OVERWIRE_URL    the page of a collector with one station that has a job and some readings
//   OVERWIRE_SHOTS  a folder for screenshots (optional)
//   CHROMIUM        the browser to start (default /usr/bin/chromium)
//
// The checks hold for any data: they read /api/state and compare the page with it. They
// store readings, a job, wires and an instrument, so give them a record of their own.
// The README's picture, tests/browser/page.png, is page-desktop-light.png of
//   OVERWIRE_SHOTS=folder cargo test -p overwire-tests --test page
//
// All traffic of the browser goes through a gate that knows the collector only.
// Sources: contrast, reflow, target size, keyboard and status messages are from
// WCAG 2.2 (1.4.3, 1.4.6, 1.4.10, 2.5.8, 2.1.1, 4.1.3). The share of the window
// taken by the digits and the 76 px of the primary buttons: common practice, no source.

import { after, before, describe, test } from 'node:test';
import assert from 'node:assert/strict';
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import axe from 'axe-core';
import { chromium } from 'playwright-core';
import { contrast, focusOn, gateTo, inkHeight, overflowing, tabTo } from './page.helpers.mjs';

const URL_OF_PAGE = process.env.OVERWIRE_URL;
const SHOTS = process.env.OVERWIRE_SHOTS;
const HOSTILE = '<img src=x onerror="window.ran=1"><script>window.ran=1</script>';
const VERDICTS = [
  'pass',
  'fail_under',
  'fail_over',
  'still_to_cut',
  'undecided',
  'held',
  'not_stored',
  'void',
  'none',
];
const DESKTOP = { width: 1280, height: 800 };
const PHONE = { width: 390, height: 844 };

let browser;
let gate;

before(async () => {
  assert.ok(URL_OF_PAGE, 'set OVERWIRE_URL to the page of a running collector');
  if (SHOTS) mkdirSync(SHOTS, { recursive: true });
  gate = await gateTo(URL_OF_PAGE);
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM || '/usr/bin/chromium',
    args: [
      '--headless',
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      `--proxy-server=${gate.address}`,
      '--proxy-bypass-list=<-loopback>',
    ],
  });
});

after(async () => {
  await browser?.close();
  gate?.close();
});

/** Opens the page, runs `body`, and closes it again. `prepare` runs before it loads. */
async function withPage(
  { viewport = DESKTOP, colorScheme = 'light', hash = '', prepare, forcedColors },
  body,
) {
  const context = await browser.newContext({ viewport, colorScheme, forcedColors, reducedMotion: 'reduce' });
  const page = await context.newPage();
  const seen = { complaints: [], hosts: new Set() };
  page.on('console', (message) => message.type() === 'error' && seen.complaints.push(message.text()));
  page.on('pageerror', (error) => seen.complaints.push(error.message));
  page.on('request', (request) => seen.hosts.add(new URL(request.url()).host));
  try {
    await prepare?.(page);
    await page.goto(URL_OF_PAGE + hash);
    await page.waitForSelector('[data-part="digits"]:not(:empty)');
    await body(page, seen);
  } finally {
    await context.close();
  }
}

const stateOf = (page) => page.evaluate(() => fetch('/api/state').then((answer) => answer.json()));
const shoot = (page, name) => (SHOTS ? page.screenshot({ path: join(SHOTS, name) }) : null);

/** Lets the page see the real state after `change` has had its way with it. */
function changeState(page, change) {
  return page.route('**/api/state', async (route) => {
    const answer = await route.fetch();
    const state = await answer.json();
    change(state);
    await route.fulfill({ response: answer, json: state });
  });
}

/** The newest reading asks nothing and the instrument is heard: the case the sizes are meant for. */
const atRest = (page) =>
  changeState(page, ({ stations }) => {
    stations.length = 1;
    stations[0].link.state = 'listening';
    stations[0].last.held = null;
  });

let sizes = 0;

/** A size inside the limits over wires that was not measured before, as a display shows it. */
function freshSize({ thread }) {
  sizes += 1;
  const [min, max] = [thread.window.min, thread.window.max].map(Number);
  const places = thread.unit === 'in' ? 5 : 3;
  return (min + (max - min) * (0.3 + 0.4 * ((sizes * 0.37) % 1))).toFixed(places);
}

/** Posts as a program of the shop's own would, from within the page. */
const posted = (page, path, body) =>
  page.evaluate(
    async ([to, what]) => {
      const headers = { 'content-type': 'application/json' };
      const answer = await fetch(to, { method: 'POST', headers, body: JSON.stringify(what) });
      return { status: answer.status, body: await answer.json() };
    },
    [path, body],
  );

const readingTo = (station, text, unit = station.thread.unit) => [
  `/api/stations/${encodeURIComponent(station.name)}/reading`,
  { text, unit },
];
const firstRow = '.recent tbody tr:first-child';
const stamp = Date.now().toString(36).toUpperCase();

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
    const kinds = ['pass', 'fail_under', 'fail_over', 'still_to_cut', 'undecided'];
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
          await page.evaluate(axe.source);
          const { violations } = await page.evaluate(() => window.axe.run(document));
          const serious = violations.filter(({ impact }) => impact === 'serious' || impact === 'critical');
          assert.deepEqual(
            serious.map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.html).join(' ')}`),
            [],
          );
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

describe('hands', () => {
  test('the next piece by keyboard alone, and back', () =>
    withPage({}, async (page) => {
      const piece = (await stateOf(page)).stations[0].tags.piece;
      await tabTo(page, 'next-piece');
      await page.keyboard.press('Enter');
      await page.waitForFunction(
        (wanted) => document.querySelector('#next-piece').textContent.includes(`to piece ${wanted}`),
        piece + 2,
      );
      assert.equal(await focusOn(page), 'next-piece');
      assert.equal((await stateOf(page)).stations[0].tags.piece, piece + 1);
      await tabTo(page, 'piece-back');
      await page.keyboard.press('Enter');
      await page.waitForFunction(
        (wanted) => document.querySelector('#next-piece').textContent.includes(`to piece ${wanted}`),
        piece + 1,
      );
    }));

  test('single keys do nothing until they are switched on', () =>
    withPage({}, async (page) => {
      await page.keyboard.press('v');
      assert.equal(await page.locator('[data-part="drawer"]').isVisible(), false);
      await page.click('#shortcuts');
      await page.keyboard.press('v');
      assert.equal(await page.locator('[data-part="drawer"]').isVisible(), true);
    }));

  test('a reading typed in is read out without moving the focus, then voided in two presses and restored', () =>
    withPage({}, async (page) => {
      const [station] = (await stateOf(page)).stations;
      await page.click('#type-reading');
      await page.selectOption('.typed-unit', station.thread.unit);
      await page.focus('.typed-input');
      await page.keyboard.type(freshSize(station));
      assert.match(await page.textContent('.echo'), /^Understood: /);
      await page.keyboard.press('Enter');
      await page.waitForFunction(() => document.querySelector('#status').textContent.includes('piece'));
      assert.equal(await page.locator('[role="status"]').count(), 1);
      assert.ok(
        await page.evaluate(() => document.activeElement.classList.contains('typed-input')),
        'focus stays in the field',
      );
      assert.match(await page.textContent('.recent tbody tr:first-child'), /typed in/);

      await page.click('#void-last');
      await page.click('.drawer-buttons button:first-child');
      await page.waitForSelector('.recent tbody tr:first-child s');
      assert.match(await page.textContent('.recent tbody tr:first-child'), /void: /);
      assert.notEqual((await stateOf(page)).stations[0].recent[0].void, null);
      await page.click('.recent tbody tr:first-child button:first-child');
      await page.waitForFunction(() => !document.querySelector('.recent tbody tr:first-child s'));
    }));

  test('the last reading is voided with two presses of Enter and restored by keyboard', () =>
    withPage({}, async (page) => {
      const [station] = (await stateOf(page)).stations;
      const { status, body } = await posted(page, ...readingTo(station, freshSize(station)));
      assert.equal(status, 200);
      await page.waitForSelector(`[data-key="void-${body.entry}"]`);
      await tabTo(page, 'void-last');
      await page.keyboard.press('Enter');
      await page.keyboard.press('Enter');
      await page.waitForSelector(`${firstRow} s`);
      assert.notEqual((await stateOf(page)).stations[0].last.void, null);
      assert.equal(await page.getAttribute('[data-part="verdict"]', 'data-verdict'), 'void');
      await page.focus(`[data-key="restore-${body.entry}"]`);
      await page.keyboard.press('Enter');
      await page.waitForFunction((row) => !document.querySelector(`${row} s`), firstRow);
      assert.equal((await stateOf(page)).stations[0].last.void, null);
    }));

  test('a reading that is held asks, and an answer is one press', () =>
    withPage({}, async (page) => {
      const [station] = (await stateOf(page)).stations;
      const size = freshSize(station);
      const otherUnit = station.thread.unit === 'in' ? 'mm' : 'in';
      // The digits of one unit under the name of the other: the collector asks for the unit.
      const { body } = await posted(page, ...readingTo(station, size, otherUnit));
      assert.equal(body.held.reason, 'unit');
      await page.waitForSelector('.answers-buttons button');
      assert.equal(await page.getAttribute('[data-part="verdict"]', 'data-verdict'), 'held');
      assert.equal(await page.textContent('.answers-question'), body.held.sentence);
      assert.deepEqual(
        await page.locator('.answers-buttons button').allTextContents(),
        body.held.answers.map(({ label }) => label),
      );
      await shoot(page, 'page-held.png');
      await page.click('[data-key="answer-other_unit"]');
      await page.waitForSelector('[data-part="verdict"][data-verdict="pass"]');
      const { last } = (await stateOf(page)).stations[0];
      assert.deepEqual([last.held, last.unit, last.verdict], [null, station.thread.unit, 'pass']);
      await page.waitForSelector('[data-part="answers"]', { state: 'hidden' });
    }));

  test('a held reading that another one followed is answered in its row', () =>
    withPage({}, async (page) => {
      const [station] = (await stateOf(page)).stations;
      const otherUnit = station.thread.unit === 'in' ? 'mm' : 'in';
      const { body } = await posted(page, ...readingTo(station, freshSize(station), otherUnit));
      await posted(page, ...readingTo(station, freshSize(station)));
      await page.click(`[data-key="answer-${body.entry}-void"]`);
      await page.waitForSelector(`[data-key="restore-${body.entry}"]`);
      const { recent } = (await stateOf(page)).stations[0];
      assert.notEqual(recent.find(({ entry }) => entry === body.entry).void, null);
    }));

  test('a button that bounces shows the reading it repeats, and void last means that one', () =>
    withPage({}, async (page) => {
      const [station] = (await stateOf(page)).stations;
      const size = freshSize(station);
      const first = await posted(page, ...readingTo(station, size));
      const repeat = structuredClone(first.body);
      Object.assign(repeat, { entry: first.body.entry + 1, counted: false, flags: ['double_press'] });
      await changeState(page, ({ stations }) => {
        stations[0].last = repeat;
        stations[0].recent.unshift(repeat);
      });
      await page.reload();
      await page.waitForSelector('[data-part="digits"]:not(:empty)');
      assert.equal(await page.locator('.verdict.uncounted').count(), 0);
      assert.match(await page.textContent('[data-part="notes"]'), /Pressed twice/);
      await page.click('#void-last');
      await page.click('.drawer-buttons button:first-child');
      await page.waitForSelector(`[data-key="restore-${first.body.entry}"]`);
    }));

  test('a comma is taken as decimal mark only where it can be nothing else', () =>
    withPage({}, async (page) => {
      await page.click('#type-reading');
      for (const [typed, echo] of [
        ['0,5123', /0\.5123/],
        ['1,07615', /1\.07615/],
        ['1,076', /two ways/],
        ['1,234.5', /one decimal mark/],
        ['12a', /not a number/],
      ]) {
        await page.fill('.typed-input', typed);
        assert.match(await page.textContent('.echo'), echo, typed);
      }
      const entries = (await stateOf(page)).record.entries;
      await page.fill('.typed-input', '1,076');
      await page.keyboard.press('Enter');
      assert.equal(await page.getAttribute('.typed-input', 'aria-invalid'), 'true');
      assert.equal((await stateOf(page)).record.entries, entries);
    }));
});

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

describe('truth', () => {
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
