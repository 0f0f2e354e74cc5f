// Tests of the bench by hand: what a meter, a torch and a finger tell. What can hurt is done after its caution.
'use strict';
// Terminals by what they do, and what stands on them against the battery's minus; null: this engine has none. Which side of the drive is fed: the one that
// opens or closes the blade, the other lies at minus; common practice, no source.
const TERMINALS = [
  ['minus', () => 0],
  ['battery', (b) => b.now('battery_v')],
  ['sensor_supply', (b) => keyIsOff(b) ? 0 : b.condition('sensor_supply_v')],
  ['tps1', (b) => b.now('tps1_v')], ['tps2', (b) => b.now('tps2_v')], ['app1', (b) => b.now('app1_v')], ['app2', (b) => b.now('app2_v')],
  ['maf', (b) => b.now('maf_v')], ['drive_supply', (b) => b.now('motor_supply_v')],
  ['drive_opens', (b) => Math.max(0, b.now('motor_v'))], ['drive_closes', (b) => Math.max(0, -b.now('motor_v'))],
];
const SIGNALS = ['tps1', 'tps2', 'app1', 'app2', 'maf']; // without a supply they show nothing
const HAND_NM = 0.5, HAND_S = 3, TORCH_ENLARGED = 60;

function keyIsOff(bench) { return bench.keyNow() === 'off' && bench.now('speed_rpm') < 1; }
function terminalVolts(bench, name) {
  if (SIGNALS.includes(name) && keyIsOff(bench)) return Number.isNaN(bench.now(`${name}_v`)) ? NaN : 0;
  return TERMINALS.find((row) => row[0] === name)[1](bench);
}
// An electronic throttle's drive sleeps some seconds after the key is off; until then it can close on a finger.
function handsAllowed(bench) {
  if (keyIsOff(bench) && !(bench.now('motor_supply_v') > 0)) return true;
  say(t('hands_first'));
  return false;
}

function buildTests(element) {
  const there = TERMINALS.filter(([name]) => !Number.isNaN(terminalVolts(state.bench, name))).map(([name]) => [name, t(`at_${name}`)]);
  const lead = (key, value) => { const s = choice(t(key), there, value, () => showTests(state.bench)); s.id = key; return make('label', {}, `${t(key)} `, s); };
  const electronic = !Number.isNaN(state.bench.now('motor_supply_v'));
  element.append(caution('leads'), make('div', {className: 'bar'}, lead('lead_red', 'tps1'), lead('lead_black', 'minus'), make('output', {id: 'meter', className: 'meter'})),
    make('p', {className: 'model', 'data-text': 'meter_try'}, t('meter_try')),
    make('div', {className: 'bar'}, button('torch', () => afterCautions(electronic ? ['fingers', 'hand', 'unplugging'] : ['fingers'], lookThrough), {id: 'torch'}),
      ...(electronic ? [['finger_open', HAND_NM], ['finger_shut', -HAND_NM]] : []).map(([key, nm]) =>
        button(key, () => afterCautions(['fingers', 'hand', 'unplugging'], () => pushBlade(nm)), {id: key}))),
    make('div', {id: 'torch_view', hidden: true}, make('canvas', {id: 'torch_canvas', role: 'img'}), make('p', {id: 'torch_words', role: 'status'}),
      make('p', {className: 'model', lang: 'en', id: 'torch_how'})));
}
function showTests(bench) {
  const red = terminalVolts(bench, $('lead_red').value), black = terminalVolts(bench, $('lead_black').value), text = `${format(red - black, 2)} V`;
  if ($('meter').textContent !== text) $('meter').textContent = text;
}
function pushBlade(nm) {
  if (!handsAllowed(state.bench)) return;
  act('set', 'hand_nm', nm, 0);
  act('set', 'hand_nm', 0, HAND_S);
}

// What a torch shows through the shut blade, much enlarged; the widths are the library's.
function lookThrough() {
  const bench = state.bench, view = $('torch_view');
  if (!handsAllowed(bench)) return;
  view.hidden = false;
  const canvas = $('torch_canvas'), c = fitCanvas(canvas), w = canvas.clientWidth, h = canvas.clientHeight, r = Math.min(w, h) / 2 - 12;
  const widths = bench.run.table('light').map((row) => row.gap_um / 1000), radius = bench.engine.get('throttle.bore_radius_mm');
  c.fillStyle = '#16191c';
  c.fillRect(0, 0, w, h);
  c.strokeStyle = '#ffe9a8';
  widths.forEach((width, i) => {
    if (!(width > 0)) return;
    c.lineWidth = Math.max(0.5, width / radius * r * TORCH_ENLARGED);
    c.beginPath();
    c.arc(w / 2, h / 2, r - c.lineWidth / 2, (i - 0.6) * 2 * Math.PI / widths.length, (i + 0.6) * 2 * Math.PI / widths.length);
    c.stroke();
  });
  const seen = widths.filter((width) => !Number.isNaN(width)), open = seen.filter((width) => width > 0).length / seen.length, mm2 = bench.now('closed_gap_mm2');
  const words = t(open > 0.99 ? 'torch_round' : open < 0.01 ? 'torch_none' : 'torch_side');
  $('torch_words').textContent = state.blind ? words : `${words} ${t('torch_area', format(mm2, 2))}`;
  $('torch_how').textContent = bench.run.table('torch')[0].text;
  canvas.setAttribute('aria-label', words);
}
addSection({id: 'tests', title: 'tests_title', column: 1, build: buildTests, show: showTests});
