// What all of the page works with: its state, elements, sentences. Texts go in as text, never as markup.
'use strict';
const state = {core: null, module: null, bench: null, other: null, playing: true, speed: 1, windowS: 60, growing: false, owed: 0, behind: 0, problem: '',
  blind: false, unseen: false, watchers: []};
const $ = (id) => document.getElementById(id);

// An element with properties and children; strings become text nodes.
function make(tag, properties, ...children) {
  const e = document.createElement(tag);
  for (const [key, value] of Object.entries(properties || {}))
    if (key in e && key !== 'list') e[key] = value; else e.setAttribute(key, value);
  e.append(...children);
  return e;
}
function button(key, onclick, extra) { return make('button', {type: 'button', 'data-text': key, onclick, ...extra}, t(key)); }
// Builds anew what the focus may be in: it stays on the element of the same id, so that a keyboard does not lose its place.
function keepFocus(build) {
  const {id} = document.activeElement || {};
  build();
  if (id && $(id) && document.activeElement !== $(id)) $(id).focus({preventScroll: true});
}
function say(text) { $('message').textContent = text; }
