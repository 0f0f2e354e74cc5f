// Practice: a hidden fault, tests that cost minutes, an answer, a mark; the same cases and the same marks as `bladegap practice`.
'use strict';
Object.assign(TEXTS, {
  practice_title: ['Practice: find what is hidden', 'Übung: finde, was verborgen ist'],
  practice_hint: ['A car with a complaint. Each test costs minutes; answer when you know enough, or that it cannot be told.',
    'Ein Auto mit einer Klage. Jede Prüfung kostet Minuten; antworte, wenn du genug weißt, oder dass es sich nicht sagen lässt.'],
  practice_level: ['Level', 'Stufe'], practice_seed: ['Number of the case', 'Nummer des Falls'], practice_open: ['Open the case', 'Fall öffnen'],
  practice_spent: ['Spent so far: {0} min', 'Bisher verbraucht: {0} min'], practice_test: ['Test', 'Prüfung'], practice_measure: ['Do this test', 'Diese Prüfung machen'],
  practice_cause: ['Cause (two with +)', 'Ursache (zwei mit +)'], practice_severity: ['How severe, or -', 'Wie stark, oder -'], practice_work: ['Work', 'Arbeit'],
  practice_answer: ['Answer and be marked', 'Antworten und bewerten lassen'], practice_total: ['Mark: {0} of 100', 'Bewertung: {0} von 100'],
  practice_save: ['Download the case', 'Fall herunterladen'], practice_steps: ['What each test was worth', 'Was jede Prüfung wert war'],
  practice_yours: ['your tests', 'deine Prüfungen'], practice_best: ['the best plan', 'der beste Plan'], practice_row: ['{0} ({1} min): {2} bit; what is hidden {3} %, then {4} %', '{0} ({1} min): {2} bit; das Verborgene {3} %, dann {4} %'],
  practice_file: ['A case from a file', 'Fall aus einer Datei'],
});
let practiceCase = null; // a pointer of the library; 0 or null: none
function practiceTable(kind) {
  const {lib, error, errorSize, rows, withTexts} = state.core.raw;
  return withTexts([kind], (p) => rows(lib.bladegap_practice_table(practiceCase, p, error, errorSize)));
}
function practiceText() {
  const {lib, error, errorSize, must, textAt} = state.core.raw, room = 32768, at = lib.malloc(room);
  try {
    must(lib.bladegap_practice_text(practiceCase, at, room, 0, error, errorSize));
    return textAt(at);
  } finally { lib.free(at); }
}
function practiceTake(pointer) {
  if (practiceCase) state.core.raw.lib.bladegap_practice_destroy(practiceCase);
  practiceCase = pointer;
}
function practiceResume(text) {
  const {lib, error, errorSize, handle, withTexts} = state.core.raw, size = new TextEncoder().encode(text).length;
  practiceTake(withTexts(['case', text], (name, p) => handle(lib.bladegap_practice_resume(name, p, size, error, errorSize))));
}
function practiceOpen(level, seed) {
  const {lib, error, errorSize, handle} = state.core.raw, engine = state.core.engine(state.bench.engineName);
  try { practiceTake(handle(lib.bladegap_practice_open(engine.e, level, BigInt(seed), error, errorSize))); } finally { engine.destroy(); }
}
// The sentences of the library before a step, to be read; then what.
function afterSentences(sentences, what) {
  if (!sentences) { what(0); return; }
  const dialog = $('dialog');
  dialog.replaceChildren(make('h2', {id: 'dialog_title'}, t('before_hands')), make('ul', {lang: 'en'}, ...sentences.split('\n').map((s) => make('li', {}, s))),
    make('p', {}, t('not_a_car')), make('div', {className: 'bar'},
      button('understood', () => { dialog.close(); what(1); }), button('close', () => dialog.close())));
  dialog.showModal();
}
const practiceTry = (what) => { try { what(); } catch (e) { say(e.message); } };

function practiceShow(out) {
  const tests = practiceTable('tests'), readings = practiceTable('readings'), {lib, error, errorSize, must, withTexts} = state.core.raw;
  let spent = 0, last = '', lines = [];
  for (const r of readings) {
    if (r.test !== last || !r.name) { spent += r.minutes; lines.push(make('h3', {lang: 'en'}, r.test)); }
    last = r.name ? r.test : '';
    lines.push(make('p', {lang: 'en'}, r.name ? `${r.text} (${r.name}): ${format(r.value, 2)}` : r.text));
  }
  const label = (key, field) => make('label', {}, `${t(key)} `, field);
  const test = make('select', {id: 'practice_test', 'aria-label': t('practice_test')}, ...tests.map((row) => make('option', {value: row.name}, `${row.name} (${format(row.minutes, 0)} min)`)));
  const about = make('p', {lang: 'en', id: 'practice_about'});
  test.onchange = () => { about.textContent = tests.find((row) => row.name === test.value).text; };
  const measure = () => afterSentences(tests.find((row) => row.name === test.value).cautions, (careful) => practiceTry(() => {
    withTexts([test.value], (p) => must(lib.bladegap_practice_measure(practiceCase, p, careful || 1, error, errorSize)));
    practiceShow(out);
  }));
  const cause = make('input', {id: 'practice_cause', value: 'not_told', 'aria-label': t('practice_cause'), size: 18});
  cause.setAttribute('list', 'practice_causes');
  const severity = make('input', {id: 'practice_severity', value: '-', size: 6, 'aria-label': t('practice_severity')});
  const work = make('select', {id: 'practice_work', 'aria-label': t('practice_work')}, ...practiceTable('work').map((row) => make('option', {value: row.name}, `${row.name}: ${row.text}`)));
  const marked = make('div', {id: 'practice_marked', role: 'status'});
  const answer = () => practiceTry(() => {
    withTexts([cause.value.trim(), severity.value.trim(), work.value], (a, b, c) => must(lib.bladegap_practice_answer(practiceCase, a, b, c, 1, error, errorSize)));
    marked.replaceChildren(make('p', {}, t('computing')));
    inWorker('practiceMark', {text: practiceText()}, (m) => marked.replaceChildren(...practiceMarked(m)));
  });
  out.replaceChildren(make('div', {lang: 'en'}, ...practiceTable('case').map((row) => make('p', {}, row.text))), make('p', {id: 'practice_spent'}, t('practice_spent', format(spent, 0))),
    ...lines, make('div', {className: 'bar'}, label('practice_test', test), button('practice_measure', measure, {id: 'practice_measure'})), about,
    make('datalist', {id: 'practice_causes'}, ...state.core.list('causes').map((row) => make('option', {value: row.name}))),
    make('div', {className: 'bar'}, label('practice_cause', cause), label('practice_severity', severity), label('practice_work', work),
      button('practice_answer', answer, {id: 'practice_answer'}), button('practice_save', () => download('case.txt', 'text/plain', practiceText()), {id: 'practice_save'})), marked);
  test.onchange();
}
function practiceMarked(m) {
  if (m.error) return [make('p', {lang: 'en'}, m.error)];
  const pct = (x) => format(100 * x, 0);
  const steps = (plan) => make('ul', {lang: 'en'}, ...m.steps.filter((s) => s.plan === plan).map((s) => make('li', {}, t('practice_row', s.test, format(s.minutes, 0), format(s.gain_bits, 2), pct(s.before), pct(s.after)))));
  return [make('h3', {id: 'practice_total'}, t('practice_total', format(m.total, 0))), make('ul', {lang: 'en'}, ...m.points.map((row) => make('li', {}, `${row.part}: ${format(row.points, 1)} / ${format(row.most, 0)}`))),
    make('div', {lang: 'en'}, ...m.why.map((row) => make('p', {}, row.text))), make('h3', {}, t('practice_steps')),
    make('p', {}, t('practice_yours')), steps('yours'), make('p', {}, t('practice_best')), steps('best')];
}
addSection({
  id: 'practice', title: 'practice_title', column: 1,
  build(element) {
    const out = make('div', {id: 'practice_out'});
    const level = make('select', {id: 'practice_level', 'aria-label': t('practice_level')}, ...['1', '2', '3'].map((n) => make('option', {value: n}, n)));
    const seed = make('input', {id: 'practice_seed', type: 'number', min: 0, max: 2000000000, step: 1, value: 1, 'aria-label': t('practice_seed')});
    const file = make('input', {type: 'file', id: 'practice_file', 'aria-label': t('practice_file')});
    file.onchange = async () => {
      const chosen = file.files[0];
      if (!chosen) return;
      if (chosen.size > 32768) { say(t('too_big')); return; }
      const text = await chosen.text();
      practiceTry(() => { practiceResume(text); practiceShow(out); });
    };
    const open = () => practiceTry(() => { practiceOpen(Number(level.value), Math.max(0, Math.min(2e9, Math.floor(Number(seed.value) || 0)))); practiceShow(out); });
    element.append(make('p', {}, t('practice_hint')), make('div', {className: 'bar'}, make('label', {}, `${t('practice_level')} `, level), make('label', {}, `${t('practice_seed')} `, seed),
      button('practice_open', open, {id: 'practice_open'}), make('label', {}, `${t('practice_file')} `, file)), out);
    if (practiceCase) practiceShow(out);
  },
});
