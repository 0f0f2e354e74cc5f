// The chain of reasons, told by the numbers of this moment; each number knows where it comes from.
// PHYSICS with words of a line is replaced by bundle.py with that line's number, section and words: a line that is gone breaks the build.
'use strict';
const WHERE = {
  film_um: {inputs: [], formula: 't = t_film cos²(π z / 2b) (1 + bias cos(θ − θ_bias))', line: PHYSICS('`film_um` is t_film')},
  edge_film_um: {inputs: [], formula: 'Rb = R − c₀ + t_edge', line: PHYSICS('with Rb = R - c0 + t_edge')},
  area_mm2: {inputs: ['film_um', 'edge_film_um', 'blade_deg'], formula: 'A(ψ) = Σ ∫ max(w, 0) (r + w/2) dθ',
    line: PHYSICS('A(psi) = sum over both sides')},
  clean_area_mm2: {inputs: ['blade_deg'], formula: 'A(ψ), t_film = 0', line: PHYSICS('A(psi) = sum over both sides')},
  lost_pct: {inputs: ['area_mm2', 'clean_area_mm2'], formula: '100 (1 − area / clean area)', line: PHYSICS('The area is as seen along the bore')},
  blade_deg: {inputs: ['command_deg', 'tp_pct'], formula: 'ψ = ψ₀ + δ', line: PHYSICS('Bore radius R, shaft diameter d')},
  airflow_gps: {inputs: ['area_mm2', 'manifold_kpa', 'ambient_kpa'], formula: 'm = CdA p / √(R T) Ψ(r)',
    line: PHYSICS('m = CdA p_up / sqrt(R T_up) Psi(r)')},
  unmetered_gps: {inputs: ['leak_mm2'], formula: 'm = 0.6 A p / √(R T) Ψ(r)', line: PHYSICS('| leak | 0.6 `leak_mm2`')},
  ratio: {inputs: ['manifold_kpa', 'ambient_kpa'], formula: 'r = p_down / p_up;  r* = (2/(γ+1))^(γ/(γ−1)) = 0.528', line: PHYSICS('Psi = r^(1/g)')},
  manifold_kpa: {inputs: ['airflow_gps', 'speed_rpm'], formula: 'dp/dt = (γ−1)/V (cp Σ mᵢTᵢ − cp m_cyl T + h (T_wall − T))',
    line: PHYSICS('dp/dt = (g - 1)/V')},
  effort_pct: {inputs: ['speed_rpm', 'target_rpm'], formula: 'effort = clamp(kp (w* − w) + I, least, most)',
    line: PHYSICS('effort = clamp(P + I, effort_least, effort_most)')},
  learned_pct: {inputs: ['effort_pct'], formula: 'learned moves by effort dt / learn_time',
    line: PHYSICS('moved = effort dt/learn_time')},
  torque_nm: {inputs: ['airflow_gps', 'spark_deg', 'lambda'], formula: 'W = (m a / AFR) H ηi ηs ηx f(λ);  T = ΣW / 4π',
    line: PHYSICS('T_ind = ( sum_b W_b g_b')},
  spark_reserve_pct: {inputs: ['spark_deg'], formula: 'ηs = max(1 − k retard², 0.05)',
    line: PHYSICS('eta_s = max(1 - k retard^2, 0.05)')},
  speed_rpm: {inputs: ['torque_nm', 'target_rpm'], formula: 'J dω/dt = T_ind − T_fric − T_pump − …',
    line: PHYSICS('J dw/dt = T_ind + T_start')},
  target_rpm: {inputs: ['coolant_c'], formula: 'w* over coolant temperature',
    line: PHYSICS('Idle target w*: a curve over coolant temperature')},
};

// Of the air outside and of choking, as the library has it; asked for when words are shown.
function airNow(bench) { return Object.fromEntries(bench.run.table('air').map((row) => [row.name, row.value])); }
function reasonValue(bench, name) {
  if (name === 'lost_pct') return 100 * (1 - bench.now('area_mm2') / bench.now('clean_area_mm2'));
  if (name === 'ambient_kpa') return bench.air.ambient_kpa;
  if (name === 'ratio') return bench.now('manifold_kpa') / bench.air.ambient_kpa;
  return bench.now(name);
}
const REASON_DECIMALS = {film_um: 1, edge_film_um: 1, area_mm2: 2, clean_area_mm2: 2, lost_pct: 0, blade_deg: 2, command_deg: 2, tp_pct: 1,
  airflow_gps: 2, unmetered_gps: 2, ratio: 2, manifold_kpa: 1, ambient_kpa: 1, effort_pct: 0, learned_pct: 0, torque_nm: 1, spark_deg: 1,
  spark_reserve_pct: 0, speed_rpm: 0, target_rpm: 0, lambda: 2, leak_mm2: 1, coolant_c: 0};

// Links of the chain: [key of the sentence, names of its numbers in the order of the sentence].
function reasonsNow(bench) {
  const v = (name) => reasonValue(bench, name), links = [], running = v('speed_rpm') > 300;
  const pedal = bench.now('pedal_pct') > 0.5;
  if (v('film_um') <= 0.05 && v('edge_film_um') > 0.05) links.push(['reason_edge', ['edge_film_um', 'clean_area_mm2', 'area_mm2', 'lost_pct']]);
  else if (v('film_um') > 0.05) links.push(['reason_film', ['film_um', 'clean_area_mm2', 'area_mm2', 'lost_pct']]);
  else links.push(['reason_clean', ['area_mm2', 'blade_deg']]);
  if (!running) { links.push(['reason_standing', ['speed_rpm', 'blade_deg']]); return links; }
  if (bench.condition('controller_frozen') === 1) links.push(['reason_frozen', ['blade_deg']]);
  else if (!pedal) {
    const most = (what) => bench.engine.get(`idle_air.${what}_most_pct`);
    const spent = v('effort_pct') > most('effort') - 0.05 && v('learned_pct') > most('learned') - 0.05;
    links.push([spent ? 'reason_spent' : 'reason_answer', ['effort_pct', 'learned_pct', 'blade_deg']]);
  }
  if (pedal) links.push(['reason_pedal', ['blade_deg']]);
  links.push([v('ratio') <= bench.air.critical_ratio ? 'reason_choked' : 'reason_not_choked', ['airflow_gps', 'manifold_kpa', 'ratio']]);
  if (v('unmetered_gps') > 0.03) links.push(['reason_unmetered', ['unmetered_gps', 'airflow_gps']]);
  links.push(['reason_torque', ['airflow_gps', 'torque_nm', 'spark_reserve_pct']]);
  const off = v('speed_rpm') - v('target_rpm');
  if (!pedal) links.push([Math.abs(off) < 30 ? 'reason_on_target' : off < 0 ? 'reason_below' : 'reason_above', ['speed_rpm', 'target_rpm']]);
  return links;
}
