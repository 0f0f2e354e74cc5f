// The page: builds its controls, runs the bench in time with the screen, and shows what happens. Texts go in as text, never as markup.
'use strict';
// A frame that came late is caught up with in small parts, so that the picture stays smooth; a machine that is behind for long is given more.
const FRAME_MOST_S = 0.25, STEP_BUDGET_MS = 2.5, STEP_BUDGET_BEHIND_MS = 10, FRAMES_BEHIND = 60;

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
  state.faults = state.core.faults;
  makeSections();
  let problem = '';
  try { beginAs(beginOfFragment(location.hash) || beginOfData(state.data.begin) || {engine: 'four-16'}); }
  catch (e) { problem = t('bad_link', e.message); begin({engine: 'four-16'}); }
  buildAll();
  say(problem);
  state.last = performance.now();
  requestAnimationFrame(frame);
  window.bladegap = {state, act, backTo, begin: beginAs, openRecord, practiceText, stepFor, watch: (what) => state.watchers.push(what)}; // docs/page.md
  document.documentElement.dataset.ready = String(Math.round(performance.now()));
  tellHolder();
}

// A new bench; the old one stays where the new cannot be made.
function begin(how) {
  const bench = new Bench(state.core, how);
  try {
    if (how.at) bench.step(how.at === 'end' ? Math.min(bench.endTick, BEGIN_MOST_S * TICKS_PER_S) : Math.round(how.at * TICKS_PER_S));
  } catch (e) { bench.destroy(); throw e; }
  if (state.bench) state.bench.destroy();
  state.blind = Boolean(Number(how.blind || 0));
  document.body.classList.toggle('blind', state.blind);
  dropOther();
  state.bench = bench;
  state.growing = false;
  state.problem = '';
}
// With all that docs/page.md lets a link or a lesson say.
function beginAs(how) {
  const apply = checkBegin(how);
  begin(how);
  apply();
  if ($('play')) buildAll();
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
  if (!mayTell()) return;
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
  dialog.replaceChildren(make('h2', {id: 'dialog_title'}, t('before_hands')), make('ul', {}, ...names.map((n) => make('li', {}, t(`caution_${n}`)))),
    make('p', {}, t('not_a_car')), make('div', {className: 'bar'},
      button('understood', () => { dialog.close(); what(); }), button('close', () => dialog.close())));
  dialog.showModal();
}

// ---- Time ----

function frame(now) {
  const began = performance.now(), passed = (now - state.last) / 1000;
  state.last = now;
  if (state.unseen) { state.owed = 0; requestAnimationFrame(frame); return; }
  if (state.playing && !state.problem) {
    if (passed > 5) say(t('slow'));
    state.owed = Math.min(state.owed + Math.max(0, Math.min(passed, FRAME_MOST_S)) * state.speed, FRAME_MOST_S * state.speed);
    try {
      const budgetMs = state.behind > FRAMES_BEHIND ? STEP_BUDGET_BEHIND_MS : STEP_BUDGET_MS;
      while (state.owed >= 0.01 && performance.now() - began < budgetMs) {
        const part = Math.min(0.1, Math.floor(state.owed * TICKS_PER_S + 1e-9) / TICKS_PER_S);
        if (part <= 0) break;
        stepFor(part);
        state.owed -= part;
      }
      state.behind = state.owed >= 0.1 ? state.behind + 1 : 0;
    } catch (e) { state.problem = e.message; say(t('stopped', e.message)); }
  }
  show(passed);
  state.work.push(performance.now() - began);
  if (state.work.length > 2000) state.work.splice(0, 1000);
  requestAnimationFrame(frame);
}
state.work = [];

// ---- Texts ----

function retext() {
  document.documentElement.lang = language ? 'de' : 'en';
  for (const e of document.querySelectorAll('[data-text]')) e.textContent = t(e.dataset.text);
  document.title = `bladegap: ${t('title')}`;
  $('gap_canvas').setAttribute('aria-label', t('gap_title'));
  $('chart_canvas').setAttribute('aria-label', t('charts_title'));
}
function buildAll() {
  keepFocus(() => { for (const build of [buildTransport, layControls, buildEstimate, buildFiles, buildSections, buildCodes, buildKeys]) build(); });
  retext();
}
function setLanguage(which) {
  language = which;
  try { localStorage.setItem('bladegap-language', String(which)); } catch (e) { /* storage refused: for this visit only */ }
  shownAt = {words: -1e9, summary: -1e9};
  buildAll();
}
try { startPage(); } catch (e) { say(String(e.message)); }
