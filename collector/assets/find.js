// Finding readings: what is looked for stands in the address, so that a search can be kept
// and sent on. What was found is shown a page at a time and can be copied or taken along.

import { get } from './api.js';
import { Asked } from './asked.js';
import { READING_COLUMNS } from './clip.js';
import { CopyPanel } from './copypanel.js';
import { make, setText, show } from './dom.js';
import { drawKinds, drawRows, sumWords } from './found.js';
import { Take } from './take.js';

/** Rows of one page. */
const MOST = 100;
/** Counting a long record takes its time. */
const PATIENCE_MS = 60000;
const ONLY = [
  ...READING_COLUMNS.map(({ name }) => name),
  'method',
  'verdict',
  'flags',
  'void',
  'void_by',
  'comment',
].join(',');
const PLACES = ['before', 'after'];

const byId = (id) => document.getElementById(id);
const asked = new Asked(
  { often: byId('often'), rare: byId('rare'), more: byId('more'), periods: byId('periods'), problem: byId('problem') },
  () => go(asked.words()),
);
const take = new Take(byId('take-choices'), byId('preview-head'), byId('preview'), byId('csv'), byId('descriptor'));
const copy = new CopyPanel(byId('copy'));

let under = new AbortController();
/** What was counted last; nothing yet. */
let counted = null;
let shown = [];
const chosen = new Set();

/** The words of the address, those of the place in it apart. */
function wordsOfAddress() {
  const words = [...new URLSearchParams(location.search)].filter(([, said]) => said !== '');
  const isPlace = ([name]) => PLACES.includes(name);
  return { words: words.filter((each) => !isPlace(each)), place: words.filter(isPlace) };
}

const addressOf = (words, place = []) => {
  const query = new URLSearchParams([...words, ...place]).toString();
  return query ? `/find.html?${query}` : '/find.html';
};

/** Looks for other readings, or at another page of them. */
function go(words, place = []) {
  const address = addressOf(words, place);
  if (address !== location.pathname + location.search) history.pushState(null, '', address);
  load();
}

async function load() {
  under.abort();
  under = new AbortController();
  const { signal } = under;
  const { words, place } = wordsOfAddress();
  asked.fill(words);
  copy.close();
  byId('rows').setAttribute('aria-busy', 'true');
  try {
    const page = await pageOf(words, place, signal);
    asked.refuse(null);
    answers(true);
    drawPage(page, words);
    ways(words);
    take.of(words);
    await count(words, signal);
  } catch (trouble) {
    if (signal.aborted) return;
    asked.refuse(trouble);
    nothing();
  } finally {
    if (!signal.aborted) byId('rows').setAttribute('aria-busy', 'false');
  }
}

/** A page of readings. The collector looks at so many for one answer; it is asked on until the page is full. */
async function pageOf(words, place, signal) {
  const ask = (at, most) =>
    get(
      `/api/readings?${new URLSearchParams([...words, ...at, ['most', most], ['only', ONLY]])}`,
      AbortSignal.any([signal, AbortSignal.timeout(PATIENCE_MS)]),
    );
  const page = await ask(place, MOST);
  const upwards = place[0]?.[0] === 'after';
  const on = upwards ? 'newer' : 'older';
  while (page.rows.length < MOST && page[on] !== null) {
    setText(byId('sum'), `Looking on from entry ${page[on]}…`);
    const more = await ask([[upwards ? 'after' : 'before', page[on]]], MOST - page.rows.length);
    page.rows = upwards ? [...more.rows, ...page.rows] : [...page.rows, ...more.rows];
    page[on] = more[on];
  }
  return page;
}

function drawPage(page, words) {
  shown = page.rows;
  chosen.clear();
  drawRows(byId('rows'), shown, chosen, drawCopyWays);
  const way = (text, name, entry) =>
    entry === null
      ? null
      : make('a', {
          class: 'medium',
          href: addressOf(words, [[name, entry]]),
          text,
          onclick: (event) => {
            event.preventDefault();
            go(words, [[name, entry]]);
            byId('found').scrollIntoView({ block: 'start' });
          },
        });
  const span = shown.length ? `entries ${shown.at(-1).entry} to ${shown[0].entry}` : '';
  byId('paging').replaceChildren(
    ...[
      way('Newer', 'after', page.newer),
      way('Older', 'before', page.older),
      make('span', { class: 'quiet', text: span }),
    ].filter(Boolean),
  );
  drawCopyWays();
}

/** What was refused has no rows, and no file either: it would hold something else. */
function answers(are) {
  for (const id of ['rows', 'take', 'over-rows']) show(byId(id), are);
}

function nothing() {
  answers(false);
  shown = [];
  counted = null;
  setText(byId('sum'), 'Nothing was looked for.');
  for (const id of ['kinds', 'rows', 'paging', 'copy-ways']) byId(id).replaceChildren();
}

async function count(words, signal) {
  const query = new URLSearchParams(words).toString();
  if (counted === query) return;
  counted = null;
  setText(byId('sum'), 'Counting…');
  byId('kinds').replaceChildren();
  const counts = await get(
    `/api/readings/count?${query}`,
    AbortSignal.any([signal, AbortSignal.timeout(PATIENCE_MS)]),
  );
  counted = query;
  setText(byId('sum'), sumWords(counts));
  setText(byId('status'), `Found: ${sumWords(counts)}`);
  drawKinds(byId('kinds'), counts);
}

/** The job by its own name, where it is asked for by its whole name and was found. */
function jobOf(words) {
  const [, typed] = words.find(([name]) => name === 'job') ?? [];
  const same = ({ job }) => job.toLowerCase() === typed?.toLowerCase();
  return shown.find(same)?.job ?? null;
}

function ways(words) {
  const query = new URLSearchParams(words).toString();
  const job = jobOf(words);
  byId('xlsx').href = `/export.xlsx${query ? `?${query}` : ''}`;
  show(byId('report'), job !== null);
  byId('report').href = `/report?${new URLSearchParams({ job: job ?? '' })}`;
}

function drawCopyWays() {
  const rows = shown.filter(({ entry }) => chosen.has(entry));
  const { words } = wordsOfAddress();
  const button = (text, disabled, act) =>
    make('button', { type: 'button', class: 'medium', text, disabled, onclick: act });
  const open = (what, which) => copy.open({ what, columns: READING_COLUMNS, rows: which });
  const several = (many) => `${many} ${many === 1 ? 'reading' : 'readings'}`;
  byId('copy-ways').replaceChildren(
    ...[
      button(`Copy chosen (${rows.length})`, rows.length === 0, () => open(several(rows.length), rows)),
      button(`Copy all shown (${shown.length})`, shown.length === 0, () => open(several(shown.length), shown)),
      jobOf(words) ? button('Copy the job’s pieces', shown.length === 0, () => copyPieces(words)) : null,
    ].filter(Boolean),
  );
}

async function copyPieces(words) {
  try {
    const query = new URLSearchParams([...words, ['most', 1000]]);
    const { columns, rows, whole } = await get(`/api/pieces?${query}`, AbortSignal.timeout(PATIENCE_MS));
    const titled = columns.map((each) => ({ ...each, title: each.name.replaceAll('_', ' ') }));
    const what = `${whole ? '' : 'the first '}${rows.length} pieces of job ${jobOf(words)}`;
    copy.open({ what, columns: titled, rows });
  } catch (trouble) {
    asked.refuse(trouble);
  }
}

byId('asked').addEventListener('submit', (event) => {
  event.preventDefault();
  go(asked.words());
});
byId('clear').addEventListener('click', () => go([]));
addEventListener('popstate', load);
asked.offer(get('/api/state'));
load();
