// The sheet of one zone.

function sheetOf(zone) {
  return [
    ...zone.sheet.map(sheetSection),
    zone.risk === null ? null : riskSection(zone.risk),
    make("p", { class: "steps" }, button({ class: "plain" }, () => showZone(zone.id, true), words.go_to)),
  ].filter(Boolean);
}
