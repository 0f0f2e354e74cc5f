// The page: builds its controls, runs the bench in time with the screen, and shows what happens. Texts go in as text, never as markup.
'use strict';
const FRAME_MOST_S = 0.25, STEP_BUDGET_MS = 10;
const state = {core: null, module: null, bench: null, other: null, playing: true, speed: 1, windowS: 60, growing: false, owed: 0, problem: ''};
const $ = (id) => document.getElementById(id);

// An element with properties and children; strings become text nodes.
function make(tag, properties, ...children) {
  const e = document.createElement(tag);
  for (const [key, value] of Object.entries(properties || {}))
    if (key in e && key !== 'list') e[key] = value; else e.setAttribute(key, value);
  e.append(...children);
  return e;
}
function button(key, onclick, extra) { return make('button', {type: 'button', 'data-text': key, onclick, ...extra}, t(key)); }
function say(text) { $('message').textContent = text; }

// ---- Starting ----

function bytesOf(base64) { return Uint8Array.from(atob(base64), (c) => c.charCodeAt(0)); }
async function unzipped(bytes) {
  if (typeof DecompressionStream === 'undefined' || window.bladegapOwnInflate) return inflateGzip(bytes);
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream('gzip'));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

async function startPage() {
  state.data = JSON.parse($('data').textContent);
  language = /^de\b/.test(navigator.language || '') ? 1 : 0;
  try { language = Number(localStorage.getItem('bladegap-language') ?? language) ? 1 : 0; } catch (e) { /* storage refused: as the browser says */ }
  if (typeof WebAssembly === 'undefined') { retext(); say(t('no_wasm')); return; }
  try {
    state.module = await WebAssembly.compile(await unzipped(bytesOf($('module').textContent)));
    state.core = coreOf(await WebAssembly.instantiate(state.module, hostCalls));
  } catch (e) { retext(); say(`${t('no_wasm')} (${e.message})`); return; }
  state.faults = state.core.list('faults');
  let problem = '';
  try { begin(fromFragment() || (state.data.begin ? {record: state.data.begin} : {engine: 'four-16'})); }
  catch (e) { problem = t('bad_link', e.message); begin({engine: 'four-16'}); }
  buildAll();
  say(problem);
  state.last = performance.now();
  requestAnimationFrame(frame);
  window.bladegap = {state, act, backTo, openRecord, stepFor}; // for lessons: docs/page.md
  document.documentElement.dataset.ready = String(Math.round(performance.now()));
}

function fromFragment() {
  const found = /^#r=([A-Za-z0-9_-]*)$/.exec(location.hash);
  if (location.hash.length > 1 && !found) throw new Error(location.hash.slice(0, 40));
  if (!found) return null;
  const bytes = bytesOf(found[1].replace(/-/g, '+').replace(/_/g, '/'));
  return {record: new TextDecoder('utf-8', {fatal: true}).decode(bytes), toEnd: true};
}

// A new bench; the old one stays where the new cannot be made.
function begin(how) {
  const bench = new Bench(state.core, how);
  if (how.toEnd) bench.step(bench.endTick);
  if (state.bench) state.bench.destroy();
  dropOther();
  state.bench = bench;
  state.growing = false;
  state.problem = '';
}
function dropOther() { if (state.other) state.other.destroy(); state.other = null; }

// ---- Acting ----

const FILMS = ['film_um', 'edge_film_um', 'bypass_film_um'];
function act(kind, name, value, rampS) {
  try {
    state.bench.act(kind, name, value, rampS);
    if (state.other && !FILMS.includes(name)) state.other.act(kind, name, value, rampS);
    say('');
  } catch (e) { say(e.message); }
  showControls();
}
function backTo(timeS) {
  try {
    state.bench.backTo(timeS);
    if (state.other) state.other.backTo(timeS);
    state.growing = false;
    state.problem = '';
    say('');
  } catch (e) { say(e.message); }
  showControls();
}
function stepFor(seconds) {
  const ticks = Math.round(seconds * TICKS_PER_S);
  state.bench.step(ticks);
  if (state.other) state.other.step(ticks);
}
function openRecord(record) {
  try { begin({record}); say(''); } catch (e) { say(e.message); }
  buildControls();
}
// The same engine, all that was done done again, but for the films.
function toggleOther() {
  if (state.other) { dropOther(); showControls(); return; }
  try {
    const clean = state.bench.run.record().split('\n').filter((line) => !FILMS.some((film) => line.split(/\s+/)[1] === film)).join('\n');
    const other = new Bench(state.core, {record: clean});
    try { other.step(state.bench.tick); } catch (e) { other.destroy(); throw e; }
    state.other = other;
  } catch (e) { say(e.message); }
  showControls();
}
// What a caution protects is done only when it has been read.
function afterCautions(names, what) {
  const dialog = $('dialog');
  dialog.replaceChildren(make('h2', {}, t('before_hands')), make('ul', {}, ...names.map((n) => make('li', {}, t(`caution_${n}`)))),
    make('p', {}, t('not_a_car')), make('div', {className: 'bar'},
      button('understood', () => { dialog.close(); what(); }), button('close', () => dialog.close())));
  dialog.showModal();
}

// ---- Time ----

function frame(now) {
  const began = performance.now(), passed = (now - state.last) / 1000;
  state.last = now;
  if (state.playing && !state.problem) {
    if (passed > 5) say(t('slow'));
    state.owed = Math.min(state.owed + Math.max(0, Math.min(passed, FRAME_MOST_S)) * state.speed, FRAME_MOST_S * state.speed);
    try {
      while (state.owed >= 0.01 && performance.now() - began < STEP_BUDGET_MS) {
        const part = Math.min(0.1, Math.floor(state.owed * TICKS_PER_S + 1e-9) / TICKS_PER_S);
        if (part <= 0) break;
        stepFor(part);
        state.owed -= part;
      }
    } catch (e) { state.problem = e.message; say(t('stopped', e.message)); }
  }
  show(passed);
  state.work.push(performance.now() - began);
  if (state.work.length > 2000) state.work.splice(0, 1000);
  requestAnimationFrame(frame);
}
state.work = [];

// ---- Showing ----

function colours() {
  const style = getComputedStyle(document.body), v = (name) => style.getPropertyValue(`--${name}`).trim();
  const all = {size: Math.min(22, parseFloat(style.fontSize) * (document.body.classList.contains('presenter') ? 1.2 : 0.78))};
  for (const name of ['text', 'panel', 'quiet', 'line', 'other', 'film', 'wall', 'blade', 'air', 'warn', 'accent']) all[name] = v(name);
  return all;
}
const still = matchMedia('(prefers-reduced-motion: reduce)');
const gapView = new GapView($('gap_canvas'));
let shownAt = {words: -1e9, summary: -1e9}, look = null;

function show(passed) {
  const bench = state.bench, now = performance.now();
  if (!look || now - shownAt.words > 200) look = colours(); // asking for styles is not free: not every frame
  const choked = reasonValue(bench, 'ratio') <= CRITICAL_RATIO, flowing = bench.now('airflow_gps') > 0.005;
  gapView.draw(bench, look, {choked, seconds: passed, moving: state.playing && !still.matches});
  drawCharts($('chart_canvas'), bench, state.other, state.windowS, look);
  if (now - shownAt.words > 200) {
    shownAt.words = now;
    $('air').textContent = t(!flowing ? 'no_air' : choked ? 'choked' : 'not_choked');
    $('digits').textContent = format(bench.now('speed_rpm'), 0);
    $('clock').textContent = `${format(bench.timeS, 1)} s`;
    $('legend').textContent = state.other ? t('second_legend', format(state.other.now('speed_rpm'), 0)) : '';
    showReasons(bench);
    showCodes(bench);
    showMoving();
    sound.follow(bench);
  }
  if (now - shownAt.summary > 5000) {
    shownAt.summary = now;
    const f = (name, decimals) => format(bench.now(name), decimals);
    $('summary').textContent = t('summary', format(bench.timeS, 0), f('speed_rpm', 0), f('target_rpm', 0), f('film_um', 0), f('blade_deg', 1), f('airflow_gps', 2));
  }
}
const sound = new EngineSound();

// Sentences with a button for every number; rebuilt only when the sentences are others.
function showReasons(bench) {
  const links = reasonsNow(bench), list = $('reasons'), form = `${language} ${links.map((link) => link[0])}`;
  if (list.dataset.form !== form) {
    list.dataset.form = form;
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
  }
  for (const one of list.querySelectorAll('[data-number]')) {
    const name = one.dataset.number, text = format(reasonValue(bench, name), REASON_DECIMALS[name]);
    if (one.textContent !== text) { one.textContent = text; one.setAttribute('aria-label', `${t(name)}: ${text}. ${t('where_title')}`); }
  }
}
function explain(name) {
  const where = WHERE[name], dialog = $('dialog');
  const value = (n) => n in REASON_DECIMALS && !Number.isNaN(reasonValue(state.bench, n)) ? ` = ${format(reasonValue(state.bench, n), REASON_DECIMALS[n])}` : '';
  dialog.replaceChildren(make('h2', {}, t('where_title')), make('p', {}, `${t(name)}${value(name)}`), make('p', {}, make('code', {}, where.formula)),
    make('p', {}, `${t('where_inputs')}: ${where.inputs.map((n) => t(n) + value(n)).join('; ') || t('where_given')}`),
    make('p', {}, t('where_line', where.line.number, where.line.section)), make('p', {lang: 'en'}, make('code', {}, where.line.text)),
    button('close', () => dialog.close()));
  dialog.showModal();
}

function showCodes(bench) {
  const codes = bench.run.table('codes'), form = `${language}${codes.map((c) => c.code + c.state)}`;
  if ($('code_list').dataset.form === form) return;
  $('code_list').dataset.form = form;
  $('code_list').replaceChildren(...(codes.length ? codes.map((c) => make('li', {lang: 'en'}, `${c.code} (${c.state}) ${c.definition}`)) : [make('li', {}, t('codes_none'))]));
}

function retext() {
  document.documentElement.lang = language ? 'de' : 'en';
  for (const e of document.querySelectorAll('[data-text]')) e.textContent = t(e.dataset.text);
  document.title = `bladegap: ${t('title')}`;
  $('gap_canvas').setAttribute('aria-label', t('gap_title'));
  $('chart_canvas').setAttribute('aria-label', t('charts_title'));
}
function buildAll() {
  buildTransport();
  buildControls();
  buildEstimate();
  buildFiles();
  $('code_rows').replaceChildren(...state.core.list('codes').map((c) => make('li', {}, t('code_why', `${c.code} ${c.definition}`, c.condition, c.not_tested_if))));
  retext();
}
function setLanguage(which) {
  language = which;
  try { localStorage.setItem('bladegap-language', String(which)); } catch (e) { /* storage refused: for this visit only */ }
  shownAt = {words: -1e9, summary: -1e9};
  buildAll();
}
try { startPage(); } catch (e) { say(String(e.message)); }
