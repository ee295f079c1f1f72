// The page's own start: ties the feed of readings to what is drawn, and every
// control to what it asks of the collector.

import { Feed } from './feed.js';
import { StationView, latestStanding } from './station.js';
import { Drawer, typeContent, voidContent } from './drawers.js';
import { Shelf } from './shelf.js';
import { drawOverview, hashOf, stationInHash } from './overview.js';
import { LineBanner } from './line.js';
import { play, rhythmOf, switchSound } from './sound.js';
import { post, readingPath, stationPath } from './api.js';
import { setText, show } from './dom.js';
import { clockOf, operatorNow, readingSentence } from './words.js';
import { readingVerdict } from './verdict.js';
import { beginContent } from './begin.js';
import { functionalContent, pieceShown } from './functional.js';
import { BeforeZero } from './zero.js';
import { studySentence } from './study.js';

const byId = (id) => document.getElementById(id);
const SAY_AFTER_MS = 250;
const KEYS_STORE = 'overwire-keys';
const REASONS = ['wire slipped', 'wrong piece', 'double press', 'dirty', 'other'];

const REFETCH_MS = 60000;

const before = new BeforeZero();

const deeds = {
  tag,
  tell: askTags,
  zeroCheck,
  beforeZero: () => before.of(chosen().name),
  afterZero,
  answer: (reading, answer) =>
    act(() => post(readingPath(reading, 'answer'), { answer, by: by() }), takeReading),
  restore: (reading) =>
    act(
      () => post(readingPath(reading, 'restore'), { reason: 'restored from the page', by: by() }),
      takeReading,
    ),
  voidReading: (reading) => openVoid(reading, byId('void-last')),
  checkFunctionally: openFunctional,
  retag: (reading) => shelf.openRetag(reading),
  say: (sentence) => say(() => sentence),
  toTags: () => byId('tags').focus(),
};

const view = new StationView(byId('station'), deeds);
const drawer = new Drawer(view.parts.drawer, [byId('void-last'), byId('type-reading')]);
const banner = new LineBanner(byId('line-banner'), byId('line-alert'), byId('line-clock'));
const feed = new Feed({ onState: draw, onReading: heard, onLine: (line) => banner.say(line) });
const shelf = new Shelf(byId('shelf-rows'), byId('sheet'), {
  context: () => ({
    station: chosen()?.name,
    unit: chosen()?.unit,
    instrument: chosen()?.instrument,
    instruments: () => [...new Set((feed.state?.stations ?? []).map(({ instrument }) => instrument))].filter(Boolean),
    operator: by(),
    job: chosen()?.tags?.job,
    feature: chosen()?.tags?.feature,
    shop: () => feed.state?.shop ?? {},
    wireSets: () => feed.state?.wire_sets ?? [],
    jobs: () => feed.state?.jobs ?? [],
    all: (list) => feed.state?.[list] ?? [],
  }),
  stored: () => feed.refetch(),
  work: (change) => deeds.tag(change),
});

let remembered = null;
let sayTimer = null;
let queue = Promise.resolve();

function chosen() {
  const stations = feed.state?.stations ?? [];
  return stations.find((station) => station.name === remembered) ?? stations[0] ?? null;
}

function by() {
  return operatorNow(chosen()?.tags) ?? '';
}

function takeReading(reading) {
  if (reading?.entry !== undefined) feed.takeReading(reading);
}

function draw(state) {
  const station = chosen();
  const stations = state.stations ?? [];
  setText(byId('shop'), state.shop?.name);
  show(byId('empty'), !station);
  setText(
    byId('empty'),
    'The collector runs but has no station. Name one in its settings file and start it again.',
  );
  show(byId('station'), Boolean(station));
  show(byId('shelf'), true);
  drawOverview(byId('overview'), stations, station, state.record?.trouble);
  if (station) view.draw(station, state);
  sayStudy(station);
  shelf.draw(state);
  document.title = station ? `${station.name} – overwire` : 'overwire';
  drawRecord(state);
  drawLive(state.record?.live);
  soundTrouble(state.record?.trouble);
}

function drawRecord(state) {
  const { record, version, now } = state;
  const trouble = record?.trouble ? `The record is in trouble: ${record.trouble} ` : '';
  setText(
    byId('record'),
    `${trouble}${record?.entries ?? 0} entries in the record at ${clockOf(now)}, newest mark ${String(record?.head ?? '').slice(0, 12)}. ${record?.live?.file ? `Live file ${record.live.file}. ` : ''}overwire ${version ?? ''}`,
  );
}

/** The live file: loud when it cannot be written. */
function drawLive(file) {
  const said = [file?.trouble, file?.notice].filter(Boolean).join(' ');
  show(byId('live-trouble'), Boolean(said));
  setText(byId('live-trouble'), said);
}

let troubled = false;

function soundTrouble(trouble) {
  if (trouble && !troubled) play('not_stored');
  setText(byId('urgent'), trouble ? `Not stored: ${trouble}` : '');
  troubled = Boolean(trouble);
}

function heard(reading, live) {
  if (reading.station !== chosen()?.name) return;
  say(() => readingSentence(reading, readingVerdict(reading), advice(reading)));
  if (live || reading.typed) play(rhythmOf(reading));
}

/** What the station says to this reading: the next pass, or the likeliest cause of a doubt. */
function advice(reading) {
  const station = chosen();
  if (station?.last?.entry !== reading.entry || station.behind) return [];
  return [station.cut?.sentence, station.causes?.[0], studySentence(station.study)];
}

let studySaid = null;

/** Says what a study asks for when that changes: with the reading, or else by itself. */
function sayStudy(station) {
  if (!station || station.behind) return;
  const sentence = studySentence(station.study);
  const key = `${station.name}: ${sentence}`;
  const first = studySaid === null;
  if (studySaid === key) return;
  studySaid = key;
  if (first || !sentence || sayTimer) return;
  say(() => sentence);
}

// By then the station has come after its reading.
function say(sentence) {
  clearTimeout(sayTimer);
  sayTimer = setTimeout(() => {
    sayTimer = null;
    setText(byId('status'), sentence());
  }, SAY_AFTER_MS);
}

/** Asks the collector to do one thing after the other. */
function inTurn(ask) {
  const answer = queue.then(ask);
  queue = answer.catch(() => {});
  return answer;
}

/** As `inTurn`; a refusal shows above the bar. */
async function act(ask, take) {
  setText(view.parts['action-refusal'], '');
  try {
    take(await inTurn(ask));
  } catch (refusal) {
    setText(view.parts['action-refusal'], refusal.sentence ?? refusal.message);
  }
}

/** Asks for a change that is answered with the station as it is then; rejects with a refusal. */
async function askStation(ask) {
  let asked;
  const station = await inTurn(() => {
    asked = performance.now();
    return ask();
  });
  feed.takeStation(station, asked);
}

/** As `askStation`; a refusal shows above the bar. */
async function actOnStation(ask) {
  setText(view.parts['action-refusal'], '');
  try {
    await askStation(ask);
  } catch (refusal) {
    setText(view.parts['action-refusal'], refusal.sentence ?? refusal.message);
  }
}

function askTags(change) {
  const { name } = chosen();
  return askStation(() => post(stationPath(name, 'tags'), change));
}

/** Changes tags. A job that may not be begun yet is asked about where it was wished. */
async function tag(change) {
  setText(view.parts['action-refusal'], '');
  const opener = document.activeElement;
  try {
    await askTags(change);
  } catch (refusal) {
    if (refusal.fields?.reason) openBegin(change, refusal.fields.reason, opener);
    else setText(view.parts['action-refusal'], refusal.sentence ?? refusal.message);
  }
}

function openBegin(change, sentence, opener) {
  const { content, focusOn } = beginContent(change, sentence, {
    begin: async (again) => {
      await askTags(again);
      before.forget(chosen().name);
      drawer.close();
    },
    zeroFirst: () => {
      drawer.close();
      zeroCheck(change);
    },
    close: () => drawer.close(),
  });
  drawer.open(opener, content, focusOn);
}

/** Makes the next press a zero check; `wished` is the change of tags that waits for it. */
async function zeroCheck(wished) {
  const { study } = chosen().tags;
  before.keep(chosen(), wished ?? (study ? { study } : undefined));
  if (chosen().tags.purpose !== 'zero') await tag({ purpose: 'zero' });
  else draw(feed.state);
  view.parts.zeroing.querySelector('button')?.focus();
}

async function afterZero(change) {
  await tag(change);
  if (chosen().tags.purpose === 'zero') return;
  before.forget(chosen().name);
  byId('zero-check').focus({ preventScroll: true });
}

function movePiece(go) {
  if (chosen().study) return;
  drawer.close();
  actOnStation(() => post(stationPath(chosen().name, 'piece'), { go }));
}

function openVoid(reading, opener) {
  if (!reading) return;
  const reasons = feed.state.shop?.void_reasons;
  const { content, focusOn } = voidContent(
    reading,
    reasons?.length ? reasons : REASONS,
    (reason) => {
      drawer.close();
      act(() => post(readingPath(reading, 'void'), { reason, by: by() }), takeReading);
    },
    () => drawer.close(),
  );
  drawer.open(opener, content, focusOn);
}

function openFunctional(opener) {
  const station = chosen();
  const piece = pieceShown(station);
  if (!piece) return;
  const store = async (told) => {
    await inTurn(() =>
      post('/api/functional-checks', { ...piece, ...told, station: station.name, by: by() }),
    );
    drawer.close();
    await feed.refetch();
  };
  const { content, focusOn } = functionalContent(station, piece, store, () => drawer.close());
  drawer.open(opener, content, focusOn);
}

function toggleVoid() {
  const opener = byId('void-last');
  if (drawer.isOpen && opener.getAttribute('aria-expanded') === 'true') drawer.close();
  else openVoid(latestStanding(chosen()), opener);
}

function toggleTyped() {
  const opener = byId('type-reading');
  if (drawer.isOpen && opener.getAttribute('aria-expanded') === 'true') return drawer.close();
  const name = chosen().name;
  const store = async (typed) => {
    try {
      takeReading(await post(stationPath(name, 'reading'), typed));
    } catch (refusal) {
      play('not_stored');
      throw refusal;
    }
  };
  const { content, focusOn } = typeContent(chosen().unit, store, () => drawer.close());
  drawer.open(opener, content, focusOn);
}

function toggle(button, on) {
  button.setAttribute('aria-checked', String(on));
  return on;
}

const isOn = (button) => button.getAttribute('aria-checked') === 'true';

function wireControls() {
  byId('next-piece').addEventListener('click', () => movePiece('next'));
  byId('piece-back').addEventListener('click', () => movePiece('back'));
  byId('void-last').addEventListener('click', toggleVoid);
  byId('type-reading').addEventListener('click', toggleTyped);
  byId('zero-check').addEventListener('click', () => zeroCheck());
  byId('sound').addEventListener('click', (event) =>
    switchSound(toggle(event.currentTarget, !isOn(event.currentTarget))),
  );
  byId('skip').addEventListener('click', (event) => {
    event.preventDefault();
    byId('buttons').focus();
  });
  addEventListener('hashchange', chooseFromHash);
}

function wireKeys() {
  const button = byId('shortcuts');
  toggle(button, localStorage.getItem(KEYS_STORE) === 'on');
  button.addEventListener('click', () =>
    localStorage.setItem(KEYS_STORE, toggle(button, !isOn(button)) ? 'on' : 'off'),
  );
  const keys = { n: () => movePiece('next'), b: () => movePiece('back'), v: toggleVoid };
  addEventListener('keydown', (event) => {
    const typing = event.target.closest?.('input, select, textarea');
    if (!isOn(button) || typing || event.repeat || event.ctrlKey || event.altKey || event.metaKey) return;
    if (chosen() && keys[event.key]) {
      event.preventDefault();
      keys[event.key]();
    }
  });
}

function chooseFromHash() {
  const name = stationInHash(location.hash);
  if (!name || name === remembered) return;
  remembered = name;
  drawer.close(false);
  if (feed.state) draw(feed.state);
}

function keepChoice() {
  remembered = stationInHash(location.hash) ?? remembered;
  if (location.hash && remembered) history.replaceState(null, '', hashOf(remembered));
}

keepChoice();
wireControls();
wireKeys();
feed.start();
// The time of an operator runs out without an event from the collector.
setInterval(() => feed.state && draw(feed.state), 30000);
// So does a zero check: how old it is, and whether it still stands, only the collector knows.
setInterval(() => document.visibilityState === 'visible' && feed.refetch(), REFETCH_MS);
