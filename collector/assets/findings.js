// What statistics found of a job or a study, as a report: the main answer first, then
// the others with their figures and pictures, and the conventions at the end.

import { get } from './api.js';
import { freshId, make, setText } from './dom.js';
import { clockHere } from './words.js';

/** Working a long record through takes its time. */
const PATIENCE_MS = 60000;
/** An answer that takes longer than this is preceded by its plain figures. */
const SUMMARY_AFTER_MS = 400;
const RULES = [
  ['usual', 'the usual two: beyond a limit, nine on one side'],
  ['nelson', 'all eight of Nelson'],
  ['western-electric', 'the four of Western Electric'],
];
const PHONE = matchMedia('(max-width: 46rem)');
/** By which answer a picture stands, where that is not the main one. */
const BESIDE = { normal: /normally/i, histogram: /limits/i, trend: /drift/i };

const byId = (id) => document.getElementById(id);

const asked = Object.fromEntries(new URLSearchParams(location.search));
const rules = RULES.some(([code]) => code === asked.rules) ? asked.rules : 'usual';
const aboutJob = !asked.study;

function query(more = {}) {
  const { job, feature, study } = asked;
  const facts = study ? { study } : { job, feature, rules };
  return new URLSearchParams(
    Object.entries({ ...facts, ...more }).filter(([, said]) => said !== undefined && said !== ''),
  ).toString();
}

const pathOfFindings = () =>
  asked.study ? `/api/studies/${encodeURIComponent(asked.study)}` : `/api/statistics?${query()}`;

/** The plain figures of a long job while its charts are still being worked out. */
function showSummary(report) {
  const busy = () => report.getAttribute('aria-busy') === 'true';
  const wait = setTimeout(async () => {
    const summary = await get(`/api/summary?${query()}`, AbortSignal.timeout(PATIENCE_MS)).catch(() => null);
    if (!summary || !busy()) return;
    show(summary, report);
    report.append(make('p', { class: 'report-sentence', text: 'The charts are still being worked out.' }));
  }, SUMMARY_AFTER_MS);
  return () => clearTimeout(wait);
}

async function load() {
  const report = byId('report');
  report.setAttribute('aria-busy', 'true');
  const enough = aboutJob ? showSummary(report) : () => {};
  try {
    const findings = await get(pathOfFindings(), AbortSignal.timeout(PATIENCE_MS));
    show(findings, report);
  } catch (refusal) {
    refuse(refusal, report);
  } finally {
    enough();
    report.setAttribute('aria-busy', 'false');
    setText(byId('made'), `Worked out at ${clockHere(new Date())}.`);
  }
}

function show(findings, report) {
  document.title = `${findings.title} – overwire`;
  const { progress, main, others } = sorted(findings.sections);
  const pictures = placed(findings.pictures, others);
  report.replaceChildren(
    ...[
      heading(findings.title, findings.about),
      progress,
      answer(main),
      aboutJob ? rulesChoice() : null,
      ...pictures.get(null).map(picture),
      ...others.flatMap((one) => [section(one), ...pictures.get(one).map(picture)]),
      conventions(findings.settings),
    ].filter(Boolean),
  );
  setText(byId('status'), byId('answer')?.querySelector('.report-first')?.textContent ?? '');
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

/** How far a study is stands before its answers; everything else is answers, the main one first. */
function sorted(sections) {
  if (aboutJob) return { progress: null, main: sections[0], others: sections.slice(1) };
  const [far, main, ...others] = sections;
  const progress = make('p', { class: 'report-far', text: (far?.sentences ?? []).join(' ') });
  return { progress, main, others };
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
    ...sentences.map((text) => make('p', { class: 'report-sentence', text })),
    table ? tableOf(table, name) : null,
    cautions.length ? mind(cautions) : null,
  ].filter(Boolean);
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

function picture({ name, description }) {
  const [kind] = description.split('. ');
  const path = () => `/findings.svg?${query({ picture: name, width: PHONE.matches ? 'phone' : 'desk' })}`;
  const image = make('img', { src: path(), alt: description });
  const alone = make('a', { href: path(), text: `${kind}: the picture alone` });
  PHONE.addEventListener('change', () => {
    image.src = path();
    alone.href = path();
  });
  return make('figure', { class: 'report-picture' }, image, make('figcaption', {}, alone));
}

/** Which runs are looked for; choosing others asks anew. */
function rulesChoice() {
  const id = freshId('rules');
  return make(
    'form',
    { class: 'report-rules', method: 'get', action: location.pathname },
    ...['job', 'feature', 'station']
      .filter((name) => asked[name])
      .map((name) => make('input', { type: 'hidden', name, value: asked[name] })),
    make('label', { for: id, text: 'Runs are looked for by' }),
    make(
      'select',
      { id, name: 'rules' },
      ...RULES.map(([value, text]) => make('option', { value, text, selected: value === rules })),
    ),
    make('button', { class: 'medium', text: 'Set', 'aria-label': 'Set: runs are looked for by' }),
  );
}

function conventions(settings) {
  if (!settings.length) return null;
  return make(
    'details',
    { class: 'report-conventions' },
    make('summary', { text: 'By these conventions' }),
    make('ul', {}, ...settings.map((text) => make('li', { text }))),
  );
}

function refuse(refusal, report) {
  const title = asked.study ? `Study ${asked.study}` : [`Job ${asked.job ?? ''}`, asked.feature].filter(Boolean).join(', ');
  report.replaceChildren(
    heading(title, ''),
    make(
      'section',
      { class: 'report-answer', id: 'answer', tabindex: '-1' },
      make('p', { class: 'report-first', text: refusal.message }),
      refusal.hint ? make('p', { class: 'report-sentence', text: refusal.hint }) : null,
    ),
  );
  setText(byId('status'), refusal.sentence ?? refusal.message);
}

function wire() {
  byId('back').href = asked.station ? `/#station=${encodeURIComponent(asked.station)}` : '/';
  byId('again').addEventListener('click', load);
  byId('print').addEventListener('click', () => print());
  // What is folded away on the screen is printed all the same.
  addEventListener('beforeprint', () => {
    for (const each of document.querySelectorAll('details')) each.open = true;
  });
}

wire();
load();
