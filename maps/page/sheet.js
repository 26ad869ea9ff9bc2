// A part of a sheet: a title with a small table, with sentences, or with both.

function sheetSection(section) {
  const pairs = section.pairs || [];
  const rows = pairs.map(([label, value]) => make("div", {}, make("dt", {}, label), make("dd", {}, typed(value))));
  return make(
    "section",
    {},
    make("h3", {}, section.title),
    rows.length > 0 ? make("dl", {}, ...rows) : null,
    ...(section.lines || []).map((line) => make("p", { dir: "auto" }, line)),
  );
}
