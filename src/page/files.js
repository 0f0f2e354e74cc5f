// What is taken away and brought in: records, links, tables, pictures.
'use strict';
function download(name, type, content) {
  const address = URL.createObjectURL(content instanceof Blob ? content : new Blob([content], {type}));
  const link = make('a', {href: address, download: name});
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 1000);
}
const LINK_MOST = 30000;
function linkNow() {
  const bytes = new TextEncoder().encode(state.bench.run.record());
  const coded = btoa(String.fromCharCode(...bytes.subarray(0, LINK_MOST))).replace(/\+/g, '-').replace(/\//g, '_').replace(/=+$/, '');
  if (bytes.length > LINK_MOST) { say(t('link_long')); return; }
  history.replaceState(null, '', `#r=${coded}`);
  say(t('link_done'));
}
// What was done would tell what is hidden.
function mayTell() { if (state.blind) say(t('hidden')); return !state.blind; }
function attempt(what) { try { what(); } catch (e) { say(e.message); } }
async function openFile(file) {
  if (!file) return;
  if (file.size > 1 << 20) { say(t('too_big')); return; }
  openRecord(await file.text());
}
function buildFiles() {
  const file = make('input', {type: 'file', id: 'file', 'aria-label': t('open_file'), onchange: () => openFile(file.files[0])});
  $('file_bar').replaceChildren(button('record', () => mayTell() && attempt(() => download('record.txt', 'text/plain', state.bench.run.record())), {id: 'record'}),
    button('csv', () => download('run.csv', 'text/csv', state.bench.csv(state.blind)), {id: 'csv'}),
    button('png', () => $('chart_canvas').toBlob((blob) => download('run.png', 'image/png', blob)), {id: 'png'}),
    button('link', () => mayTell() && attempt(linkNow), {id: 'link'}), make('label', {}, `${t('open_file')} `, file));
}
