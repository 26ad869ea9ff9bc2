// A part of a sheet: a title with sentences, or with a small table.

function sheetSection(section) {
  const body = section.lines
    ? section.lines.map((line) => make("p", { dir: "auto" }, line))
    : [make("dl", {}, ...section.pairs.map(([label, value]) =>
        make("div", {}, make("dt", {}, label), make("dd", {}, typed(value)))))];
  return make("section", {}, make("h3", {}, section.title), ...body);
}
