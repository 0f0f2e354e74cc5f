// The gap to scale: bore, blade and film cut along the bore, square to the shaft, and one edge under a glass; both axes have one scale.
'use strict';
// Geometry of docs/physics.md, section 1, at phi = 90 degrees.
function gapGeometry(bench) {
  const p = (key) => bench.engine.get(key);
  return {
    radius: p('throttle.bore_radius_mm'), closed: p('throttle.closed_deg') * Math.PI / 180, shaft: p('throttle.shaft_mm'),
    clearance: p('throttle.clearance_um') / 1000, land: p('throttle.edge_land_mm'), band: p('film.band_mm'),
    downstream: p('film.downstream_ratio'), offset: p('film.offset_mm'), bias: p('film.bias_ratio'),
    biasAt: p('film.bias_from_shaft_deg') * Math.PI / 180,
  };
}

// Film on the wall of one side at z along the bore from the closed line, positive downstream; mm.
function filmAt(g, um, z, side) {
  const from = z - g.offset, half = from > 0 ? g.band * (1 + g.downstream) : g.band * (1 - g.downstream);
  const theta = side > 0 ? Math.PI / 2 : -Math.PI / 2;
  if (Math.abs(from) >= half) return 0;
  return um / 1000 * Math.cos(Math.PI * from / (2 * half)) ** 2 * (1 + g.bias * Math.cos(theta - g.biasAt));
}

class GapView {
  constructor(canvas) { this.canvas = canvas; this.seconds = 0; }

  draw(bench, colours, flow) {
    const c = fitCanvas(this.canvas), w = this.canvas.clientWidth, h = this.canvas.clientHeight;
    if (this.of !== bench) { this.geometry = gapGeometry(bench); this.of = bench; }
    const g = this.geometry;
    c.clearRect(0, 0, w, h);
    c.font = `${colours.size}px system-ui, sans-serif`;
    const left = Math.min(w * 0.36, h * 1.1);
    this.whole(c, bench, g, left, h, colours);
    this.glass(c, bench, g, left + 8, w - left - 8, h, colours, flow);
  }

  // The whole bore, air from left to right.
  whole(c, bench, g, w, h, colours) {
    const scale = Math.min(h - 46, w - 8) / (2 * g.radius + 6), x0 = w / 2, y0 = h / 2;
    const psi = g.closed + bench.now('blade_deg') * Math.PI / 180, r = g.radius * scale, tip = r / Math.cos(g.closed);
    c.fillStyle = colours.wall;
    c.fillRect(0, y0 - r - 3 * scale, w, 3 * scale);
    c.fillRect(0, y0 + r, w, 3 * scale);
    c.strokeStyle = colours.text;
    c.lineWidth = Math.max(1.5, g.land * scale);
    c.beginPath();
    c.moveTo(x0 - tip * Math.sin(psi), y0 + tip * Math.cos(psi));
    c.lineTo(x0 + tip * Math.sin(psi), y0 - tip * Math.cos(psi));
    c.stroke();
    c.fillStyle = colours.text;
    c.beginPath();
    c.arc(x0, y0, Math.max(2, g.shaft / 2 * scale), 0, 2 * Math.PI);
    c.fill();
    c.fillText(t('gap_whole', format(bench.now('blade_deg'), 2)), 2, h - 6, w - 4);
    c.strokeStyle = colours.accent; // where the glass is held
    c.lineWidth = 1.5;
    c.beginPath();
    c.arc(x0 + tip * Math.sin(psi), y0 - tip * Math.cos(psi), 7, 0, 2 * Math.PI);
    c.stroke();
  }

  // The edge that opens downstream, 1 mm some hundred pixels. x runs along the bore, y from the wall inwards.
  glass(c, bench, g, x, w, h, colours, flow) {
    const um = bench.now('film_um'), edge = bench.now('edge_film_um') / 1000, delta = bench.now('blade_deg') * Math.PI / 180;
    const psi = g.closed + delta, k = Math.cos(psi) / Math.cos(g.closed), rb = g.radius - g.clearance;
    const scale = Math.min(w / 3.4, (h - 46) / 1.1), wallY = 26, middle = x + w / 2;
    // Corners of the land: height t on it, from behind to ahead; z along the bore, y from the wall.
    const corner = (t, out) => ({
      z: rb * Math.sin(psi) / Math.cos(g.closed) + t * Math.cos(delta) - g.radius * Math.tan(g.closed),
      y: g.radius - (k * (rb + out) - t * Math.sin(delta)),
    });
    const a = corner(-g.land / 2, edge), b = corner(g.land / 2, edge), mid = (a.z + b.z) / 2;
    const px = (z) => middle + (z - mid) * scale, py = (y) => wallY + y * scale;
    c.save();
    c.beginPath();
    c.rect(x, 0, w, h - 20);
    c.clip();
    c.fillStyle = colours.wall;
    c.fillRect(x, 0, w, wallY);
    // The blade: its land, and faces that lean with it.
    const lean = Math.tan(psi), deep = (h - wallY) / scale + 1;
    c.fillStyle = colours.blade;
    c.beginPath();
    c.moveTo(px(a.z), py(a.y));
    c.lineTo(px(b.z), py(b.y));
    c.lineTo(px(b.z - lean * deep), py(b.y + deep));
    c.lineTo(px(a.z - lean * deep), py(a.y + deep));
    c.fill();
    // Over the blade, so that it is seen where both touch.
    c.fillStyle = colours.film;
    c.beginPath();
    c.moveTo(x, wallY);
    for (let i = 0; i <= 80; i++) {
      const z = mid + (i / 80 - 0.5) * w / scale;
      c.lineTo(px(z), py(filmAt(g, um, z, 1)));
    }
    c.lineTo(x + w, wallY);
    c.fill();
    if (edge > 0) {
      c.strokeStyle = colours.film;
      c.lineWidth = Math.max(1, edge * scale);
      c.beginPath();
      c.moveTo(px(a.z), py(a.y + edge / 2));
      c.lineTo(px(b.z), py(b.y + edge / 2));
      c.stroke();
    }
    this.air(c, bench, {x, w, wallY, px, py, a, b, g, um}, colours, flow);
    c.restore();
    // How far from wall or film the nearest corner is.
    let gap = Infinity;
    for (let i = 0; i <= 20; i++) {
      const s = i / 20, z = a.z + s * (b.z - a.z);
      gap = Math.min(gap, a.y + s * (b.y - a.y) - filmAt(g, um, z, 1));
    }
    c.fillStyle = colours.text;
    c.fillRect(x + w - scale * 0.5 - 6, h - 34, scale * 0.5, 2);
    c.textAlign = 'right';
    c.fillText('0.5 mm', x + w - 6, h - 38);
    c.textAlign = 'left';
    const words = gap > 0 ? t('gap_glass', format(Math.max(0, gap) * 1000, 0), format(um, 1)) : t('gap_shut', format(um, 1));
    c.fillText(words, x, h - 6, w);
  }

  // Air as dashes through the narrowest place; they run with the mass flow over the area, and stand where nothing flows.
  air(c, bench, s, colours, flow) {
    const y = (s.py(Math.max(s.a.y, 0)) + s.py(filmAt(s.g, s.um, s.a.z, 1))) / 2;
    const air = Math.max(0, bench.now('airflow_gps'));
    if (!(air > 0.005) || !(bench.now('area_mm2') > 0.01)) return;
    if (flow.moving) this.seconds += flow.seconds;
    c.strokeStyle = flow.choked ? colours.warn : colours.air;
    c.lineWidth = Math.max(1.5, Math.min(8, air * 2));
    c.setLineDash(flow.choked ? [14, 5] : [5, 8]);
    c.lineDashOffset = -this.seconds * 160 * Math.min(1.5, air / bench.now('area_mm2') * 8);
    c.beginPath();
    c.moveTo(s.x, s.wallY + 60);
    c.bezierCurveTo(s.px(s.a.z) - 60, s.wallY + 60, s.px(s.a.z) - 40, y, s.px(s.a.z), y);
    c.lineTo(s.px(s.b.z), y);
    c.bezierCurveTo(s.px(s.b.z) + 40, y, s.px(s.b.z) + 60, s.wallY + 60, s.x + s.w, s.wallY + 60);
    c.stroke();
    c.setLineDash([]);
  }
}

// Sized to its box on the screen, in device pixels.
function fitCanvas(canvas) {
  const ratio = window.devicePixelRatio || 1, w = Math.round(canvas.clientWidth * ratio), h = Math.round(canvas.clientHeight * ratio);
  if (canvas.width !== w || canvas.height !== h) { canvas.width = w; canvas.height = h; }
  const c = canvas.getContext('2d');
  c.setTransform(ratio, 0, 0, ratio, 0, 0);
  return c;
}
