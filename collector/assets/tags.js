// What the next press is tagged with, and the controls to change it. Short lists
// are one-tap buttons; job and wire set are picked and then set, so that no
// reading lands on a job that was only scrolled past.

import { freshId, make, refill, show } from './dom.js';
import { operatorNow, purposeWords } from './words.js';
import { drawStudyTag } from './study.js';

const PURPOSES = ['cutting', 'inspecting', 'zero'];

/** Draws every tag of the station with its control. */
export function drawTags(container, station, state, deeds) {
  if (container.childElementCount === 0) {
    container.append(
      ...['job', 'feature', 'wire_set', 'purpose', 'study', 'operator', 'piece', 'position', 'method'].map((name) =>
        make('div', { class: 'tag-row', 'data-tag': name }),
      ),
    );
  }
  const tags = station.tags ?? {};
  const set = (change) => deeds.tag(change);
  const job = (state.jobs ?? []).find((each) => each.job === tags.job);
  const rowOf = (name) => container.querySelector(`[data-tag="${name}"]`);
  drawJob(rowOf('job'), station.name, tags, state.jobs ?? [], set);
  drawChips(
    rowOf('feature'),
    'Feature',
    (job?.features ?? []).map((each) => each.name),
    tags.feature,
    (name) => set(featureChange(job, name)),
  );
  drawWireSets(rowOf('wire_set'), station.name, tags, state.wire_sets ?? [], set);
  drawChips(
    rowOf('purpose'),
    'Purpose',
    PURPOSES,
    tags.purpose,
    (purpose) => (purpose === 'zero' ? deeds.zeroCheck() : set({ purpose })),
    purposeWords,
  );
  drawStudyTag(rowOf('study'), station, state.studies ?? [], deeds);
  drawOperator(rowOf('operator'), station.name, tags, state.shop?.operators ?? [], set);
  drawPiece(rowOf('piece'), station.name, tags, set);
  drawPosition(rowOf('position'), station.name, tags, set);
  drawChips(rowOf('method'), 'Wires held', state.shop?.methods ?? [], tags.method, (method) =>
    set({ method }),
  );
  for (const name of ['piece', 'method']) show(rowOf(name), !station.study);
}

/** The tags that go with a job: its first feature, and that feature's own wire set. */
export function jobChange(job) {
  const first = job?.features?.[0];
  return { job: job.job, ...(first ? featureChange(job, first.name) : {}) };
}

function featureChange(job, name) {
  const wires = job?.features?.find((each) => each.name === name)?.wire_set;
  return { feature: name, ...(wires ? { wire_set: wires } : {}) };
}

function headed(title, value) {
  return make(
    'p',
    { class: 'tag-name' },
    make('span', { text: title }),
    ' ',
    make('strong', { text: value }),
  );
}

function drawChips(container, title, choices, now, choose, words = (choice) => choice) {
  refill(container, [title, choices, now], () => [
    headed(title, now ? words(now) : 'not set'),
    make(
      'div',
      { class: 'chips', role: 'group', 'aria-label': title },
      ...choices.map((choice) =>
        make('button', {
          type: 'button',
          class: 'chip',
          'data-key': `${title}-${choice}`,
          'aria-pressed': String(choice === now),
          text: words(choice),
          onclick: () => choose(choice),
        }),
      ),
    ),
  ]);
}

function picker(title, key, choices, now, choose) {
  const id = freshId('pick');
  const select = make('select', { id, 'data-key': key });
  if (!choices.some(([value]) => value === now))
    select.append(make('option', { value: '', text: `choose a ${title.toLowerCase()}` }));
  for (const [value, text] of choices)
    select.append(make('option', { value, text, selected: value === now }));
  const go = make('button', {
    type: 'button',
    class: 'medium',
    'data-key': `${key}-set`,
    text: 'Set',
    'aria-label': `Set this ${title.toLowerCase()}`,
    onclick: () => select.value && choose(select.value),
  });
  return make('div', { class: 'pick' }, make('label', { for: id, class: 'unseen', text: title }), select, go);
}

function drawJob(container, station, tags, jobs, set) {
  refill(container, [station, tags.job, tags.job_revision, jobs], () => {
    const choices = jobs.map((job) => [
      job.job,
      [job.job, job.drawing, job.features?.[0]?.name].filter(Boolean).join(' · '),
    ]);
    const now = tags.job
      ? `${tags.job}${tags.job_revision ? `, revision ${tags.job_revision}` : ''}`
      : 'none set';
    return [
      headed('Job', now),
      jobs.length
        ? picker('Job', 'job', choices, tags.job, (name) =>
            set(jobChange(jobs.find((job) => job.job === name))),
          )
        : make('p', { class: 'quiet', text: 'No jobs yet: make one below.' }),
    ];
  });
}

function drawWireSets(container, station, tags, sets, set) {
  refill(container, [station, tags.wire_set, sets], () => {
    const choices = sets.map((each) => [
      each.wire_set,
      `${each.wire_set} · ${(each.diameters ?? []).join(' / ')} ${each.unit ?? ''}`,
    ]);
    return [
      headed('Wire set', tags.wire_set ?? 'none set'),
      sets.length
        ? picker('Wire set', 'wire-set', choices, tags.wire_set, (name) => set({ wire_set: name }))
        : make('p', { class: 'quiet', text: 'No wire sets yet: enter one below.' }),
    ];
  });
}

function drawOperator(container, station, tags, operators, set) {
  const now = operatorNow(tags);
  const until = now && tags.operator_until ? ` until ${String(tags.operator_until).slice(11, 16)}` : '';
  refill(container, [station, now, until, operators], () => [
    headed('Operator', now ? `${now}${until}` : 'unattributed'),
    make(
      'div',
      { class: 'chips', role: 'group', 'aria-label': 'Operator' },
      ...operators.map((name) =>
        make('button', {
          type: 'button',
          class: 'chip',
          'data-key': `operator-${name}`,
          'aria-pressed': String(name === now),
          text: name,
          onclick: () => set({ operator: name }),
        }),
      ),
      make('button', {
        type: 'button',
        class: 'chip',
        'data-key': 'operator-',
        'aria-pressed': String(!now),
        text: 'nobody',
        onclick: () => set({ operator: null }),
      }),
    ),
    typedTag('Another operator', 'operator-typed', '', (operator) => operator && set({ operator })),
  ]);
}

function drawPiece(container, station, tags, set) {
  refill(container, [station, tags.piece], () => [
    headed('Piece', tags.piece ? String(tags.piece) : 'not set'),
    typedTag(
      'Go to piece number',
      'piece-typed',
      '',
      (piece) => /^\d{1,6}$/.test(piece) && set({ piece: Number(piece) }),
      { inputmode: 'numeric' },
    ),
  ]);
}

function drawPosition(container, station, tags, set) {
  refill(container, [station, tags.position], () => [
    headed('Position', tags.position || 'not set'),
    typedTag(
      'Where along and around the thread',
      'position-typed',
      tags.position ?? '',
      (position) => set({ position: position || null }),
      { placeholder: 'as near shoulder, 90 deg' },
    ),
  ]);
}

function typedTag(label, key, value, choose, { inputmode = 'text', placeholder = label.toLowerCase() } = {}) {
  const id = freshId('tag');
  const input = make('input', {
    id,
    value,
    autocomplete: 'off',
    maxlength: 60,
    inputmode,
    placeholder,
    'data-key': key,
  });
  const form = make(
    'form',
    { class: 'pick', novalidate: true },
    make('label', { for: id, class: 'unseen', text: label }),
    input,
    make('button', {
      class: 'medium',
      'data-key': `${key}-set`,
      text: 'Set',
      'aria-label': `Set: ${label.toLowerCase()}`,
    }),
  );
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    choose(input.value.trim());
  });
  return form;
}
