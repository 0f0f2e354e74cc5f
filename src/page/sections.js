// Parts of the page that are made elsewhere (docs/page.md, "A part of your own"): each has its own file, its texts, and a section.
'use strict';
const SECTIONS = []; // {id, title: key of TEXTS, column: 0 or 1, build(element), show(bench)}

// build puts in what stands there, again after a change of language; show, if there is one, is called five times a second.
function addSection(part) { SECTIONS.push(part); }

function buildSections() {
  for (const part of SECTIONS) {
    let section = $(part.id);
    if (!section) {
      section = make('section', {id: part.id}, make('h2', {'data-text': part.title}), make('div'));
      document.querySelector('main').children[part.column || 0].append(section);
    }
    section.lastChild.replaceChildren();
    part.build(section.lastChild);
  }
}
function showSections(bench) { for (const part of SECTIONS) if (part.show) part.show(bench); }

// Work of worker.js, away from the screen: answer gets what it gives, or {error}. Returns what cancels it.
function inWorker(job, data, answer) {
  const address = URL.createObjectURL(new Blob([$('program').textContent], {type: 'text/javascript'}));
  const worker = new Worker(address);
  const end = () => { worker.terminate(); URL.revokeObjectURL(address); };
  worker.onmessage = (e) => { end(); answer(e.data); };
  worker.onerror = (e) => { end(); answer({error: e.message}); };
  worker.postMessage({module: state.module, job, data});
  return end;
}
