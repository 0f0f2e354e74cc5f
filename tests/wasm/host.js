// host.js MODULE.wasm: runs a module that only prints. What it prints goes to standard output; its memory and how deep its stack
// has been, to standard error. Exit status: the module's, or 3 where it was stopped by a trap.
//
// The few calls it may make are answered here, as a page would answer them, so that any version of Node will do.
'use strict';
const fs = require('fs');

const GOOD = 0, BAD_FILE = 8, NOT_SUPPORTED = 52; // errno of wasi_snapshot_preview1
const UNTOUCHED = 0xa5;

class Exit extends Error {
  constructor(code) { super(`exit ${code}`); this.code = code; }
}

let memory; // typed arrays over it end when it grows, so they are made anew at every call
const view = () => new DataView(memory.buffer);

function writeAll(fd, bytes) {
  for (let done = 0; done < bytes.length;) {
    try {
      done += fs.writeSync(fd, bytes, done);
    } catch (e) {
      if (e.code !== 'EAGAIN') throw e; // a pipe that is full
    }
  }
}

const calls = {
  fd_write(fd, list, count, written) {
    if (fd !== 1 && fd !== 2) return BAD_FILE;
    let all = 0;
    for (let i = 0; i < count; i++) {
      const from = view().getUint32(list + 8 * i, true), size = view().getUint32(list + 8 * i + 4, true);
      writeAll(fd, new Uint8Array(memory.buffer, from, size));
      all += size;
    }
    view().setUint32(written, all, true);
    return GOOD;
  },
  fd_fdstat_get(fd, stat) {
    if (fd > 2) return BAD_FILE;
    new Uint8Array(memory.buffer, stat, 24).fill(0); // type unknown: no terminal, so output is gathered
    return GOOD;
  },
  fd_close: () => GOOD,
  fd_seek: () => NOT_SUPPORTED,
  proc_exit(code) { throw new Exit(code); },
};

async function main(path) {
  const module = await WebAssembly.compile(fs.readFileSync(path));
  for (const wanted of WebAssembly.Module.imports(module))
    if (wanted.module !== 'wasi_snapshot_preview1' || !(wanted.name in calls))
      throw new Error(`${path} wants ${wanted.module}.${wanted.name}: the core needs no more of its host than printing`);
  const instance = await WebAssembly.instantiate(module, {wasi_snapshot_preview1: calls});
  memory = instance.exports.memory;
  const stack = instance.exports.__global_base.value; // --stack-first: the stack goes from here down to 0
  new Uint8Array(memory.buffer, 0, stack).fill(UNTOUCHED);
  let status = 0;
  try {
    instance.exports._start();
  } catch (e) {
    if (!(e instanceof Exit)) {
      console.error(`${path}: ${e.stack}`);
      status = 3;
    } else {
      status = e.code;
    }
  }
  const bytes = new Uint8Array(memory.buffer, 0, stack);
  let lowest = 0;
  while (lowest < stack && bytes[lowest] === UNTOUCHED) lowest++;
  console.error(`stack ${stack - lowest} of ${stack} bytes, memory ${memory.buffer.byteLength} bytes`);
  process.exitCode = status;
}

main(process.argv[2]).catch((e) => {
  console.error(e.message);
  process.exitCode = 3;
});
