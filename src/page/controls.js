// The controls of the page, made by hand from the list of what can be set.
'use strict';
const SLIDERS = [ // condition, key of its label, most, step, unit; the condition's own range is what may be typed
  ['film_um', 'film', 120, 1, 'µm'], ['edge_film_um', 'edge', 120, 1, 'µm'], ['pedal_pct', 'pedal', 100, 1, '%'], ['electrical_load_w', 'load', 1500, 50, 'W'],
  ['steering_pct', 'steering', 100, 5, '%'], ['altitude_m', 'altitude', 4000, 100, 'm'], ['intake_c', 'intake', 50, 1, '°C'],
];
const GROW_UM_PER_S = 0.2, FILM_UM_PER_S = 1;

function choice(label, options, value, onchange, id) {
  const select = make('select', {onchange: () => onchange(select.value), 'aria-label': label, ...(id && {id})},
    ...options.map(([of, text]) => make('option', {value: of, selected: of === value}, text)));
  return select;
}
function buildTransport() {
  const seconds = make('input', {type: 'number', min: '0', step: '1', value: '0', 'aria-label': t('back_to')});
  $('transport').replaceChildren(
    button('pause', togglePlay, {id: 'play'}),
    choice(t('speed'), ['1', '2', '5', '10', '30', '60'].map((n) => [n, `×${n}`]), String(state.speed), (n) => { state.speed = Number(n); }, 'speed'),
    make('span', {id: 'clock'}), button('back_1', () => backTo(state.bench.timeS - 1)), button('back_10', () => backTo(state.bench.timeS - 10)),
    seconds, button('back_to', () => { const s = numberOf(seconds.value, 0, state.bench.timeS); if (s !== null) backTo(s); }),
    button('mark', mark), button('second', toggleOther, {id: 'second', 'aria-pressed': String(!!state.other)}),
    button('sound', toggleSound, {id: 'sound', 'aria-pressed': String(!!sound.context)}),
    button('presenter', togglePresenter, {id: 'presenter', 'aria-pressed': String(document.body.classList.contains('presenter'))}),
    button('language', () => setLanguage(1 - language), {id: 'language', lang: language ? 'en' : 'de'}));
  $('chart_bar').replaceChildren(make('label', {}, `${t('window')} `,
    choice(t('window'), [[60, '60 s'], [300, '5 min'], [1200, '20 min'], [3600, '60 min']].map(([n, text]) => [String(n), text]), String(state.windowS),
      (n) => { state.windowS = Number(n); })));
}
// One step up or down the list of speeds.
function changeSpeed(by) {
  const select = $('speed'), index = Math.max(0, Math.min(select.options.length - 1, select.selectedIndex + by));
  select.selectedIndex = index;
  state.speed = Number(select.value);
}
function togglePlay() { state.playing = !state.playing; state.owed = 0; showControls(); }
function mark() { act('note', `${t('mark_text')} ${format(state.bench.timeS, 1)} s`); }
function toggleSound() {
  if (sound.context) sound.stop(); else sound.start(state.bench.engine.get('charge.cylinder_count'));
  $('sound').setAttribute('aria-pressed', String(!!sound.context));
}
function togglePresenter() { $('presenter').setAttribute('aria-pressed', String(document.body.classList.toggle('presenter'))); }

// A typed number, or null with a sentence.
function numberOf(text, least, most) {
  const value = text.trim() === '' ? NaN : Number(text.replace(',', '.'));
  if (value >= least && value <= most) return value;
  say(t('bad_value', text.slice(0, 40) || '–', least, most));
  return null;
}
function caution(...names) { return make('p', {className: 'model'}, `${t('before_hands')}: ${names.map((n) => t(`caution_${n}`)).join(' ')}`); }
function toggle(key, condition) {
  return button(key, () => act('set', condition, state.bench.condition(condition) === 1 ? 0 : 1), {'data-switch': condition, 'aria-pressed': 'false'});
}

function buildControls() { keepFocus(layControls); }
function layControls() {
  const core = state.core, bench = state.bench;
  const scenarios = [['', t('scenario_none')], ...state.data.scenarios.map((s) => [s.name, s.title])];
  const rows = SLIDERS.map(([name, key, most, step, unit]) => {
    const out = make('output', {id: `out_${name}`});
    const least = name === 'intake_c' ? -30 : 0;
    const slider = make('input', {type: 'range', min: least, max: most, step, id: `set_${name}`, value: bench.condition(name), 'data-unit': unit,
      [FILMS.includes(name) ? 'onchange' : 'oninput']: () => moveTo(name, Number(slider.value))});
    return make('div', {className: FILMS.includes(name) ? 'row truth' : 'row'}, make('label', {htmlFor: slider.id, 'data-text': key}, t(key)), slider, out);
  });
  const value = make('input', {type: 'number', step: 'any', 'aria-label': t('fault_set'), value: '1'});
  const described = make('p', {className: 'model truth', lang: 'en'});
  const settable = state.faults.filter((row) => !['film_um', 'edge_film_um'].includes(row.name));
  const pick = choice(t('fault'), settable.map((row) => [row.name, row.name]), settable[0].name, () => describe());
  const rowNow = () => state.faults.find((row) => row.name === pick.value);
  const describe = () => {
    const row = rowNow();
    described.textContent = `${row.text} (${row.min} to ${row.max}, usual ${row.start})`;
    value.min = row.min; value.max = row.max;
  };
  const setFault = () => { const row = rowNow(), v = numberOf(value.value, row.min, row.max); if (v !== null) act('set', row.name, v, 0); };
  describe();
  pick.id = 'fault';
  value.id = 'fault_value';
  $('controls').replaceChildren(
    make('div', {className: 'bar truth'},
      make('label', {}, `${t('engine')} `, choice(t('engine'), core.list('engines').map((e) => [e.name, e.name]), bench.engineName, changeEngine, 'engine')),
      make('label', {}, `${t('scenario')} `, choice(t('scenario'), scenarios, '', (name) => {
        const found = state.data.scenarios.find((s) => s.name === name);
        if (found) openRecord(found.record);
      }, 'scenario'))),
    make('p', {className: 'model', lang: 'en', id: 'engine_title'}, bench.engine.title),
    ...rows.slice(0, 2), make('div', {className: 'bar truth'}, button('grow', toggleGrow, {id: 'grow', 'aria-pressed': 'false'}),
      button('clean', () => afterCautions(['fingers', 'unplugging', 'solvent', 'coating', 'stop_screw'], cleanBore), {id: 'clean'}),
      button('reset_learned', () => act('action', 'reset_learned'), {id: 'reset'}), button('clear_codes', () => act('action', 'clear_codes'), {id: 'clear'})),
    caution('park', 'moving', 'fumes'),
    make('div', {className: 'bar', role: 'group', 'aria-label': t('key')}, make('span', {'data-text': 'key'}, t('key')),
      ...['off', 'on', 'start'].map((key) => button(`key_${key}`, () => act('key', key), {id: `key_${key}`}))),
    ...rows.slice(2), caution('gear'),
    make('div', {className: 'bar'}, toggle('compressor', 'air_conditioning'), toggle('gear', 'drive'), toggle('frozen', 'controller_frozen')),
    make('div', {className: 'bar truth'}, make('label', {}, `${t('fault')} `, pick), value, button('fault_set', setFault, {id: 'fault_set'}),
      button('fault_mend', () => act('set', pick.value, rowNow().start, 0), {id: 'fault_mend'})),
    described, make('p', {id: 'faults_now', className: 'truth'}));
  showControls();
}
// The same film and loads at another engine would be another story: it begins anew.
function changeEngine(name) {
  try { begin({engine: name}); say(''); } catch (e) { say(e.message); }
  buildControls();
}
// A film does not appear in an instant: the controller is given time to follow, as in a car.
function moveTo(name, value) {
  if (name === 'film_um') state.growing = false;
  act('set', name, value, FILMS.includes(name) ? Math.ceil(Math.abs(value - state.bench.now(name)) / FILM_UM_PER_S) : 0);
}
function cleanBore() { state.growing = false; act('set', 'film_um', 0, 0); act('set', 'edge_film_um', 0, 0); }
// Grows by a ramp, so that the record holds one line and not one a second.
function toggleGrow() {
  const um = state.bench.now('film_um');
  state.growing = !state.growing && um < 300;
  if (state.growing) act('set', 'film_um', 300, Math.ceil((300 - um) / GROW_UM_PER_S)); else act('set', 'film_um', um, 0);
}

// What stands on the controls after something was done.
function showControls() {
  if (!$('play')) return;
  $('play').dataset.text = state.playing ? 'pause' : 'play';
  $('play').textContent = t($('play').dataset.text);
  $('second').dataset.text = state.other ? 'second_off' : 'second';
  $('second').textContent = t($('second').dataset.text);
  $('second').setAttribute('aria-pressed', String(!!state.other));
  if ($('grow')) $('grow').setAttribute('aria-pressed', String(state.growing));
  for (const one of document.querySelectorAll('[data-switch]')) one.setAttribute('aria-pressed', String(state.bench.condition(one.dataset.switch) === 1));
  const set = state.faults.filter((row) => row.kind === 'fault' && state.bench.condition(row.name) !== row.start);
  if ($('faults_now') && !state.blind) $('faults_now').textContent = `${t('faults_now')}: ${set.map((row) => `${row.name} ${state.bench.condition(row.name)}`).join(', ') || t('none')}`;
  showMoving();
}
// Sliders follow what moves by itself.
function showMoving() {
  for (const [name, , , , unit] of SLIDERS) {
    const slider = $(`set_${name}`);
    if (!slider || state.blind && FILMS.includes(name)) continue;
    const value = FILMS.includes(name) ? state.bench.now(name) : state.bench.condition(name);
    if (document.activeElement !== slider || state.growing) slider.value = value;
    const text = `${format(value, FILMS.includes(name) ? 1 : 0)} ${unit}`;
    if ($(`out_${name}`).textContent !== text) { $(`out_${name}`).textContent = text; slider.setAttribute('aria-valuetext', text); }
  }
}
