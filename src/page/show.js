// What the page shows: five times a second in words, every frame in pictures.
'use strict';
function colours() {
  const style = getComputedStyle(document.body), v = (name) => style.getPropertyValue(`--${name}`).trim();
  const all = {size: Math.min(22, parseFloat(style.fontSize) * (document.body.classList.contains('presenter') ? 1.2 : 0.78))};
  for (const name of ['text', 'panel', 'quiet', 'line', 'other', 'film', 'wall', 'blade', 'air', 'warn', 'accent']) all[name] = v(name);
  return all;
}
const still = matchMedia('(prefers-reduced-motion: reduce)');
const gapView = new GapView($('gap_canvas'));
let shownAt = {words: -1e9, summary: -1e9}, look = null, tablesDue = false;

function show(passed) {
  const bench = state.bench, now = performance.now();
  if (!look || now - shownAt.words > 200) look = colours(); // asking for styles is not free: not every frame
  if (!bench.air || now - shownAt.words > 200) bench.air = airNow(bench);
  const choked = reasonValue(bench, 'ratio') <= bench.air.critical_ratio, flowing = bench.now('airflow_gps') > 0.005;
  if (!state.blind) gapView.draw(bench, look, {choked, seconds: passed, moving: state.playing && !still.matches});
  drawCharts($('chart_canvas'), bench, state.other, state.windowS, look);
  if (tablesDue) { // in the frame after the words, so that no frame has the work of both
    tablesDue = false;
    showCodes(bench);
    showMoving();
    showSections(bench);
  }
  if (now - shownAt.words > 200) {
    shownAt.words = now;
    $('air').textContent = t(!flowing ? 'no_air' : choked ? 'choked' : 'not_choked');
    $('digits').textContent = `${format(bench.now('speed_rpm'), 0)} ${t('rpm')}`;
    $('clock').textContent = `${format(bench.timeS, 1)} s`;
    $('legend').textContent = state.other ? t('second_legend', format(state.other.now('speed_rpm'), 0)) : '';
    if (!state.blind) showReasons(bench);
    tablesDue = true;
    for (const watcher of state.watchers) watcher(bench);
    sound.follow(bench);
  }
  if (now - shownAt.summary > 5000) {
    shownAt.summary = now;
    const f = (name, decimals) => format(bench.now(name), decimals);
    $('summary').textContent = state.blind ? t('summary_blind', format(bench.timeS, 0), f('speed_rpm', 0), f('target_rpm', 0)) : t('summary', format(bench.timeS, 0), f('speed_rpm', 0), f('target_rpm', 0), f('film_um', 0), f('blade_deg', 1), f('airflow_gps', 2));
  }
}
const sound = new EngineSound();

// Sentences with a button for every number; rebuilt only when the sentences are others.
function showReasons(bench) {
  const links = reasonsNow(bench), list = $('reasons'), form = `${language} ${links.map((link) => link[0])}`;
  if (list.dataset.form !== form) {
    list.dataset.form = form;
    const held = list.contains(document.activeElement) ? document.activeElement.dataset.number : '';
    list.replaceChildren(...links.map(([key, names]) => {
      const item = make('li');
      for (const part of (TEXTS[key][language] || TEXTS[key][0]).split(/(\{\d\})/)) {
        const which = /^\{(\d)\}$/.exec(part);
        if (!which) { item.append(part); continue; }
        const name = names[which[1]];
        item.append(make('button', {type: 'button', className: 'number', 'data-number': name, onclick: () => explain(name)}));
      }
      return item;
    }));
    if (held) list.querySelector(`[data-number=${held}]`)?.focus({preventScroll: true});
  }
  for (const one of list.querySelectorAll('[data-number]')) {
    const name = one.dataset.number, text = format(reasonValue(bench, name), REASON_DECIMALS[name]);
    if (one.textContent !== text) { one.textContent = text; one.setAttribute('aria-label', `${t(name)}: ${text}. ${t('where_title')}`); }
  }
}
function explain(name) {
  const where = WHERE[name], dialog = $('dialog');
  const value = (n) => n in REASON_DECIMALS && !Number.isNaN(reasonValue(state.bench, n)) ? ` = ${format(reasonValue(state.bench, n), REASON_DECIMALS[n])}` : '';
  dialog.replaceChildren(make('h2', {id: 'dialog_title'}, t('where_title')), make('p', {}, `${t(name)}${value(name)}`), make('p', {}, make('code', {}, where.formula)),
    make('p', {}, `${t('where_inputs')}: ${where.inputs.map((n) => t(n) + value(n)).join('; ') || t('where_given')}`),
    make('p', {}, t('where_line', where.line.number, where.line.section)), make('p', {lang: 'en'}, make('code', {}, where.line.text)),
    button('close', () => dialog.close()));
  dialog.showModal();
}
