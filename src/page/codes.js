// Fault codes: what a scan tool finds, and for every code why it is set or not, with its timer.
'use strict';
function codeWord(m) { // what a row of the library's table "monitors" comes to, as [key of the sentence, what goes in]
  const unit = m.unit ? ` ${m.unit}` : '', number = (v) => format(v, Math.abs(v) >= 20 ? 0 : 2) + unit;
  if (m.missing) return ['code_blocked', m.missing];
  if (m.lasted_s > 0) return [m.lasted_s < m.needed_s ? 'code_timer' : 'code_there', format(m.lasted_s, 1), format(m.needed_s, 1), number(m.now), number(m.limit)];
  return [m.beyond === 'above' ? 'code_below' : 'code_above', number(m.now), number(m.limit)];
}
function showCodes(bench) {
  const codes = bench.run.table('codes'), form = `${language}${codes.map((c) => c.code + c.state)}`, list = $('code_list');
  if (list.dataset.form !== form) {
    list.dataset.form = form;
    list.replaceChildren(...(codes.length ? codes.map((c) => make('li', {lang: 'en'}, `${c.code} (${c.state}) ${c.definition}`)) : [make('li', {}, t('codes_none'))]));
  }
  const monitors = bench.run.table('monitors').filter((m) => $('codes_every').checked || m.lasted_s > 0 || m.state !== 'none' || WATCHED_CODES.includes(m.code));
  rowsOfTable($('code_rows'), monitors.map((m) => [m.code, t(`code_${m.state}`), t(...codeWord(m)), m.lasted_s > 0 ? Math.min(1, m.lasted_s / m.needed_s) : 0]), monitors);
}
const WATCHED_CODES = ['P0171', 'P0505', 'P0506', 'P0507', 'P0638']; // what a film is expected to set, or is not

// Rows are changed where their text is another, so that a reader's place and a finger's are not lost.
function rowsOfTable(body, rows, monitors) {
  while (body.rows.length > rows.length) body.deleteRow(-1);
  while (body.rows.length < rows.length) {
    const timer = make('progress', {max: 1, value: 0});
    body.append(make('tr', {}, make('th', {scope: 'row'}), make('td'), make('td', {}, make('span'), timer)));
  }
  rows.forEach(([code, stored, why, share], i) => {
    const [name, state, told] = body.rows[i].cells, [words, timer] = told.children;
    if (name.textContent !== code) { name.textContent = code; name.title = monitors[i].condition; timer.setAttribute('aria-label', `${code}: ${t('code_timer_name')}`); }
    if (state.textContent !== stored) state.textContent = stored;
    if (words.textContent !== why) words.textContent = why;
    if (timer.value !== share) timer.value = share;
    if (timer.hidden !== !(share > 0)) timer.hidden = !(share > 0);
  });
}
function buildCodes() {
  const every = make('input', {type: 'checkbox', id: 'codes_every', checked: $('codes_every') ? $('codes_every').checked : false});
  $('codes_bar').replaceChildren(make('label', {}, every, ` ${t('codes_every')}`));
  $('code_head').replaceChildren(...['code', 'code_stored', 'code_why'].map((key) => make('th', {scope: 'col', 'data-text': key}, t(key))));
  $('code_rows').replaceChildren();
  $('code_list').dataset.form = '';
  $('code_texts').replaceChildren(...state.core.list('codes').map((c) => make('li', {}, t('code_when', `${c.code} ${c.definition}`, c.condition, c.not_tested_if))));
}
