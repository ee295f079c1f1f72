// What every test of the page begins with: the browser behind its gate, a page, the state.

import assert from 'node:assert/strict';
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import axe from 'axe-core';
import { chromium } from 'playwright-core';
import { gateTo } from './page.helpers.mjs';

export const URL_OF_PAGE = process.env.OVERWIRE_URL;
const SHOTS = process.env.OVERWIRE_SHOTS;
export const HOSTILE = '<img src=x onerror="window.ran=1"><script>window.ran=1</script>';
export const VERDICTS = [
  'pass',
  'fail_under',
  'fail_over',
  'still_to_cut',
  'undecided',
  'zero_within',
  'zero_off',
  'held',
  'not_stored',
  'void',
  'none',
];
export const DESKTOP = { width: 1280, height: 800 };
export const PHONE = { width: 390, height: 844 };

let browser;
export let gate;

/** Starts the browser behind its gate. */
export async function start() {
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
}

/** Ends both. */
export async function end() {
  await browser?.close();
  gate?.close();
}

/**
 * Opens the page, runs `body`, and closes it again. `prepare` runs before it loads; `path` is another page's
 * address, which has come when `ready` is there.
 */
export async function withPage(
  {
    viewport = DESKTOP,
    colorScheme = 'light',
    path = '',
    hash = '',
    ready = '[data-part="digits"]:not(:empty)',
    permissions = [],
    prepare,
    forcedColors,
  },
  body,
) {
  const context = await browser.newContext({ viewport, colorScheme, forcedColors, permissions, reducedMotion: 'reduce' });
  const page = await context.newPage();
  const seen = { complaints: [], hosts: new Set() };
  page.on('console', (message) => message.type() === 'error' && seen.complaints.push(message.text()));
  page.on('pageerror', (error) => seen.complaints.push(error.message));
  page.on('request', (request) => seen.hosts.add(new URL(request.url()).host));
  try {
    await prepare?.(page);
    await page.goto(URL_OF_PAGE + path + hash);
    await page.waitForSelector(ready);
    await body(page, seen);
  } finally {
    // An answer that is still under way when the page goes is nobody's fault.
    await page.unrouteAll({ behavior: 'ignoreErrors' });
    await context.close();
  }
}

export const stateOf = (page) => page.evaluate(() => fetch('/api/state').then((answer) => answer.json()));
export const shoot = (page, name) => (SHOTS ? page.screenshot({ path: join(SHOTS, name) }) : null);

/** Lets the page see the real state after `change` has had its way with it. */
export function changeState(page, change) {
  return page.route('**/api/state', async (route) => {
    const answer = await route.fetch();
    const state = await answer.json();
    change(state);
    await route.fulfill({ response: answer, json: state });
  });
}

/** The newest reading asks nothing and the instrument is heard: the case the sizes are meant for. */
export const atRest = (page) =>
  changeState(page, ({ stations }) => {
    stations.length = 1;
    stations[0].link.state = 'listening';
    stations[0].last.held = null;
  });

let sizes = 0;

/** A size inside the limits over wires that was not measured before, as a display shows it. */
export function freshSize({ thread }) {
  sizes += 1;
  const [min, max] = [thread.window.min, thread.window.max].map(Number);
  const places = thread.unit === 'in' ? 5 : 3;
  return (min + (max - min) * (0.3 + 0.4 * ((sizes * 0.37) % 1))).toFixed(places);
}

/** Posts as a program of the shop's own would, from within the page. */
export const posted = (page, path, body) =>
  page.evaluate(
    async ([to, what]) => {
      const headers = { 'content-type': 'application/json' };
      const answer = await fetch(to, { method: 'POST', headers, body: JSON.stringify(what) });
      return { status: answer.status, body: await answer.json() };
    },
    [path, body],
  );

export const readingTo = (station, text, unit = station.thread.unit) => [
  `/api/stations/${encodeURIComponent(station.name)}/reading`,
  { text, unit },
];
export const tagsOf = (station) => `/api/stations/${encodeURIComponent(station.name)}/tags`;

/** The first station, as the collector has it. */
export const firstStation = async (page) => (await stateOf(page)).stations[0];

/** Stores a reading as a program would, and waits until the page shows it. */
export async function measured(page, station, text) {
  const { status, body } = await posted(page, ...readingTo(station, text));
  assert.equal(status, 200, JSON.stringify(body));
  await page.waitForSelector(`[data-key="void-${body.entry}"]`);
  return body;
}

/** Serious faults that axe finds. */
export async function serious(page) {
  await page.evaluate(axe.source);
  const { violations } = await page.evaluate(() => window.axe.run(document));
  return violations
    .filter(({ impact }) => impact === 'serious' || impact === 'critical')
    .map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.html).join(' ')}`);
}

const PLACES = { in: 5, mm: 3 };

/** Makes jobs of the first station's thread; gives its name, what measures a piece of one, and the way back. */
export async function jobsOfTheThread(page, names) {
  const station = await firstStation(page);
  const { jobs } = await stateOf(page);
  const { job, feature, purpose } = station.tags;
  const { features } = jobs.find((each) => each.job === job);
  for (const name of names) await posted(page, '/api/jobs', { job: name, features, by: '' });
  const reason = 'for this test';
  const [min, max] = [station.thread.window.min, station.thread.window.max].map(Number);
  return {
    feature,
    /** `share` is where between the ends of the window. */
    piece: async (from, name, number, share) => {
      await posted(from, tagsOf(station), { job: name, feature, purpose: 'inspecting', piece: number, reason });
      const text = (min + (max - min) * share).toFixed(PLACES[station.thread.unit]);
      const { status, body } = await posted(from, ...readingTo(station, text));
      assert.equal(status, 200, JSON.stringify(body));
      return body;
    },
    goBack: (from) => posted(from, tagsOf(station), { job, feature, purpose, reason }),
  };
}

/** A size so far (in millimetres) from the largest that the limits allow over the wires. */
export function beyondMaximum({ thread }, mm) {
  const unit = thread.unit === 'in' ? 25.4 : 1;
  return (Number(thread.window.max) + mm / unit).toFixed(PLACES[thread.unit]);
}

/** What a zero check of this station shows when it is off by so many millimetres. */
export async function zeroReading(page, station, mm) {
  const { instruments } = await stateOf(page);
  const known = instruments.find(({ instrument }) => instrument === station.instrument);
  const unit = station.unit === 'in' ? 25.4 : 1;
  return (Number(known?.zero_standard || 0) + mm / unit).toFixed(PLACES[station.unit]);
}

export const firstRow = '.recent tbody tr:first-child';
export const stamp = Date.now().toString(36).toUpperCase();
