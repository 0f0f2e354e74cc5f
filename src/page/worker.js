// The same script in a worker: one job, then it is done. The page ends it when somebody cancels.
'use strict';
const JOBS = { // name: what makes an answer, of plain data, from the core and from what was sent
  estimate: (core, {engine, text}) => core.estimate(core.engine(engine), text),
};
if (typeof document === 'undefined') {
  self.onmessage = async ({data}) => {
    try {
      const core = coreOf(await WebAssembly.instantiate(data.module, hostCalls));
      self.postMessage(JOBS[data.job](core, data.data));
    } catch (e) { self.postMessage({error: e.message}); }
  };
}
