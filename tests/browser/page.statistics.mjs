// The statistics of a job as they are chosen: groups, short runs, frozen limits, phases; an address that says
// it all; and a page that takes in what is recorded. One part of page.spec.mjs.

import { after, before, describe, test } from 'node:test';
import assert from 'node:assert/strict';
import { jobsOfTheThread, PHONE, posted, serious, shoot, stamp, URL_OF_PAGE, withPage } from './page.setting.mjs';

const JOB = `J-C-${stamp}`;
const OTHER = `J-D-${stamp}`;
const INSERT = 13;
const COUNT = 24;

let feature;
let goBack;
/** Measures a piece; `share` is where between the ends of the window. */
let piece;

const pathOf = (query) =>
  `${URL_OF_PAGE}findings.html?job=${encodeURIComponent(JOB)}&feature=${encodeURIComponent(feature)}&${query}`;
const shown = (page) => page.waitForSelector('#report[aria-busy="false"] .report-first');
const first = (page) => page.textContent('.report-first');
const opened = async (page, query) => {
  await page.goto(pathOf(query));
  await shown(page);
};
const choose = (page, name, value) => page.selectOption(`.report-choices [name="${name}"]`, value);
async function workOut(page) {
  await Promise.all([page.waitForNavigation(), page.click('.report-choices button')]);
  await shown(page);
}

/** Tables are pushed aside within their own frame; the page itself is not. */
const tooWide = (page) => page.evaluate(() => document.documentElement.scrollWidth - innerWidth);

/** A little up and down, the same every time. */
const wave = (at) => [0, 2, -1, 1, -2, 3, -3, 1, 0, -1, 2, -2][at % 12] / 100;

describe('statistics as they are chosen', () => {
  before(() =>
    withPage({}, async (page) => {
      ({ feature, piece, goBack } = await jobsOfTheThread(page, [JOB, OTHER]));
      for (let number = 1; number <= COUNT; number += 1) {
        const { entry } = await piece(page, JOB, number, (number < INSERT ? 0.4 : 0.6) + wave(number));
        if (number === INSERT)
          await posted(page, `/api/readings/${entry}/comment`, { text: 'new tool, edge 2', by: '' });
      }
      for (let number = 1; number <= 5; number += 1) await piece(page, OTHER, number, 0.5 + wave(number));
    }),
  );
  after(() => withPage({}, (page) => goBack(page)));

  test('phases begin with a remark: the break is named, drawn, and the address says it', () =>
    withPage({}, async (page) => {
      await opened(page, '');
      assert.match(await first(page), /^Not steady/);
      await page.click('.report-how summary');
      await page.check('.report-choices input[value="remark"]');
      await workOut(page);
      assert.match(page.url(), /phase=remark/);
      assert.match(await first(page), /^Steady within its 2 phases/);
      const answer = await page.textContent('#answer');
      assert.match(answer, /With new tool, edge 2 the mean rises by/);
      assert.match(answer, new RegExp(`2: new tool, edge 2.*piece ${INSERT}`));
      const alt = await page.getAttribute('.report-picture img', 'alt');
      assert.match(alt, new RegExp(`T, tool: new tool, edge 2 from piece ${INSERT}`));
      assert.match(await page.getAttribute('.report-picture img', 'src'), /phase=remark/);
      assert.deepEqual(await serious(page), []);
      await shoot(page, 'page-phases.png');
    }));

  test('of many signals the last ones are folded in, and unfolded stay so', () =>
    withPage({}, async (page) => {
      await opened(page, '');
      const seen = () => page.locator('#answer .report-sentence').filter({ visible: true }).count();
      const all = await page.locator('#answer .report-sentence').count();
      assert.ok(all > 8, `${all} sentences`);
      assert.equal(await seen(), 6);
      assert.equal(await page.textContent('#answer .report-fold summary'), `${all - 6} further ones`);
      await page.click('#answer .report-fold summary');
      assert.equal(await seen(), all);
      // The same again with one more piece: the answer is built anew.
      const before = await page.textContent('#answer');
      await piece(page, JOB, COUNT, 0.61);
      await page.waitForFunction((text) => document.querySelector('#answer').textContent !== text, before);
      assert.ok((await seen()) > 6);
      assert.deepEqual(await serious(page), []);
      await page.evaluate(() => document.querySelectorAll('details').forEach((each) => (each.open = false)));
      await page.emulateMedia({ media: 'print' });
      await page.evaluate(() => dispatchEvent(new Event('beforeprint')));
      assert.ok((await seen()) > 6);
      assert.equal(await page.locator('#answer summary').filter({ visible: true }).count(), 0);
    }));

  test('a person names a break, and freezes limits; what is not understood is said at its field', () =>
    withPage({ viewport: PHONE }, async (page) => {
      await opened(page, '');
      await page.click('.report-how summary');
      await page.fill('.report-choices [name="breaks"]', 'soon new bar');
      await workOut(page);
      await page.waitForSelector('.report-choices [name="breaks"][aria-invalid="true"]');
      assert.match(await page.textContent('.report-choices'), /begin with the piece's number/);
      assert.equal(await page.inputValue('.report-choices [name="breaks"]'), 'soon new bar');
      await page.fill('.report-choices [name="breaks"]', `${INSERT} new bar`);
      await choose(page, 'limits', 'freeze');
      await page.fill('.report-choices [name="freeze"]', '8');
      await workOut(page);
      assert.match(await page.textContent('#answer'), /2: new bar/);
      assert.match(await page.textContent('.report-conventions'), /first 8 pieces of each phase/);
      assert.ok((await tooWide(page)) <= 0);
      assert.deepEqual(await serious(page), []);
      await opened(page, `freeze_to=${INSERT - 1}`);
      assert.match(await first(page), /Not steady: of 12 pieces after the freezing \d+ stand out/);
      await opened(page, 'freeze_to=999');
      assert.match(await first(page), /no piece 999/);
    }));

  test('groups by number and by day; short runs of several threads', () =>
    withPage({}, async (page) => {
      await opened(page, '');
      await page.click('.report-how summary');
      await choose(page, 'chart', 'groups');
      assert.equal(await page.isVisible('.report-choices [name="breaks"]'), true);
      await page.fill('.report-choices [name="size"]', '4');
      await workOut(page);
      assert.match(page.url(), /chart=groups&size=4$/);
      assert.match(await page.textContent('.report-conventions'), /6 groups of 4 readings/);
      assert.match(await page.textContent('#answer'), /Are the groups steady\?/);
      // A phase begins inside a group of five: it is not cut in silence.
      await page.click('.report-how summary');
      await page.fill('.report-choices [name="size"]', '5');
      await page.check('.report-choices input[value="remark"]');
      await choose(page, 'limits', 'freeze');
      await page.fill('.report-choices [name="freeze"]', '2');
      await workOut(page);
      assert.match(page.url(), /size=5&.*phase=remark/);
      const answer = await page.textContent('#answer');
      const left = `begin afresh with new tool, edge 2 at piece ${INSERT}; 2 pieces before it make no whole group`;
      assert.ok(answer.includes(left), answer);
      assert.match(answer, /2: new tool, edge 2.*group 3/);
      assert.match(await page.textContent('.report-conventions'), /first 2 groups of each phase/);
      const alt = await page.getAttribute('.report-picture img', 'alt');
      assert.match(alt, /T, tool: new tool, edge 2 from group 3/);
      assert.deepEqual(await serious(page), []);
      await shoot(page, 'page-group-phases.png');
      await opened(page, 'chart=groups&by=day');
      const groups = await page.textContent('.report-conventions');
      assert.match(groups, /A group is the pieces of one day of the shop's time/);
      await page.click('.report-how summary');
      await choose(page, 'chart', 'short-runs');
      assert.equal(await page.isVisible('.report-choices [name="breaks"]'), false);
      await page.check(`.report-choices input[value="${OTHER}, ${feature}"]`);
      await page.check('.report-choices input[value="own"]');
      await workOut(page);
      assert.match(await page.textContent('#answer'), /Is the machine steady over all parts\?/);
      assert.match(await page.textContent('.report-about'), new RegExp(`with ${OTHER}`));
      assert.match(await page.textContent('#rest'), /Counted in each part's own sigma/);
      assert.ok(await page.isChecked(`.report-choices input[value="${OTHER}, ${feature}"]`));
      assert.ok((await tooWide(page)) <= 0);
    }));

  test('a known shape takes the percentile method at any number of pieces, and names it', () =>
    withPage({}, async (page) => {
      await opened(page, 'shape=weibull');
      assert.match(await page.textContent('#rest'), /Ppk = .* by percentiles, 24 pieces/);
      assert.match(await page.textContent('.report-conventions'), /Percentile method: .*Weibull/i);
    }));

  test('rules are switched by their numbers, with another run where a book counts otherwise', () =>
    withPage({}, async (page) => {
      await opened(page, '');
      await page.click('.report-how summary');
      assert.ok(await page.isHidden('.report-choices [name="numbers"]'), 'the usual two have no numbers');
      await choose(page, 'rules', 'nelson');
      await page.fill('.report-choices [name="numbers"]', '1, 2=8');
      await workOut(page);
      assert.equal(new URL(page.url()).searchParams.get('rules'), 'nelson:1,2=8');
      assert.match(await page.textContent('.report-how summary'), /only 1,2=8/);
      assert.match(await page.textContent('.report-conventions'), /2: 8 in a row/);
      await page.goto(pathOf('rules=nelson:9'));
      await page.waitForSelector('.report-how[open]');
      assert.match(await page.textContent('.report-choices'), /expected the number of a rule of this book/);
    }));

  test('saved as PNG, a picture looks as it does on the page', () =>
    withPage({}, async (page) => {
      await opened(page, '');
      const saved = await page.locator('.report-picture figcaption a[download]').evaluateAll((links) =>
        links.map(({ href, download }) => ({ href, download })),
      );
      assert.ok(saved.length > 2);
      assert.ok(saved[0].download.startsWith(`${JOB}, `) && saved[0].download.endsWith('Run chart.png'), saved[0].download);
      // Blurred to a quarter: letters may have other edges, nothing may be missing or elsewhere.
      const away = await page.evaluate(async (paths) => {
        const blurred = async (path) => {
          const image = new Image();
          image.src = path;
          await image.decode();
          const high = (wide) => Math.round((wide * image.naturalHeight) / image.naturalWidth);
          const drawn = (picture, wide) => {
            const sheet = new OffscreenCanvas(wide, high(wide)).getContext('2d');
            sheet.imageSmoothingQuality = 'high';
            sheet.drawImage(picture, 0, 0, wide, high(wide));
            return sheet;
          };
          // A drawing would be drawn anew for a smaller sheet, not blurred.
          const small = drawn(drawn(image, 2160).canvas, 270);
          return small.getImageData(0, 0, 270, high(270)).data;
        };
        const mean = (one, other) => {
          const parts = Array.from(one, (part, at) => Math.abs(part - (other[at] ?? 0)));
          return parts.reduce((sum, part) => sum + part) / parts.length;
        };
        const drawings = await Promise.all(paths.map((path) => blurred(path.replace('.png?', '.svg?'))));
        const dots = await Promise.all(paths.map(blurred));
        return {
          same: dots.map((each, at) => mean(each, drawings[at])),
          other: mean(dots[0], drawings[1]),
        };
      }, saved.map(({ href }) => href));
      for (const each of away.same) assert.ok(each < 1, JSON.stringify(away));
      assert.ok(away.other > 5, JSON.stringify(away));
    }));

  test('small shifts are looked for as it was chosen; what makes no sense is said at its field', () =>
    withPage({ viewport: PHONE }, async (page) => {
      await opened(page, '');
      assert.match(await page.textContent('.report-conventions'), /weight 0.2 .*every 500 points/);
      await page.click('.report-how summary');
      await page.fill('.report-choices [name="ewma"]', '0,2');
      await page.fill('.report-choices [name="target"]', 'soon');
      await workOut(page);
      await page.waitForSelector('.report-choices [name="ewma"][aria-invalid="true"]');
      await page.waitForSelector('.report-choices [name="target"][aria-invalid="true"]');
      assert.match(await page.textContent('.report-choices'), /Say a weight above 0 and at most 1; `0` is not/);
      await page.fill('.report-choices [name="ewma"]', '1, 3');
      await page.fill('.report-choices [name="cusum"]', '0.5, 4, half');
      await page.fill('.report-choices [name="target"]', 'middle');
      await workOut(page);
      assert.equal(new URL(page.url()).searchParams.get('cusum'), '0.5, 4, half');
      const settings = await page.textContent('.report-conventions');
      assert.match(settings, /every 370 points.*head start 2 sigma.*every 149 points.*the middle of the limits/);
      assert.match(await page.textContent('#rest'), /Both go by a target of/);
      assert.match(await page.textContent('.report-how summary'), /small shifts by settings of your own/);
      assert.ok((await tooWide(page)) <= 0);
      await page.click('.report-how summary');
      await shoot(page, 'page-small-shifts.png');
      await choose(page, 'chart', 'groups');
      assert.equal(await page.isVisible('.report-choices [name="ewma"]'), false);
    }));

  test('what is recorded is taken in by itself: place, focus and what is unfolded stay; other jobs do not matter', () =>
    withPage({}, async (page) => {
      await opened(page, `breaks=${INSERT}`);
      await page.waitForFunction(() => document.querySelector('.report-picture img').complete);
      let asks = 0;
      page.on('request', (request) => {
        asks += request.url().includes('/api/statistics') ? 1 : 0;
      });
      await page.click('.report-conventions summary');
      await page.focus('.report-picture a');
      await page.evaluate(() => {
        window.kept = document.querySelector('.report-picture img');
        window.said = [];
        new MutationObserver(() => window.said.push(document.querySelector('#status').textContent)).observe(
          document.querySelector('#status'),
          { childList: true, characterData: true, subtree: true },
        );
        scrollTo(0, 700);
      });
      await piece(page, OTHER, 6, 0.5);
      await piece(page, JOB, COUNT + 1, 0.6);
      await page.waitForFunction((n) => document.querySelector('.report-picture img').alt.includes(`n\u00a0${n}`) || document.querySelector('.report-picture img').alt.includes(`n ${n}`), COUNT + 1);
      assert.equal(await page.evaluate(() => scrollY), 700);
      assert.ok(await page.evaluate(() => document.activeElement === document.querySelector('.report-picture a')));
      assert.ok(await page.evaluate(() => document.querySelector('.report-conventions').open));
      assert.ok(await page.evaluate(() => window.kept === document.querySelector('.report-picture img')));
      assert.equal(asks, 1);
      assert.deepEqual(await page.evaluate(() => window.said), []);
      // One far off changes the verdict: that is said.
      await piece(page, JOB, COUNT + 2, 0.95);
      await page.waitForFunction(() => window.said.some((each) => each.startsWith('Not steady')));
      assert.equal(asks, 2);
    }));
});
