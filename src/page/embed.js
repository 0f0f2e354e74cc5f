// In a document that holds the page once (element bladegap-page): a live bench in each figure of the class bladegap. It begins when it comes into
// view, stands still while it is out of it, and is as high as what it shows. figure.bladegap is what docs/page.md calls window.bladegap.
'use strict';
(() => {
  const page = JSON.parse(document.getElementById('bladegap-page').textContent), figures = document.querySelectorAll('figure.bladegap');
  const tell = (figure, message) => figure.frame.contentWindow.postMessage({bladegap: message}, '*');
  const begin = (figure) => {
    const how = JSON.stringify(JSON.parse(figure.dataset.begin)).replace(/</g, '\\u003c'), frame = document.createElement('iframe');
    frame.title = figure.textContent.trim() || 'bladegap';
    frame.style.cssText = 'width: 100%; border: 0; height: 30rem';
    frame.srcdoc = page.replace('{"begin": ""', () => `{"begin": ${how}`);
    figure.frame = frame;
    figure.prepend(frame);
  };
  window.addEventListener('message', (e) => {
    const figure = Array.from(figures).find((one) => one.frame && one.frame.contentWindow === e.source), what = e.data && e.data.bladegap;
    if (!figure || !what) return;
    if (what.ready) { figure.bladegap = figure.frame.contentWindow.bladegap; figure.dispatchEvent(new Event('bladegap')); }
    if (what.height > 0) figure.frame.style.height = `${Math.min(4000, Math.ceil(what.height))}px`;
  });
  const watch = new IntersectionObserver((entries) => {
    for (const {target, isIntersecting} of entries)
      if (target.frame) tell(target, {seen: isIntersecting}); else if (isIntersecting) begin(target);
  }, {rootMargin: '200px'});
  for (const figure of figures) watch.observe(figure);
})();
