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
// A record is played; anything else is readings or a log of a car.
let filesOpened = 0;
async function openFile(file) {
  if (!file) return;
  const which = ++filesOpened;
  if (file.size > LOG_MOST) { say(t('too_big')); return; }
  let text;
  try { text = await textOf(file); } catch (e) { say(t('unreadable', file.name.slice(0, 60))); return; }
  if (which !== filesOpened) return; // another one came while this was read
  if (/^.?bladegap-record[ \t]/.test(text)) openRecord(text); else { say(''); computeReadings(text, file.name); }
}
// Instruments write UTF-8, UTF-16 with its mark, or an 8-bit code.
async function textOf(file) {
  const bytes = new Uint8Array(await file.arrayBuffer());
  const wide = bytes[0] === 255 && bytes[1] === 254 ? 'utf-16le' : bytes[0] === 254 && bytes[1] === 255 ? 'utf-16be' : null;
  if (wide) return new TextDecoder(wide).decode(bytes);
  try { return new TextDecoder('utf-8', {fatal: true}).decode(bytes); } catch (e) { return new TextDecoder('windows-1252').decode(bytes); }
}
function buildFiles() {
  const file = make('input', {type: 'file', id: 'file', 'aria-label': t('open_file'), onchange: () => openFile(file.files[0])});
  $('file_bar').replaceChildren(button('record', () => mayTell() && attempt(() => download('record.txt', 'text/plain', state.bench.run.record())), {id: 'record'}),
    button('csv', () => download('run.csv', 'text/csv', state.bench.csv(state.blind)), {id: 'csv'}),
    button('png', () => $('chart_canvas').toBlob((blob) => download('run.png', 'image/png', blob)), {id: 'png'}),
    button('paper', () => print(), {id: 'paper'}), button('link', () => mayTell() && attempt(linkNow), {id: 'link'}), make('label', {}, `${t('open_file')} `, file));
}
