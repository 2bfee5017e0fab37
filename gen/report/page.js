/*
The page's own script: it moves the handles along the levels of the sweeps, changes the
glyph that the strips show, lays classes over the charts and says what is in a grid's cell.
Everything that it shows is written by the program into the JSON of #page-data; here
nothing is computed but which level is meant. Without it the page loses no figure.

Hooks, which tests may rely on:
  html.live                           the script has run
  #sweep-N[data-curve]                a sweep, N from 1, data-curve from 0
  .plot[data-curve] > .handle         the handle: role=slider, data-level is the index of its level
  #sweep-N-reading                    the panel; [data-part] is where, glyph, share, lines, wrong,
                                      misread or confused
  #sweep-N .choice input[type=radio]  the glyph to follow; its value is its number from 0
  g[data-level].here                  the level of the handle in the chart
  #sweep-N-classes li[data-class] > button[aria-pressed]    a class to lay over the chart
  .of-class                           what such a class adds to the chart
  #grid-N td[data-cell="row,column"]  a cell, of which one has tabindex=0
  #grid-N .cell                       what is said of the cell that is pointed at
*/
"use strict";

(() => {
  const data = JSON.parse(document.getElementById("page-data").textContent);
  const PREFIX = "data:image/png;base64,";
  const SVG = "http://www.w3.org/2000/svg";
  const ROW = 48; // px from one row of a chart to the next
  const LAID_OVER = ["first", "second"]; // looks of classes over a chart

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

  // What a panel holds, built as the program builds it for the level to begin with.

  function misreadGlyph([number, name, answered, sure]) {
    return make(
      "figure", {}, picture(number, `${name} ${answered}`),
      make(
        "figcaption", {}, make("b", {}, name), make("span", { class: "wrong" }, answered),
        make("small", {}, sure),
      ),
    );
  }

  function cell(told) {
    return typeof told === "string" ? make("td", {}, told) : make("td", { class: told[1] }, told[0]);
  }

  function confusion({ kind, caption, heads, rows, rest }) {
    if (!rows.length) return [];
    const table = make(
      "table", { class: kind }, make("caption", {}, caption),
      make("thead", {}, make("tr", {}, ...heads.map((h) => make("th", { scope: "col" }, h)))),
      make("tbody", {}, ...rows.map(([name, ...cells]) => make(
        "tr", {}, make("th", { scope: "row" }, name), ...cells.map(cell),
      ))),
    );
    return rest ? [table, make("p", {}, rest)] : [table];
  }

  /** One sweep: its handle, its panel and its strip. */
  class Sweep {
    constructor(told, index) {
      this.told = told;
      this.index = index;
      this.article = document.getElementById(`sweep-${index + 1}`);
      this.plot = this.article.querySelector(".plot");
      this.handle = this.plot.querySelector(".handle");
      this.reading = this.article.querySelector(".reading");
      this.marks = [...this.plot.querySelectorAll("g[data-level]")];
      this.level = told.start;
      this.glyph = 0;
      this.over = []; // the classes that lie over the chart, the oldest first
      this.place();
      this.listen();
      if (told.glyphs.length > 1) this.offerGlyphs();
      this.offerClasses();
    }

    part(name) {
      return this.reading.querySelector(`[data-part="${name}"]`);
    }

    /** Move to a level, and say what is there. */
    go(level) {
      const there = clamp(level, this.told.levels.length - 1);
      if (there === this.level) return;
      this.level = there;
      this.place();
      this.fill();
    }

    place() {
      const stop = this.told.stops[this.level];
      if (this.told.rows) this.handle.style.top = `${stop}px`;
      else this.handle.style.left = `${stop}%`;
      this.handle.dataset.level = this.level;
      this.handle.setAttribute("aria-valuenow", this.level);
      this.handle.setAttribute("aria-valuetext", this.told.levels[this.level].now);
      for (const mark of this.marks) {
        mark.classList.toggle("here", Number(mark.dataset.level) === this.level);
      }
    }

    fill() {
      const told = this.told.levels[this.level];
      for (const name of ["where", "share", "wrong"]) this.part(name).textContent = told[name];
      this.part("lines").replaceChildren(...told.lines.map((line) => make("li", {}, line)));
      this.part("misread").replaceChildren(...told.misread.map(misreadGlyph));
      this.part("confused").replaceChildren(...confusion(told.confused));
      this.showGlyph();
      // What stands below must not jump up and down while the handle moves.
      this.reading.style.minHeight = `${this.reading.offsetHeight}px`;
    }

    showGlyph() {
      if (!this.told.glyphs.length) return;
      const [number, words] = this.told.glyphs[this.glyph].seen[this.level];
      this.part("glyph").replaceChildren(picture(number, words), make("figcaption", {}, words));
    }

    /** Follow another glyph, in the strip and in the panel. */
    follow(glyph) {
      this.glyph = glyph;
      const { seen } = this.told.glyphs[glyph];
      for (const mark of this.marks) {
        const [number, , short] = seen[Number(mark.dataset.level)];
        const image = mark.querySelector("image");
        if (!image) continue;
        image.setAttribute("href", PREFIX + data.pictures[number]);
        image.dataset.picture = number;
        mark.querySelector(".said").textContent = short;
      }
      this.showGlyph();
      const chosen = this.article.querySelector(`.choice input[value="${glyph}"]`);
      if (chosen) chosen.checked = true;
    }

    listen() {
      const { handle, plot, told } = this;
      const last = told.levels.length - 1;
      const [forth, back] = told.rows ? [1, -1] : [-1, 1]; // rows go down, amounts to the right
      const keys = {
        ArrowRight: () => this.level + 1,
        ArrowLeft: () => this.level - 1,
        ArrowDown: () => this.level + forth,
        ArrowUp: () => this.level + back,
        PageDown: () => this.level + forth * told.step,
        PageUp: () => this.level + back * told.step,
        Home: () => 0,
        End: () => last,
      };
      handle.addEventListener("keydown", (event) => {
        if (!Object.hasOwn(keys, event.key) || event.altKey || event.ctrlKey || event.metaKey) return;
        event.preventDefault();
        this.go(keys[event.key]());
      });
      let held = false;
      plot.addEventListener("pointerdown", (event) => {
        // A finger on a chart with rows may want to push the page: only the handle is dragged.
        held = event.button === 0 &&
          (event.pointerType === "mouse" || !told.rows || event.target === handle);
        if (!held) return;
        plot.setPointerCapture(event.pointerId);
        if (event.pointerType === "mouse") this.go(this.under(event));
      });
      plot.addEventListener("pointermove", (event) => {
        if (held) this.go(this.under(event));
      });
      for (const name of ["pointerup", "pointercancel"]) {
        plot.addEventListener(name, () => { held = false; });
      }
      plot.addEventListener("click", (event) => {
        this.go(this.under(event));
        handle.focus({ preventScroll: true });
      });
    }

    /** The level under a pointer. */
    under(event) {
      const box = this.plot.getBoundingClientRect();
      const { rows, stops } = this.told;
      return rows
        ? nearest(stops, event.clientY - box.top - ROW / 2)
        : nearest(stops, (100 * (event.clientX - box.left)) / box.width);
    }

    /** A row of the glyphs that can be followed; one choice holds for all sweeps. */
    offerGlyphs() {
      const inputs = this.told.glyphs.map(({ name, seen }, at) => {
        const input = make("input", { type: "radio", name: `glyph-${this.index}`, value: at });
        input.checked = at === this.glyph;
        input.addEventListener("change", () => sweeps.forEach((sweep) => sweep.follow(at)));
        return make("label", {}, input, picture(seen[this.told.nominal][0], name));
      });
      this.article.querySelector("header").append(make(
        "fieldset", { class: "choice" }, make("legend", {}, "Glyph to follow"), ...inputs,
      ));
    }

    offerClasses() {
      for (const item of this.article.querySelectorAll("li[data-class]")) {
        const button = make("button", { type: "button", "aria-pressed": "false" });
        button.append(...item.childNodes);
        item.append(button);
        button.addEventListener("click", () => this.toggle(item));
      }
    }

    /** Lay a class over the chart, or take it off; there is room for two. */
    toggle(item) {
      const at = this.over.indexOf(item);
      if (at >= 0) this.over.splice(at, 1);
      else this.over.push(item);
      if (this.over.length > LAID_OVER.length) this.over.shift();
      for (const each of this.article.querySelectorAll("li[data-class]")) {
        each.querySelector("button").setAttribute("aria-pressed", String(this.over.includes(each)));
      }
      for (const old of this.plot.querySelectorAll(".of-class")) old.remove();
      this.over.forEach((each, place) => this.layOver(each, place));
    }

    layOver(item, place) {
      const look = `of-class ${LAID_OVER[place]}`;
      const shares = item.dataset.values.split(" ").map(Number);
      const name = item.dataset.class;
      if (this.told.rows) {
        this.marks.forEach((mark, at) => {
          const y = mark.querySelector(".track").getAttribute("y1");
          mark.append(draw(
            "svg", { class: look, x: `${shares[at]}%`, y, width: 1, height: 1, overflow: "visible" },
            draw("path", { d: "M0 -7 L6 0 L0 7 L-6 0 Z" }),
            draw("text", { x: 0, y: 19, "text-anchor": "middle", class: "halo" }, name),
          ));
        });
        return;
      }
      const frame = this.plot.querySelector(".stretched");
      const points = shares.map((share, at) => `${this.told.stops[at]},${100 - share}`).join(" ");
      frame.append(draw("polyline", { class: look, points }));
      // One name stands at the right end and the other at the left, where they can't meet.
      const end = nearest(this.told.stops, place ? 0 : 100);
      const top = Number(frame.getAttribute("y"));
      const y = top + (Number(frame.getAttribute("height")) * (100 - shares[end])) / 100;
      frame.parentNode.append(draw("text", {
        class: `${look} halo`, x: `${this.told.stops[end]}%`, y: y - 7,
        "text-anchor": place ? "start" : "end",
      }, name));
    }
  }

  /** One grid: the cell that is pointed at, by pointer or by keys. */
  class Grid {
    constructor(told, index) {
      this.told = told;
      const article = document.getElementById(`grid-${index + 1}`);
      const table = article.querySelector("table.map");
      this.says = article.querySelector(".cell");
      this.rows = [...table.tBodies[0].rows].map((row) => [...row.querySelectorAll("td")]);
      table.setAttribute("role", "grid");
      this.rows.forEach((row, down) => row.forEach((td, across) => {
        td.tabIndex = -1;
        td.addEventListener("focus", () => this.point(down, across));
        td.addEventListener("pointerenter", () => this.tell(down, across));
        td.addEventListener("click", () => td.focus());
      }));
      table.addEventListener("pointerleave", () => this.tell(...this.at));
      table.addEventListener("keydown", (event) => this.move(event));
      const own = table.querySelector("td.unchanged")?.dataset.cell ?? "0,0";
      this.point(...own.split(",").map(Number));
      this.says.setAttribute("aria-live", "polite"); // what stands there at first needn't be said
    }

    move(event) {
      const [down, across] = this.at;
      const last = this.rows[down].length - 1;
      const to = {
        ArrowRight: [down, across + 1], ArrowLeft: [down, across - 1],
        ArrowDown: [down + 1, across], ArrowUp: [down - 1, across],
        Home: [down, 0], End: [down, last],
      }[event.key];
      if (!to || event.altKey || event.ctrlKey || event.metaKey) return;
      event.preventDefault();
      this.rows[clamp(to[0], this.rows.length - 1)][clamp(to[1], last)].focus();
    }

    point(down, across) {
      if (this.at) this.rows[this.at[0]][this.at[1]].tabIndex = -1;
      this.at = [down, across];
      this.rows[down][across].tabIndex = 0;
      this.tell(down, across);
    }

    tell(down, across) {
      const [number, glyph, words] = this.told[down][across];
      this.says.replaceChildren(make("p", {}, words));
      if (number === null) return;
      this.says.prepend(make("figure", {}, picture(number, glyph), make("figcaption", {}, glyph)));
    }
  }

  const sweeps = data.sweeps.map((told, index) => new Sweep(told, index));
  data.grids.forEach((told, index) => new Grid(told, index));

  // On paper each sweep stands at the level to begin with.
  let left = [];
  window.addEventListener("beforeprint", () => {
    left = sweeps.map((sweep) => sweep.level);
    sweeps.forEach((sweep) => sweep.go(sweep.told.start));
  });
  window.addEventListener("afterprint", () => {
    left.forEach((level, at) => sweeps[at].go(level));
  });
  window.addEventListener("resize", () => {
    sweeps.forEach((sweep) => { sweep.reading.style.minHeight = ""; });
  });
  document.documentElement.classList.add("live");
})();
