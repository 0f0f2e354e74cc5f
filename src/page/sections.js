// Parts of the page that are made elsewhere (docs/page.md, "A part of your own"): each has its own file, its texts, and a section.
'use strict';
const SECTIONS = []; // {id, title: key of TEXTS, column: 0 or 1, build(element), show(bench)}

// build puts in what stands there, again after a change of language; show, if there is one, is called five times a second.
function addSection(part) { SECTIONS.push(part); }

function makeSections() {
  for (const part of SECTIONS)
    if (!$(part.id)) document.querySelector('main').children[part.column || 0].append(make('section', {id: part.id}, make('h2', {'data-text': part.title}), make('div')));
}
function buildSections() {
  for (const part of SECTIONS) {
    $(part.id).lastChild.replaceChildren();
    part.build($(part.id).lastChild);
  }
}
function showSections(bench) { for (const part of SECTIONS) if (part.show) part.show(bench); }

const WORKER_BEGINS_MS = 20000; // far more than a slow phone takes to start a worker
// Work of worker.js, away from the screen: answer gets what it gives, or {error}. Returns what cancels it.
function inWorker(job, data, answer) {
  const address = URL.createObjectURL(new Blob([$('program').textContent], {type: 'text/javascript'}));
  let worker;
  try { worker = new Worker(address); } catch (e) { URL.revokeObjectURL(address); answer({error: e.message}); return () => {}; }
  const late = setTimeout(() => { end(); answer({error: t('no_worker')}); }, WORKER_BEGINS_MS);
  const end = () => { clearTimeout(late); worker.terminate(); URL.revokeObjectURL(address); };
  worker.onmessage = (e) => {
    if (e.data.begun) { clearTimeout(late); return; }
    end();
    answer(e.data);
  };
  worker.onerror = (e) => { end(); answer({error: e.message || t('no_worker')}); };
  worker.postMessage({module: state.module, job, data});
  return end;
}
