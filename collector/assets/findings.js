// What statistics found of a job or a study, as a report: the main answer first, then
// the others with their figures and pictures, and the conventions at the end.

import { get } from './api.js';
import { ChoiceForm } from './choices.js';
import { make, refill, setText } from './dom.js';
import { Fresh } from './fresh.js';
import { clockHere } from './words.js';

/** Working a long record through takes its time. */
const PATIENCE_MS = 60000;
/** An answer that takes longer than this is preceded by its plain figures. */
const SUMMARY_AFTER_MS = 400;
const PHONE = matchMedia('(max-width: 46rem)');
/** By which answer a picture stands, where that is not the main one. */
const BESIDE = { normal: /normally/i, histogram: /limits/i, trend: /drift/i, shifts: /shifted/i, standardised: /sigma/i };

const byId = (id) => document.getElementById(id);

const asked = new URLSearchParams(location.search);
const aboutJob = !asked.get('study');
/** How often it was worked out: pictures are fetched anew with every time. */
let times = 0;

/** The address as it was asked, without the way back. */
function query(more = {}) {
  const said = new URLSearchParams([...asked].filter(([name, value]) => name !== 'station' && value !== ''));
  for (const [name, value] of Object.entries(more)) said.set(name, value);
  return said.toString();
}

const width = () => (PHONE.matches ? 'phone' : 'desk');

const pathOfFindings = () =>
  aboutJob ? `/api/statistics?${query({ width: width() })}` : `/api/studies/${encodeURIComponent(asked.get('study'))}`;

/** The plain figures of a long job while its charts are still being worked out for the first time. */
function showSummary() {
  const wait = setTimeout(async () => {
    const summary = await get(`/api/summary?${query()}`, AbortSignal.timeout(PATIENCE_MS)).catch(() => null);
    if (!summary || times) return;
    show(summary);
    byId('rest').append(make('p', { class: 'report-sentence', text: 'The charts are still being worked out.' }));
  }, SUMMARY_AFTER_MS);
  return () => clearTimeout(wait);
}

async function load() {
  const report = byId('report');
  report.setAttribute('aria-busy', 'true');
  const enough = aboutJob && !times ? showSummary() : () => {};
  try {
    const findings = await get(pathOfFindings(), AbortSignal.timeout(PATIENCE_MS));
    times += 1;
    show(findings);
  } catch (refusal) {
    refuse(refusal);
  } finally {
    enough();
    report.setAttribute('aria-busy', 'false');
    setText(byId('made'), `Worked out at ${clockHere(new Date())}. What is recorded from now on is taken in by itself.`);
  }
}

/** The report in blocks that keep their place: only those whose facts changed are built anew. */
function show(findings) {
  document.title = `${findings.title} – overwire`;
  const { progress, main, others } = sorted(findings);
  const pictures = placed(findings.pictures, others);
  refill(byId('head'), [findings.title, findings.about, progress], () => [
    heading(findings.title, findings.about),
    ...(progress ? [make('p', { class: 'report-far', text: progress.sentences.join(' ') })] : []),
  ]);
  const place = byId('main-answer');
  keepOpen(place, () => refill(place, main, () => [answer(main)].filter(Boolean)));
  blocks(byId('rest'), [
    ...pictures.get(null).map(pictureBlock),
    ...others.flatMap((one) => [sectionBlock(one), ...pictures.get(one).map(pictureBlock)]),
    { key: 'conventions', facts: findings.settings, build: () => conventions(findings.settings) },
  ]);
  setText(byId('status'), byId('answer')?.querySelector('.report-first')?.textContent ?? '');
}

const sectionBlock = (one) => ({ key: one.heading, facts: one, build: () => section(one) });
const pictureBlock = (one) => ({
  key: `picture ${one.name}`,
  facts: one,
  build: () => picture(one),
  renew: (block) => renewPicture(block, one),
});

/** Blocks in order, each in a place of its own; one that is still there is kept. */
function blocks(container, wanted) {
  const known = new Map([...container.children].map((each) => [each.dataset.block, each]));
  const places = wanted.map(({ key, facts, build, renew }) => {
    const place = known.get(key) ?? make('div', { 'data-block': key, class: 'report-block' });
    const content = () => [build()].filter(Boolean);
    if (place.firstChild && renew) renew(place);
    else keepOpen(place, () => refill(place, facts, content));
    return place;
  });
  const same = places.length === container.children.length && places.every((each, at) => each === container.children[at]);
  if (!same) container.replaceChildren(...places);
}

/** What was unfolded, and how far a table was pushed aside, stays so. */
function keepOpen(place, act) {
  const open = place.querySelector('details')?.open;
  const aside = place.querySelector('.report-table')?.scrollLeft;
  act();
  if (open) place.querySelector('details')?.setAttribute('open', '');
  if (aside) place.querySelector('.report-table')?.scrollTo({ left: aside });
}

/** The pictures by the section they stand after; those of the main answer under `null`. */
function placed(pictures, others) {
  const places = new Map([null, ...others].map((one) => [one, []]));
  for (const each of pictures) {
    const beside = others.find((one) => BESIDE[each.name]?.test(one.heading));
    places.get(beside ?? null).push(each);
  }
  return places;
}

/** What stands before the main answer (how far a study is), that answer, and the others. */
function sorted({ sections, main: at }) {
  const progress = at > 0 ? sections[0] : null;
  return { progress, main: sections[at], others: sections.slice(at + 1) };
}

function heading(title, about) {
  return make(
    'header',
    { class: 'report-head' },
    make('h1', { text: title }),
    about ? make('p', { class: 'report-about', text: about }) : null,
  );
}

/** A sentence; one that only says why there is no answer says so in words. */
const said = (sentence) => sentence.replace(/^–: /, 'No answer: ');

/** More sentences than these are folded in. */
const MOST_SENTENCES = 6;

/** A verdict in capitals with whose it is, and what is said of it. */
const VERDICT = /^(.+?): ([A-Z][A-Z ]{3,}[A-Z](?:: take \d+ more)?)\. (.+)$/;

function answer(main) {
  if (!main) return null;
  const sentences = main.sentences.map(said);
  const verdicts = sentences.filter((each) => VERDICT.test(each));
  const first = verdicts.length ? verdicts.flatMap(verdictOf) : sentences.slice(0, 1).map(largeOf);
  const more = verdicts.length ? sentences.filter((each) => !VERDICT.test(each)) : sentences.slice(1);
  return make(
    'section',
    { class: 'report-answer', id: 'answer', tabindex: '-1' },
    make('h2', { text: main.heading }),
    ...first,
    ...body({ ...main, sentences: more }),
  );
}

const largeOf = (text) => make('p', { class: 'report-first', text });

function verdictOf(sentence) {
  const [, whose, verdict, why] = VERDICT.exec(sentence);
  return [largeOf(`${whose}: ${verdict}`), make('p', { class: 'report-sentence', text: why })];
}

function section(one) {
  return make(
    'section',
    { class: 'report-section' },
    make('h2', { text: one.heading }),
    ...body({ ...one, sentences: one.sentences.map(said) }),
  );
}

function body({ heading: name, sentences, cautions, table }) {
  return [
    ...paragraphs(sentences),
    table ? tableOf(table, name) : null,
    cautions.length ? mind(cautions) : null,
  ].filter(Boolean);
}

/** Sentences; of very many the last ones are folded in. */
function paragraphs(sentences) {
  const paragraph = (text) => make('p', { class: 'report-sentence', text });
  const folded = sentences.slice(MOST_SENTENCES);
  if (folded.length < 2) return sentences.map(paragraph);
  return [
    ...sentences.slice(0, MOST_SENTENCES).map(paragraph),
    make(
      'details',
      { class: 'report-fold' },
      make('summary', { text: `${folded.length} further ones` }),
      ...folded.map(paragraph),
    ),
  ];
}

function mind(cautions) {
  return make(
    'div',
    { class: 'report-mind', role: 'note' },
    make('p', { class: 'report-mind-head', text: 'Mind' }),
    make('ul', {}, ...cautions.map((text) => make('li', { text }))),
  );
}

const isFigure = (text) => /^[+−-]?[\d.]+( %)?$|^–/.test(text);

function tableOf({ columns, rows }, name) {
  const cell = (text, at) =>
    at === 0 && !isFigure(text)
      ? make('th', { scope: 'row', text })
      : make('td', { class: isFigure(text) ? 'figure' : null, text });
  const figures = columns.map((_, at) => rows.length > 0 && rows.every((row) => isFigure(row[at] ?? '')));
  return make(
    'div',
    { class: 'report-table', tabindex: '0', role: 'group', 'aria-label': `Figures: ${name}` },
    make(
      'table',
      {},
      make(
        'thead',
        {},
        make(
          'tr',
          {},
          ...columns.map((text, at) => make('th', { scope: 'col', class: figures[at] ? 'figure' : null, text })),
        ),
      ),
      make('tbody', {}, ...rows.map((row) => make('tr', {}, ...row.map(cell)))),
    ),
  );
}

const pictureKind = (description) => description.split('. ')[0];
const picturePath = (name) => `/findings.svg?${query({ picture: name, width: width(), at: times })}`;
// Dots are for paper and spreadsheets, whatever the screen.
const dotsPath = (name) => `/findings.png?${query({ picture: name, width: 'desk', at: times })}`;

function picture({ name, title, description }) {
  const image = make('img', { src: picturePath(name), alt: description });
  const alone = make('a', { href: picturePath(name), text: `${pictureKind(description)}: the picture alone`, 'data-key': name });
  const dots = make('a', { href: dotsPath(name), download: `${title}, ${pictureKind(description)}.png`, text: 'save as PNG', 'data-key': `${name} dots` });
  PHONE.addEventListener('change', () => {
    image.src = picturePath(name);
    alone.href = picturePath(name);
  });
  return make('figure', { class: 'report-picture' }, image, make('figcaption', {}, alone, dots));
}

/** Puts the new picture in the place of the old one when it is there, so that nothing jumps. */
async function renewPicture(block, { name, description }) {
  const [image, alone, dots] = block.querySelectorAll('img, a');
  const next = new Image();
  next.src = picturePath(name);
  await next.decode().catch(() => {});
  image.src = next.src;
  image.alt = description;
  alone.href = next.src;
  dots.href = dotsPath(name);
  setText(alone, `${pictureKind(description)}: the picture alone`);
}

function conventions(settings) {
  if (!settings.length) return null;
  return make(
    'details',
    { class: 'report-fold report-conventions' },
    make('summary', { text: 'By these conventions' }),
    make('ul', {}, ...settings.map((text) => make('li', { text }))),
  );
}

function refuse(refusal) {
  const own = [`Job ${asked.get('job') ?? ''}`, asked.get('feature')].filter(Boolean).join(', ');
  const title = aboutJob ? own : `Study ${asked.get('study')}`;
  const fields = Object.keys(refusal.fields ?? {});
  refill(byId('head'), [title], () => [heading(title, '')]);
  refill(byId('main-answer'), [refusal.message, refusal.hint], () => [
    make(
      'section',
      { class: 'report-answer', id: 'answer', tabindex: '-1' },
      make('p', { class: 'report-first', text: refusal.message }),
      refusal.hint && !fields.length ? make('p', { class: 'report-sentence', text: refusal.hint }) : null,
    ),
  ]);
  byId('rest').replaceChildren();
  choices?.refuse(refusal.fields ?? {});
  setText(byId('status'), refusal.sentence ?? refusal.message);
}

const choices = aboutJob ? new ChoiceForm(asked, (wanted) => location.assign(`${location.pathname}?${wanted}`)) : null;

/** The threads of the shop, for short runs; without them there is nothing to choose. */
async function offerThreads() {
  const { jobs } = await get('/api/state').catch(() => ({ jobs: [] }));
  choices.offer(jobs.flatMap(({ job, features }) => features.map(({ name }) => `${job}, ${name}`)));
}

/** Whether a new reading may change what is shown. */
function concerns({ job, feature, purpose }) {
  if (!aboutJob) return purpose === 'study';
  const named = (name) => name === `${job}, ${feature}`;
  const own = named(`${asked.get('job')}, ${asked.get('feature')}`);
  return purpose === 'inspecting' && (own || asked.getAll('with').some(named));
}

function wire() {
  byId('back').href = asked.get('station') ? `/#station=${encodeURIComponent(asked.get('station'))}` : '/';
  byId('again').addEventListener('click', load);
  byId('print').addEventListener('click', () => print());
  if (choices) {
    byId('choices').replaceChildren(choices.element);
    offerThreads();
  }
  // What is folded away on the screen is printed all the same, but for the choices: the conventions say them.
  addEventListener('beforeprint', () => {
    for (const each of document.querySelectorAll('details:not(.report-how)')) each.open = true;
  });
}

wire();
await load();
new Fresh(concerns, load).start();
