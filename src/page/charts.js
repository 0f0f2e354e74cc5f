// Strip charts on one time axis. The second bench is drawn dashed; what a line is compared with (target, clean bore), dotted.
'use strict';
const CHARTS = [ // channel, what it is compared with, least span of the axis, decimals
  ['speed_rpm', 'target_rpm', 200, 0], ['area_mm2', 'clean_area_mm2', 2, 1], ['blade_deg', 'command_deg', 0.5, 2],
  ['airflow_gps', null, 0.5, 2], ['learned_pct', 'effort_pct', 10, 0], ['manifold_kpa', null, 10, 0], ['ltft_pct', 'stft_pct', 10, 0],
];
const BLIND_CHARTS = [ // where only instruments may be looked at
  ['speed_rpm', 'target_rpm', 200, 0], ['tp_pct', null, 1, 1], ['maf_gps', null, 0.5, 2], ['learned_pct', 'effort_pct', 10, 0],
  ['manifold_kpa', null, 10, 0], ['spark_deg', null, 5, 1], ['ltft_pct', 'stft_pct', 10, 0], ['bypass_steps', null, 5, 0],
];

// The names a chart shows of this bench: channels that the engine has.
function chartRows(bench) { return (state.blind ? BLIND_CHARTS : CHARTS).filter(([name]) => !Number.isNaN(bench.now(name)) || name === 'speed_rpm'); }

function drawCharts(canvas, bench, other, windowS, colours) {
  const shown = chartRows(bench), c = fitCanvas(canvas), w = canvas.clientWidth, h = canvas.clientHeight;
  const left = 46, right = w - 6, high = (h - 20) / shown.length, to = Math.max(windowS, bench.timeS), from = to - windowS;
  const px = (time) => left + (time - from) / windowS * (right - left);
  c.clearRect(0, 0, w, h);
  c.font = `${colours.size}px system-ui, sans-serif`;
  shown.forEach(([name, beside, least, decimals], n) => {
    const top = n * high + colours.size + 5, bottom = (n + 1) * high - 4, lines = [[bench, name, []], [bench, beside, [2, 3]], [other, name, [8, 4]]];
    let low = Infinity, up = -Infinity;
    for (const [of, channel] of lines) if (of && channel) for (const i of rowsOf(of, from, right - left)) {
      const v = of.at(channel, i);
      if (v < low) low = v;
      if (v > up) up = v;
    }
    if (!(up >= low)) { low = 0; up = 1; }
    if (up - low < least) { const middle = (up + low) / 2; low = middle - least / 2; up = middle + least / 2; }
    c.fillStyle = colours.panel;
    c.fillRect(left, top, right - left, bottom - top);
    c.fillStyle = colours.text;
    c.fillText(t(name) + (beside ? ` · · · ${t(beside)}` : '') + `   ${format(bench.now(name), decimals)}`, left, top - 3, right - left);
    c.textAlign = 'right';
    c.fillText(format(up, decimals), left - 4, top + colours.size - 2);
    c.fillText(format(low, decimals), left - 4, bottom);
    c.textAlign = 'left';
    for (const [of, channel, dash] of lines) {
      if (!of || !channel) continue;
      c.strokeStyle = of === other ? colours.other : dash.length ? colours.quiet : colours.line;
      c.lineWidth = 1.6;
      c.setLineDash(dash);
      c.beginPath();
      let open = false;
      for (const i of rowsOf(of, from, right - left)) {
        const v = of.at(channel, i);
        if (Number.isNaN(v)) { open = false; continue; }
        const y = bottom - (v - low) / (up - low) * (bottom - top);
        if (open) c.lineTo(px(of.at('time_s', i)), y); else c.moveTo(px(of.at('time_s', i)), y);
        open = true;
      }
      c.stroke();
    }
    c.setLineDash([]);
  });
  c.fillStyle = colours.text;
  for (let i = 0; i <= 4; i++) {
    const time = from + windowS * i / 4;
    c.textAlign = i === 4 ? 'right' : i ? 'center' : 'left';
    c.fillText(`${format(time, 0)} s`, px(time), h - 5);
  }
  c.textAlign = 'left';
  c.strokeStyle = colours.accent;
  for (const one of bench.done) if (one.kind === 'note' && one.tick / TICKS_PER_S >= from) {
    c.beginPath();
    c.moveTo(px(one.tick / TICKS_PER_S), 0);
    c.lineTo(px(one.tick / TICKS_PER_S), h - 18);
    c.stroke();
  }
}

// Indices of rows from a time on, no more than there are pixels.
function* rowsOf(bench, from, pixels) {
  if (!bench.rowCount) return;
  const first = bench.at('time_s', 0), begin = Math.max(0, Math.floor((from - first) * TICKS_PER_S / ROW_TICKS));
  const stride = Math.max(1, Math.floor((bench.rowCount - begin) / Math.max(100, pixels)));
  for (let i = begin - begin % stride; i < bench.rowCount; i += stride) yield i;
  if ((bench.rowCount - 1) % stride) yield bench.rowCount - 1;
}
