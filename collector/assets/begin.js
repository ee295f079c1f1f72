// A job begun, or gone on with, without a zero check that stands: asks for the reason,
// or offers the check first. What was wished is kept, so that nothing has to be chosen again.

import { Field } from './fields.js';
import { make, setText } from './dom.js';

/**
 * Content for the drawer. `change` is the change of tags that was refused, `sentence`
 * what the collector said; `begin(change)` sends it again and rejects with a refusal,
 * `zeroFirst()` goes to the zero check, `close()` gives it up.
 */
export function beginContent(change, sentence, { begin, zeroFirst, close }) {
  const { job } = change;
  const reason = new Field({
    name: 'reason',
    label: job ? `Why job ${job} is begun without a zero check` : 'Why work goes on without a zero check',
    value: change.reason,
    hint: 'kept in the record',
  });
  const problem = make('p', { class: 'form-problem', role: 'alert' });
  const store = make('button', { class: 'big', text: job ? `Begin job ${job}` : 'Go on' });
  const form = make(
    'form',
    { class: 'begin-form', novalidate: true },
    reason.element,
    problem,
    make(
      'span',
      { class: 'drawer-buttons' },
      make('button', { type: 'button', class: 'big primary', text: 'Zero check first', onclick: zeroFirst }),
      store,
      make('button', { type: 'button', class: 'big keep', text: 'Close', onclick: close }),
    ),
  );
  form.addEventListener('submit', async (event) => {
    event.preventDefault();
    if (!reason.value) {
      reason.refuse('Say why in a few words.');
      return reason.focus();
    }
    store.disabled = true;
    setText(problem, '');
    try {
      await begin({ ...change, reason: reason.value });
    } catch (refusal) {
      refuse(refusal, reason, problem);
    } finally {
      store.disabled = false;
    }
    return undefined;
  });
  return {
    content: [make('p', { class: 'drawer-question', text: sentence }), form],
    focusOn: reason.control,
  };
}

function refuse(refusal, reason, problem) {
  const { reason: why, ...others } = refusal.fields ?? {};
  if (why) reason.refuse(why);
  const said = Object.values(others);
  setText(problem, said.length || why ? said.join(' ') : (refusal.sentence ?? refusal.message));
  reason.focus();
}
