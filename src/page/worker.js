// The same script in a worker: one job, then it is done. The page ends it when somebody cancels.
'use strict';
const JOBS = { // name: what makes an answer, of plain data, from the core and from what was sent
  estimate(core, {engine, text, card, good}) {
    const of = card ? core.engineOfCard(card, good) : core.engine(engine);
    return {...core.estimate(of, text, good), title: card ? of.title : ''};
  },
  // The mark of a case, from its text: {total, points, steps, why}
  practiceMark(core, {text}) {
    const {lib, error, errorSize, cell, view, must, handle, rows, withTexts} = core.raw;
    const size = new TextEncoder().encode(text).length;
    const p = withTexts(['case', text], (name, at) => handle(lib.bladegap_practice_resume(name, at, size, error, errorSize)));
    try {
      must(lib.bladegap_practice_mark(p, cell, error, errorSize));
      const marked = {total: view().getFloat64(cell, true)};
      for (const kind of ['points', 'steps', 'why'])
        marked[kind] = withTexts([kind], (at) => rows(lib.bladegap_practice_table(p, at, error, errorSize)));
      return marked;
    } finally { lib.bladegap_practice_destroy(p); }
  },
};
if (typeof document === 'undefined') {
  self.onmessage = async ({data}) => {
    try {
      const core = coreOf(await WebAssembly.instantiate(data.module, hostCalls));
      self.postMessage(JOBS[data.job](core, data.data));
    } catch (e) { self.postMessage({error: e.message}); }
  };
}
