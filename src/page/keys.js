// Keys and what is dropped on the page.
'use strict';
if (typeof document !== 'undefined') {
  document.addEventListener('dragover', (e) => e.preventDefault());
  document.addEventListener('drop', (e) => { e.preventDefault(); openFile(e.dataTransfer.files[0]); });
  document.addEventListener('keydown', (e) => {
    if (e.ctrlKey || e.altKey || e.metaKey || /^(INPUT|TEXTAREA|SELECT|BUTTON)$/.test(e.target.tagName) && (e.key === ' ' || e.target.tagName !== 'BUTTON') || $('dialog').open || !state.bench) return;
    const does = {' ': togglePlay, b: () => backTo(state.bench.timeS - 1), m: mark, c: toggleOther}[e.key.toLowerCase()];
    if (does) { e.preventDefault(); does(); }
  });
}
