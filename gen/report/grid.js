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
