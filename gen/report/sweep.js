const ROW = 48; // px from one row of a chart to the next
const LAID_OVER = ["first", "second"]; // looks of classes over a chart
const RESTED_MS = 300; // a finger that rests so long on rows means the handle and not the page
const STILL_PX = 8; // and hasn't gone further than this

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
    return this.article.querySelector(`[data-part="${name}"]`);
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
    this.part("confused").replaceChildren(...smallTable(told.confused));
    if (told.sure) this.showSure(told.sure);
    this.showGlyph();
    // What stands below must not jump up and down while the handle moves.
    this.reading.style.minHeight = `${this.reading.offsetHeight}px`;
  }

  showSure(told) {
    const drawn = this.article.querySelector(".sure-here");
    drawn.setAttribute("aria-label", told.title);
    for (const [kind, d] of Object.entries(told.drawn)) {
      drawn.querySelector(`.${kind}`).setAttribute("d", d);
    }
    this.part("sure-lines").replaceChildren(...told.lines.map((line) => make("li", {}, line)));
    const table = this.part("sure-table").firstElementChild;
    table.caption.textContent = told.title;
    table.tBodies[0].replaceChildren(...told.rows.map(tableRow));
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
    this.drag();
    plot.addEventListener("click", (event) => {
      this.go(this.under(event));
      handle.focus({ preventScroll: true });
    });
  }

  /** The handle goes with a pointer that is held down anywhere on the chart. */
  drag() {
    const { handle, plot, told } = this;
    let held = false;
    let waits = null; // a finger on rows: it may want to push the page
    const hold = (now) => {
      held = now;
      plot.classList.toggle("held", now);
      clearTimeout(waits?.timer);
      waits = null;
    };
    plot.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      const { clientX: x, clientY: y } = event;
      if (event.pointerType === "mouse" || !told.rows || event.target === handle) {
        hold(true);
        plot.setPointerCapture(event.pointerId);
        if (event.pointerType === "mouse") this.go(this.under(event));
        return;
      }
      const take = () => { hold(true); this.go(this.under(event)); };
      waits = { x, y, timer: setTimeout(take, RESTED_MS) };
    });
    plot.addEventListener("pointermove", (event) => {
      if (held) this.go(this.under(event));
      else if (waits && Math.hypot(event.clientX - waits.x, event.clientY - waits.y) > STILL_PX) {
        hold(false);
      }
    });
    for (const name of ["pointerup", "pointercancel"]) {
      plot.addEventListener(name, () => hold(false));
    }
    // Along rows the finger goes the way in which a page is pushed: what it holds stays there.
    const stays = (event) => { if (held && told.rows) event.preventDefault(); };
    plot.addEventListener("touchmove", stays, { passive: false });
    plot.addEventListener("contextmenu", (event) => { if (held) event.preventDefault(); });
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
