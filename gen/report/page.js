/*
The page's own script, with what stands in panel.js, sweep.js, grid.js and start.js behind
it in the page as one: it moves the handles along the levels of the sweeps, changes the glyph
that the strips show, lays classes over the charts and says what is in a grid's cell.
Everything that it shows is written by the program into the JSON of #page-data; here
nothing is computed but which level is meant. Without it the page loses no figure.

Hooks, which tests may rely on:
  html.live                           the script has run
  #sweep-N[data-curve]                a sweep, N from 1, data-curve from 0
  .plot[data-curve] > .handle         the handle: role=slider, data-level is the index of its level
  #sweep-N-reading                    the panel; [data-part] is where, glyph, share, lines, wrong,
                                      misread or confused
  #sweep-N .sure                      confidence at that level; .sure-here is its drawing, and
                                      [data-part] is sure-lines or sure-table
  #sweep-N .choice input[type=radio]  the glyph to follow; its value is its number from 0
  g[data-level].here                  the level of the handle in the chart
  #sweep-N-classes li[data-class] > button[aria-pressed]    a class to lay over the chart
  .plot.held                          the handle goes with the pointer now
  .of-class                           what such a class adds to the chart
  #grid-N td[data-cell="row,column"]  a cell, of which one has tabindex=0
  #grid-N .cell                       what is said of the cell that is pointed at
*/
"use strict";

const data = JSON.parse(document.getElementById("page-data").textContent);
const PREFIX = "data:image/png;base64,";
const SVG = "http://www.w3.org/2000/svg";

// A picture that stands in the markup isn't in the data once more.
for (const drawn of document.querySelectorAll("[data-picture]")) {
  const uri = drawn.getAttribute("src") ?? drawn.getAttribute("href");
  data.pictures[Number(drawn.dataset.picture)] = uri.slice(PREFIX.length);
}

/** An element with attributes and contents; text in it stays text. */
function make(tag, attributes = {}, ...inside) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...inside);
  return made;
}

function draw(tag, attributes = {}, ...inside) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...inside);
  return made;
}

function picture(number, words) {
  return make("img", {
    alt: words, "data-picture": number, src: PREFIX + data.pictures[number],
  });
}

/** The place of the nearest of some numbers. */
function nearest(numbers, wanted) {
  let best = 0;
  numbers.forEach((number, at) => {
    if (Math.abs(number - wanted) < Math.abs(numbers[best] - wanted)) best = at;
  });
  return best;
}

const clamp = (number, most) => Math.min(Math.max(number, 0), most);
