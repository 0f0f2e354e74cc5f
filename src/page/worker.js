// The same script in a worker: one estimate, then it is done. The page ends it when somebody cancels.
'use strict';
if (typeof document === 'undefined') {
  self.onmessage = async ({data}) => {
    try {
      const core = coreOf(await WebAssembly.instantiate(data.module, hostCalls));
      self.postMessage(core.estimate(core.engine(data.engine), data.text));
    } catch (e) { self.postMessage({error: e.message}); }
  };
}
