// What readings imply, worked out in a worker that can be cancelled.
'use strict';
const READINGS = 'name,condition,value\nspeed_rpm,idle,760\ntp_pct,idle,13.2\nltft_pct,idle,0.5\n';
function buildEstimate() {
  let end = null; // cancels what is worked at
  const text = make('textarea', {id: 'readings_text', value: READINGS, spellcheck: false, 'aria-label': t('readings_title')});
  const out = make('div', {id: 'estimate_out', role: 'status'});
  const stop = (key) => { if (end) end(); end = null; if (key) out.replaceChildren(make('p', {}, t(key))); };
  const go = () => {
    stop();
    if (text.value.length > 1 << 20) { out.replaceChildren(make('p', {}, t('too_big'))); return; }
    out.replaceChildren(make('p', {}, t('computing')));
    end = inWorker('estimate', {engine: state.bench.engineName, text: text.value}, (data) => {
      end = null;
      if (data.error) out.replaceChildren(make('p', {lang: 'en'}, data.error)); else out.replaceChildren(...estimateWords(data));
    });
  };
  $('estimate').replaceChildren(make('p', {'data-text': 'readings_hint'}, t('readings_hint')), text,
    make('div', {className: 'bar'}, button('estimate', go, {id: 'estimate_go'}), button('cancel', () => end && stop('cancelled'), {id: 'estimate_cancel'})), out);
}
function estimateWords(e) {
  const v = e.values, pct = (x) => format(100 * x, x < 0.1 || x > 0.9 ? 1 : 0), list = (rows, word) => make('ul', {lang: 'en'}, ...rows.map((row) => make('li', {}, word(row))));
  const words = [];
  if (v.p_value < 0.01) words.push(make('p', {}, t('misfit', format(v.p_value, 4))));
  words.push(make('p', {}, t('film_chance', pct(v.film_probability), format(v.film_um, 0), format(v.film_low_um, 0), format(v.film_high_um, 0))),
    list(e.causes.slice(0, 5), (row) => `${pct(row.probability)} %: ${row.text}`), list(e.limits, (row) => row.text),
    list(e.cautions, (row) => row.caution ? `${row.caution}: ${row.text}` : row.text), list(e.next.slice(0, 3), (row) => row.text));
  return words;
}
