// The bench on one sheet of paper: what is set, the pictures, the reasons, the codes, and what to mind before hands go to a car.
'use strict';
const PAPER_CAUTIONS = ['park', 'moving', 'fumes', 'fingers', 'hand', 'stop_screw', 'solvent', 'coating'];
function forPaper(on) {
  document.documentElement.classList.toggle('paper', on); // in light colours
  shownAt = {words: -1e9, summary: -1e9};
  show(0);
  if (!on) return;
  const bench = state.bench;
  $('paper_head').textContent = `${bench.engineName}. ${$('summary').textContent}${state.blind ? '' : ` ${$('faults_now').textContent}`}`;
  $('paper_care').replaceChildren(...PAPER_CAUTIONS.map((name) => make('li', {}, t(`caution_${name}`))));
}
addEventListener('beforeprint', () => forPaper(true));
addEventListener('afterprint', () => forPaper(false));
