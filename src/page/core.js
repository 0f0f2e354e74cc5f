// The library in WebAssembly behind plain functions: texts in, texts and numbers out, a failed call thrown as an Error whose message
// is the library's own sentence. Runs in the page and in its worker alike.
'use strict';
const ERROR_SIZE = 8192, RECORD_MAX = 1 << 20;

function coreOf(instance) {
  const lib = instance.exports, encoder = new TextEncoder(), decoder = new TextDecoder();
  lib._initialize();
  const error = lib.malloc(ERROR_SIZE), cell = lib.malloc(8);
  // Typed arrays over the memory end when it grows, so each look makes its own.
  const bytes = () => new Uint8Array(lib.memory.buffer);
  const view = () => new DataView(lib.memory.buffer);
  const textAt = (p) => {
    if (!p) return null;
    const all = bytes();
    return decoder.decode(all.slice(p, all.indexOf(0, p)));
  };
  const failed = () => new Error(textAt(error) || 'out of memory');
  const must = (code) => { if (code) throw failed(); };
  const handle = (pointer) => { if (!pointer) throw failed(); return pointer; };

  // Calls what with the addresses of the texts; they live as long as the call.
  function withTexts(texts, what) {
    const at = texts.map((text) => {
      if (text === null) return 0;
      const coded = encoder.encode(text), p = lib.malloc(coded.length + 1);
      if (!p) throw new Error('out of memory');
      bytes().set(coded, p);
      bytes()[p + coded.length] = 0;
      return p;
    });
    try { return what(...at); } finally { at.forEach((p) => p && lib.free(p)); }
  }
  const sizeOf = (text) => encoder.encode(text).length;

  // A table as an array of objects, and freed.
  function rows(table) {
    handle(table);
    const names = [];
    for (let i = 0; i < lib.bladegap_table_column_count(table); i++) names.push(textAt(lib.bladegap_table_column(table, i)));
    const all = [];
    for (let row = 0; row < lib.bladegap_table_row_count(table); row++) {
      const one = {};
      for (const name of names) one[name] = withTexts([name], (p) => {
        must(lib.bladegap_table_text(table, row, p, cell, error, ERROR_SIZE));
        const text = view().getUint32(cell, true);
        if (text) return textAt(text);
        must(lib.bladegap_table_number(table, row, p, cell, error, ERROR_SIZE));
        return view().getFloat64(cell, true);
      });
      all.push(one);
    }
    lib.bladegap_table_destroy(table);
    return all;
  }
  const number = (call) => { must(call(cell, error, ERROR_SIZE)); return view().getFloat64(cell, true); };

  const list = (kind) => withTexts([kind], (p) => rows(lib.bladegap_list(p, error, ERROR_SIZE)));
  return {
    channels: list('channels'),
    faults: list('faults'),
    // For a part of the page that calls functions of the library of its own (docs/page.md).
    raw: {lib, error, errorSize: ERROR_SIZE, cell, view, must, handle, number, rows, textAt, withTexts, runOf: (run) => runOf(run)},
    version: textAt(lib.bladegap_version()),
    memoryBytes: () => lib.memory.buffer.byteLength,
    list,
    engine(name) {
      const e = withTexts([name], (p) => handle(lib.bladegap_engine_shipped(p, error, ERROR_SIZE)));
      return {
        e,
        title: textAt(lib.bladegap_engine_title(e)),
        set: (key, value) => withTexts([key], (p) => must(lib.bladegap_engine_set(e, p, value, error, ERROR_SIZE))),
        get: (key) => withTexts([key], (p) => number((out, ...rest) => lib.bladegap_engine_get(e, p, out, ...rest))),
        destroy: () => lib.bladegap_engine_destroy(e),
      };
    },
    // An engine of what is known of a car, in rows name,value; good: its readings when it was good, '' for none.
    engineOfCard(card, good) {
      const e = withTexts([card, good || null], (p, q) => handle(lib.bladegap_engine_card(p, sizeOf(card), q, good ? sizeOf(good) : 0, error, ERROR_SIZE)));
      return {e, title: textAt(lib.bladegap_engine_title(e)), destroy: () => lib.bladegap_engine_destroy(e)};
    },
    run(engine, start) {
      return runOf(withTexts([start], (p) => handle(lib.bladegap_run_create(engine.e, p, 1n, error, ERROR_SIZE))));
    },
    // {run, endS}
    replay(record) {
      const size = sizeOf(record);
      if (size > RECORD_MAX) throw new Error('this record is longer than a megabyte: it is not read');
      const run = withTexts(['record', record],
        (name, p) => handle(lib.bladegap_run_replay(name, p, size, cell, error, ERROR_SIZE)));
      const endS = view().getFloat64(cell, true); // before the cell serves another call
      return {run: runOf(run), endS};
    },
    // What readings imply, beside those of the same car when it was good: {values, causes, next, why, limits, cautions}
    estimate(engine, text, good) {
      const estimate = handle(lib.bladegap_estimate_create(engine.e, error, ERROR_SIZE));
      try {
        if (good) withTexts(['good', good],
          (name, p) => must(lib.bladegap_estimate_add_baseline_text(estimate, name, p, sizeOf(good), error, ERROR_SIZE)));
        withTexts(['readings', text],
          (name, p) => must(lib.bladegap_estimate_add_text(estimate, name, p, sizeOf(text), error, ERROR_SIZE)));
        must(lib.bladegap_estimate_compute(estimate, error, ERROR_SIZE));
        const values = {}, tables = {};
        for (const name of ['p_value', 'film_probability', 'film_um', 'film_low_um', 'film_high_um'])
          values[name] = withTexts([name], (p) => number((out, ...rest) => lib.bladegap_estimate_value(estimate, p, out, ...rest)));
        for (const kind of ['causes', 'next', 'why', 'limits', 'cautions', 'notes'])
          tables[kind] = withTexts([kind], (p) => rows(lib.bladegap_estimate_table(estimate, p, error, ERROR_SIZE)));
        return {values, ...tables, notes: tables.notes.map((row) => row.text).join('\n')};
      } finally { lib.bladegap_estimate_destroy(estimate); }
    },
  };

  function runOf(run) {
    const count = 64, values = lib.malloc(8 * count), saveSize = lib.bladegap_run_save_size(run), saved = lib.malloc(saveSize);
    const channels = list('channels').length;
    if (channels > count) throw new Error('more channels than there is room for');
    return {
      step: (ticks) => must(lib.bladegap_run_step(run, ticks, error, ERROR_SIZE)),
      timeS: () => lib.bladegap_run_time_s(run),
      values() {
        must(lib.bladegap_run_values(run, values, channels, error, ERROR_SIZE));
        return new Float64Array(lib.memory.buffer, values, channels); // until the next call
      },
      table: (kind) => withTexts([kind], (p) => rows(lib.bladegap_run_table(run, p, error, ERROR_SIZE))),
      set: (name, value, rampS) => withTexts([name], (p) => must(lib.bladegap_run_set(run, p, value, rampS, error, ERROR_SIZE))),
      key: (key) => withTexts([key], (p) => must(lib.bladegap_run_key(run, p, error, ERROR_SIZE))),
      action: (name) => withTexts([name], (p) => must(lib.bladegap_run_act(run, p, error, ERROR_SIZE))),
      note: (text) => withTexts([text], (p) => must(lib.bladegap_run_note(run, p, error, ERROR_SIZE))),
      save() {
        must(lib.bladegap_run_save(run, saved, saveSize, error, ERROR_SIZE));
        return bytes().slice(saved, saved + saveSize);
      },
      restore(memory) {
        bytes().set(memory, saved);
        must(lib.bladegap_run_restore(run, saved, saveSize, error, ERROR_SIZE));
      },
      record() {
        must(lib.bladegap_run_record(run, 0, 0, cell, error, ERROR_SIZE));
        const size = view().getUint32(cell, true), text = lib.malloc(size);
        try {
          must(lib.bladegap_run_record(run, text, size, 0, error, ERROR_SIZE));
          return textAt(text);
        } finally { lib.free(text); }
      },
      destroy() { lib.free(values); lib.free(saved); lib.bladegap_run_destroy(run); },
    };
  }
}

// The few calls of a host that the library's module names; it prints nothing and opens nothing.
const hostCalls = {wasi_snapshot_preview1: {fd_write: () => 8, fd_close: () => 8, fd_seek: () => 8}};
