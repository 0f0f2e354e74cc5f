// What readings imply, worked out in a worker that can be cancelled.
'use strict';
const READINGS = 'name,condition,value\nspeed_rpm,idle,760\ntp_pct,idle,13.2\nltft_pct,idle,0.5\n';
const LOG_MOST = 32 << 20; // bytes: an hour of a hundred columns
let computeReadings = null; // of a text that was dropped on the page
function buildEstimate() {
  let end = null; // cancels what is worked at
  const text = make('textarea', {id: 'readings_text', value: READINGS, spellcheck: false, 'aria-label': t('readings_title')});
  const out = make('div', {id: 'estimate_out', role: 'status'});
  const stop = (key) => { if (end) end(); end = null; if (key) out.replaceChildren(make('p', {}, t(key))); };
  const car = buildCard();
  const go = () => compute(text.value);
  const compute = (told) => {
    stop();
    if (told.length > LOG_MOST) { out.replaceChildren(make('p', {}, t('too_big'))); return; }
    out.replaceChildren(make('p', {}, t('computing')));
    end = inWorker('estimate', {engine: state.bench.engineName, text: told, ...car.said()}, (data) => {
      end = null;
      if (data.error) out.replaceChildren(make('p', {lang: 'en'}, data.error)); else out.replaceChildren(...estimateWords(data));
    });
  };
  computeReadings = (told, name) => {
    text.value = told.length > 1 << 16 ? `# ${name}` : told;
    $('readings').scrollIntoView();
    compute(told);
  };
  $('estimate').replaceChildren(make('p', {'data-text': 'readings_hint'}, t('readings_hint')), text, car.box,
    make('div', {className: 'bar'}, button('estimate', go, {id: 'estimate_go'}), button('cancel', () => end && stop('cancelled'), {id: 'estimate_cancel'})), out);
}
// What is known of a car that has no engine here, and what it read when it was good. Nothing filled in: the bench's own engine.
function buildCard() {
  const inputs = state.core.list('card').map((row) => {
    const number = !Number.isNaN(row.min), id = `card_${row.name}`;
    const input = number ? make('input', {id, type: 'number', step: 'any', min: String(row.min), max: String(row.max), placeholder: `${row.min} ... ${row.max} ${row.unit}`})
      : make('select', {id}, make('option', {value: ''}, '-'), ...row.unit.split(', ').map((word) => make('option', {value: word}, word)));
    return {row, input, line: make('p', {lang: 'en'}, make('label', {htmlFor: id}, row.question), ' ', input)};
  });
  const good = make('textarea', {id: 'card_good', spellcheck: false, 'aria-label': t('card_good')});
  const box = make('details', {id: 'card_box'}, make('summary', {'data-text': 'card_title'}, t('card_title')), make('p', {'data-text': 'card_hint'}, t('card_hint')),
    ...inputs.map(({line}) => line), make('p', {'data-text': 'card_good'}, t('card_good')), good);
  return {box, said() {
    const rows = inputs.filter(({input}) => input.value !== '').map(({row, input}) => `${row.name},${input.value}`);
    return {card: rows.length ? `name,value\n${rows.join('\n')}\n` : '', good: good.value.trim() ? good.value : ''};
  }};
}
function estimateWords(e) {
  const v = e.values, pct = (x) => format(100 * x, x < 0.1 || x > 0.9 ? 1 : 0), list = (rows, word) => make('ul', {lang: 'en'}, ...rows.map((row) => make('li', {}, word(row))));
  const words = e.notes ? [make('details', {lang: 'en'}, make('summary', {lang: language ? 'de' : 'en'}, t('log_notes')), make('pre', {}, e.notes))] : [];
  if (e.title) words.unshift(make('p', {lang: 'en'}, e.title));
  if (v.p_value < 0.01) words.push(make('p', {}, t('misfit', format(v.p_value, 4))));
  words.push(make('p', {}, t('film_chance', pct(v.film_probability), format(v.film_um, 0), format(v.film_low_um, 0), format(v.film_high_um, 0))),
    list(e.causes.slice(0, 5), (row) => `${pct(row.probability)} %: ${row.text}`), list(e.limits, (row) => row.text),
    list(e.cautions, (row) => row.caution ? `${row.caution}: ${row.text}` : row.text), list(e.next.slice(0, 3), (row) => row.text));
  return words;
}
