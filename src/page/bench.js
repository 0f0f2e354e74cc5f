// A bench: one engine running, what was done to it, what its channels were, and the way back to any second.
'use strict';
const TICKS_PER_S = 100, ROW_TICKS = 10, ROWS_MAX = 36000; // a row every 0.1 s, an hour of them

class Bench {
  // begin: {record}; or {engine: name, start, sets: {condition: value}}; or {run, engine: name}: a run that was made elsewhere
  constructor(core, begin) {
    this.core = core;
    this.names = core.channels.map((row) => row.name);
    this.seen = this.names.filter((name, i) => core.channels[i].seen_by === 'instrument');
    this.index = Object.fromEntries(this.names.map((name, i) => [name, i]));
    this.start = Object.fromEntries(core.faults.map((row) => [row.name, row.start]));
    this.rows = new Float32Array(ROWS_MAX * this.names.length);
    this.rowCount = 0;
    this.tick = 0;
    this.endTick = 0; // of a record that is played
    this.done = []; // {tick, kind, name, value, rampS} played by hand
    this.saves = []; // {tick, memory}
    this.scripted = []; // of a record, for what the controls show
    if (begin.record) this.fromRecord(begin.record);
    else if (begin.run) {
      this.engineName = begin.engine;
      this.engine = core.engine(begin.engine);
      this.run = begin.run;
    } else {
      this.engineName = begin.engine;
      this.engine = core.engine(begin.engine);
      for (const [name, value] of Object.entries(begin.sets || {})) { this.engine.set(name, value); this.start[name] = value; }
      this.run = core.run(this.engine, begin.start || 'settled');
    }
    this.keep();
  }

  fromRecord(record) {
    const {run, endS} = this.core.replay(record);
    this.run = run;
    this.endTick = Math.round(endS * TICKS_PER_S);
    for (const line of record.split(/\r?\n/)) {
      const words = line.trim().split(/[ \t]+/);
      if (/^.?bladegap-record$/.test(words[0])) this.engineName = words[2];
      if (words[0] === 'start' && words[1] in this.start) this.start[words[1]] = Number(words[2]);
      const tick = Math.round(Number(words[0]) * TICKS_PER_S);
      if (tick >= 0 && words[1] in this.start)
        this.scripted.push({tick, kind: 'set', name: words[1], value: Number(words[2]), rampS: Number(words[3] || 0)});
    }
    this.engine = this.core.engine(this.engineName);
  }

  get timeS() { return this.tick / TICKS_PER_S; }
  now(name) { return this.current[this.index[name]]; }

  // The last value that a condition was given.
  condition(name) {
    let value = this.start[name], at = -1;
    for (const one of [...this.scripted, ...this.done])
      if (one.kind === 'set' && one.name === name && one.tick <= this.tick && one.tick >= at) { value = one.value; at = one.tick; }
    return value;
  }

  keep() {
    this.current = Float64Array.from(this.run.values());
    if (this.tick % ROW_TICKS === 0) {
      if (this.rowCount === ROWS_MAX) { // the oldest tenth goes
        const gone = ROWS_MAX / 10;
        this.rows.copyWithin(0, gone * this.names.length);
        this.rowCount -= gone;
      }
      this.rows.set(this.current, this.rowCount++ * this.names.length);
    }
    if (this.tick % TICKS_PER_S === 0 && !(this.saves.length && this.saves[this.saves.length - 1].tick >= this.tick)) {
      this.saves.push({tick: this.tick, memory: this.run.save()});
      this.thin();
    }
  }

  // Of the last minute every second stays, then every tenth, then every minute: what lies between is played again.
  thin() {
    const age = (save) => (this.tick - save.tick) / TICKS_PER_S;
    this.saves = this.saves.filter((save) => {
      const s = save.tick / TICKS_PER_S;
      return s === 0 || age(save) <= 60 || (s % 10 === 0 && age(save) <= 600) || s % 60 === 0;
    });
  }

  step(ticks) {
    for (const end = this.tick + ticks; this.tick < end;) {
      const n = Math.min(ROW_TICKS - this.tick % ROW_TICKS, end - this.tick);
      this.run.step(n);
      this.tick += n;
      this.keep();
    }
  }

  play(one) {
    if (one.kind === 'set') this.run.set(one.name, one.value, one.rampS || 0);
    else this.run[one.kind](one.name);
  }

  // Done by hand, now.
  act(kind, name, value, rampS) {
    const one = {tick: this.tick, kind, name, value, rampS};
    this.play(one);
    this.done.push(one);
  }

  // Back to a second: what was done before it is played again, what was done later is forgotten.
  backTo(timeS) {
    const goal = Math.max(0, Math.min(this.tick, Math.round(timeS * TICKS_PER_S)));
    const save = this.saves.filter((one) => one.tick <= goal).pop();
    this.saves = this.saves.filter((one) => one.tick <= goal);
    const again = this.done.filter((one) => one.tick >= save.tick && one.tick < goal);
    this.done = this.done.filter((one) => one.tick < goal);
    this.run.restore(save.memory);
    const first = this.rowCount ? Math.round(this.rows[this.index.time_s] * TICKS_PER_S) : 0;
    this.rowCount = Math.max(0, Math.ceil((save.tick - first) / ROW_TICKS));
    this.tick = save.tick;
    this.keep();
    for (const one of again) {
      this.step(one.tick - this.tick);
      this.play(one);
    }
    this.step(goal - this.tick);
  }

  // Channel of row i, as number.
  at(name, i) { return this.rows[i * this.names.length + this.index[name]]; }

  // blind: only what an instrument shows.
  csv(blind) {
    const names = blind ? this.seen : this.names, lines = [names.join(',')];
    for (let i = 0; i < this.rowCount; i++)
      lines.push(names.map((name) => { const v = this.at(name, i); return Number.isNaN(v) ? '' : String(v); }).join(','));
    return lines.join('\n') + '\n';
  }

  destroy() { this.run.destroy(); this.engine.destroy(); }
}
