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
