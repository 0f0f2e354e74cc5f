// Keys, their list, and what is dropped on the page.
'use strict';
const KEYS = [ // key, words of its row, what it does
  [' ', () => `${t('play')}, ${t('pause')}`, () => togglePlay()],
  ['b', () => t('back_1'), () => backTo(Math.max(0, state.bench.timeS - 1))], ['B', () => t('back_10'), () => backTo(Math.max(0, state.bench.timeS - 10))],
  ['+', () => `${t('speed')} +`, () => changeSpeed(1)], ['-', () => `${t('speed')} −`, () => changeSpeed(-1)],
  ['m', () => t('mark'), () => mark()], ['c', () => t('second'), () => toggleOther()], ['s', () => t('sound'), () => toggleSound()],
  ['p', () => t('presenter'), () => togglePresenter()], ['l', () => t('language'), () => setLanguage(1 - language)], ['?', () => t('keys_title'), () => showKeys()],
];
const shownParts = () => Array.from(document.querySelectorAll('main section')).filter((part) => part.getClientRects().length);

function goToPart(part) {
  const heading = part && part.querySelector('h2');
  if (!heading) return;
  heading.tabIndex = -1;
  heading.focus();
  part.scrollIntoView();
}
function showKeys() {
  const dialog = $('dialog'), row = (key, words) => make('tr', {}, make('th', {scope: 'row'}, key), make('td', {}, words));
  const name = (key) => key === ' ' ? t('key_space') : key === 'B' ? '⇧ B' : key.toUpperCase();
  dialog.replaceChildren(make('h2', {id: 'dialog_title'}, t('keys_title')),
    make('table', {}, make('tbody', {}, ...KEYS.map(([key, words]) => row(name(key), words())),
      ...shownParts().slice(0, 9).map((part, i) => row(String(i + 1), `${part.querySelector('h2').textContent}: ${t('keys_parts')}`)))),
    make('p', {}, t('keys_else')), button('close', () => dialog.close()));
  dialog.showModal();
}
function buildKeys() { $('keys_bar').replaceChildren(button('keys_title', showKeys, {id: 'keys_show'})); }

// Where letters or a blank have a meaning of their own.
function keyIsTaken(e) {
  const {tagName, type} = e.target;
  if (/^(TEXTAREA|SELECT)$/.test(tagName) || tagName === 'INPUT' && !/^(range|checkbox|file)$/.test(type)) return true;
  return e.key === ' ' && /^(BUTTON|SUMMARY|INPUT)$/.test(tagName);
}
if (typeof document !== 'undefined') {
  document.addEventListener('dragover', (e) => e.preventDefault());
  document.addEventListener('drop', (e) => { e.preventDefault(); openFile(e.dataTransfer.files[0]); });
  document.addEventListener('keydown', (e) => {
    if (e.ctrlKey || e.altKey || e.metaKey || keyIsTaken(e) || $('dialog').open || !state.bench) return;
    const known = KEYS.find(([key]) => key === e.key) || KEYS.find(([key]) => key === e.key.toLowerCase());
    const does = known ? known[2] : /^[1-9]$/.test(e.key) ? () => goToPart(shownParts()[Number(e.key) - 1]) : null;
    if (does) { e.preventDefault(); does(); }
  });
}
