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

function tableRow([name, ...cells]) {
  return make("tr", {}, make("th", { scope: "row" }, name), ...cells.map(cell));
}

function smallTable({ kind, caption, heads, rows, rest }) {
  if (!rows.length) return [];
  const table = make(
    "table", { class: kind }, make("caption", {}, caption),
    make("thead", {}, make("tr", {}, ...heads.map((h) => make("th", { scope: "col" }, h)))),
    make("tbody", {}, ...rows.map(tableRow)),
  );
  return rest ? [table, make("p", {}, rest)] : [table];
}
