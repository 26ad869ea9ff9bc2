// The sheet of one field: titled sections of sentences and small tables.

function sheetOf(field) {
  const steps = field.on_rounds.map((stop) => stop.round);
  return [
    ...field.sheet.map(sheetSection),
    make(
      "p",
      { class: "steps" },
      field.at === null ? null : button({ class: "plain" }, () => showField(field.id, true), words.go_to),
      steps.length > 0 ? button({ class: "plain" }, () => pickRound(steps[0]), words.show_round) : null,
    ),
  ];
}

function sheetSection(section) {
  const body = section.lines
    ? section.lines.map((line) => make("p", { dir: "auto" }, line))
    : [make("dl", {}, ...section.pairs.map(([label, value]) =>
        make("div", {}, make("dt", {}, label), make("dd", {}, typed(value)))))];
  return make("section", {}, make("h3", {}, section.title), ...body);
}
