// How a bench begins: from the link, from the document that holds the page, or from a scenario the page was made for.
//
//   #r=RECORD            a record, its text in base64url
//   #r=RECORD&at=120     then at 120 s; without it at the record's end. &play=0 stands still, &speed=10
//   #...&show=gap,why    these sections only; &blind=1 nothing that no instrument shows
'use strict';
const BEGIN_MOST_S = 3600; // of a record that is played to its end before anything is seen

function recordOf(coded) {
  if (!/^[A-Za-z0-9_-]*$/.test(coded)) throw new Error(coded.slice(0, 40));
  return new TextDecoder('utf-8', {fatal: true}).decode(bytesOf(coded.replace(/-/g, '+').replace(/_/g, '/')));
}
function beginOfFragment(hash) {
  if (hash.length < 2) return null;
  const words = new Map(hash.slice(1).split('&').map((part) => [part.slice(0, part.indexOf('=')), part.slice(part.indexOf('=') + 1)]));
  const known = ['r', 'e', 'at', 'play', 'speed', 'show', 'blind'];
  for (const [name] of words) if (!known.includes(name)) throw new Error(hash.slice(0, 40));
  const how = {};
  if (words.has('r')) how.record = recordOf(words.get('r'));
  if (words.has('e')) how.engine = words.get('e');
  how.at = words.has('at') ? Number(words.get('at')) : how.record ? 'end' : 0;
  for (const name of ['play', 'speed', 'show', 'blind']) if (words.has(name)) how[name] = words.get(name);
  return how;
}
// The same from the document that holds the page, or of a page made for one scenario (a text).
function beginOfData(begin) {
  if (!begin) return null;
  return typeof begin === 'string' ? {record: begin} : {at: 0, ...begin};
}

const SHOWN = ['gap', 'why', 'time', 'do', 'codes', 'tests', 'readings', 'files']; // sections, as they are named in show=
// What is asked for, looked at before anything changes; what comes back does it.
function checkBegin(how) {
  const number = (value, least, most) => { const n = Number(value); if (!(n >= least && n <= most)) throw new Error(String(value).slice(0, 40)); return n; };
  const speed = how.speed === undefined ? null : number(how.speed, 0.1, 60), shown = how.show ? String(how.show).split(',') : null;
  const known = [...SHOWN, ...SECTIONS.map((part) => part.id)];
  for (const one of shown || []) if (!known.includes(one)) throw new Error(`show=${one.slice(0, 40)}`);
  if (how.at !== undefined && how.at !== 'end') number(how.at, 0, BEGIN_MOST_S);
  return () => {
    state.playing = !['0', 0, false].includes(how.play);
    if (speed) state.speed = speed;
    if (!shown) return;
    document.body.classList.add('part');
    for (const one of known) if ($(one)) $(one).hidden = !shown.includes(one);
  };
}

// Inside another document: as high as what is shown, standing still while out of view.
function tellHolder() {
  if (window.parent === window) return;
  const send = (message) => window.parent.postMessage({bladegap: message}, '*');
  window.addEventListener('message', (e) => {
    const what = e.source === window.parent && e.data && e.data.bladegap;
    if (what && typeof what.seen === 'boolean') state.unseen = !what.seen;
  });
  document.body.classList.add('held');
  new ResizeObserver(() => send({height: document.documentElement.getBoundingClientRect().height})).observe(document.documentElement);
  send({ready: true});
}
