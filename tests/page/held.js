// A document that holds the page, as a lesson does: benches live where they stand, in the state they were set to, and only while in view.
'use strict';
const assert = require('assert');

module.exports = async (b, address, picture) => {
  await b.size(800, 700);
  await b.go(address);
  const ask = (what) => b.ask(`((figures) => ${what})(document.querySelectorAll('figure.bladegap'))`);
  const until = async (what) => { for (let i = 0; i < 200 && !await ask(what); i++) await new Promise((done) => setTimeout(done, 25)); assert(await ask(what), what); };
  await until('figures[0].bladegap !== undefined');
  const first = 'figures[0].bladegap.state', second = 'figures[1].bladegap.state';
  assert.equal(await ask('figures[1].frame === undefined'), true, 'a bench out of view begins');
  assert.deepEqual(await ask(`[${first}.playing, ${first}.bench.timeS, ${first}.bench.engineName]`), [false, 30, 'four-16']);
  assert.equal(await ask(`${first}.bench.now('film_um').toFixed(3)`), '40.000');
  const shown = "Array.from(figures[0].frame.contentDocument.querySelectorAll('section'), (s) => s.hidden ? '' : s.id).filter(Boolean).join()";
  assert.equal(await ask(shown), 'gap,time');
  await until('figures[0].frame.clientHeight > 300 && figures[0].frame.contentDocument.documentElement.scrollHeight <= figures[0].frame.clientHeight + 1');
  await picture('held.png');
  assert.equal(await ask(`(figures[0].bladegap.stepFor(40), ${first}.bench.now('air_conditioning'))`), 1, 'what the record does later');
  await b.ask('scrollTo(0, document.body.scrollHeight), 0');
  await until('figures[1].bladegap !== undefined');
  await until(`${first}.unseen && !${second}.unseen`);
  await until(`${second}.bench.timeS > 1`);
  assert.equal(await ask("figures[1].frame.title"), '<Cable> & hidden');
  assert.deepEqual(await ask(`[${second}.bench.engineName, ${second}.speed, ${second}.blind]`), ['four-18-cable', 10, true]);
  const document = 'figures[1].frame.contentDocument';
  assert.equal(await ask(`['gap', 'why', 'set_film_um', 'fault', 'clean'].filter((id) => ${document}.getElementById(id).getClientRects().length).join()`), '');
  await ask(`(${document}.getElementById('link').click(), ${document}.getElementById('record').click())`);
  assert.match(await ask(`${document}.getElementById('message').textContent`), /not now/);
  assert.equal(await ask(`/film|airflow_gps|area/.test(${second}.bench.csv(true).split('\\n')[0])`), false, 'the hidden is in the CSV');
};
