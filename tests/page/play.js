// play.js MODULE.wasm CORE.js: tests/wasm/play_record.c once more, by the page's own module and the page's own way into it.
'use strict';
const fs = require('fs');
const [moduleFile, coreFile] = process.argv.slice(2);
const {coreOf, hostCalls} = new Function(`${fs.readFileSync(coreFile, 'utf8')}\nreturn {coreOf, hostCalls};`)();
WebAssembly.instantiate(fs.readFileSync(moduleFile), hostCalls).then(({instance}) => {
  const {run, endS} = coreOf(instance).replay(fs.readFileSync(0, 'utf8')), lines = [];
  for (let time = 0; time < endS; time++) {
    run.step(100);
    const values = Float64Array.from(run.values()), bits = new BigUint64Array(values.buffer);
    lines.push(Array.from(bits, (b, i) => Number.isNaN(values[i]) ? '0' : b.toString(16)).join(' '));
  }
  process.stdout.write(lines.join('\n') + '\n');
}).catch((e) => { console.error(e.message); process.exitCode = 1; });
