// The list of the zones, which is the legend too, and the sheet that opens beneath an entry.

const entries = []; // { zone, item, row, sheet }

function writeZones() {
  entries.length = 0;
  const { zones, unknown } = shownLayer();
  const list = make("ul", { class: "entries" }, ...zones.map(zoneEntry), unknown.length > 0 ? unknownEntry() : null);
  byId("zones").replaceChildren(zones.length > 0 ? list : make("p", { class: "nothing" }, words.no_zones));
  showEntries();
}

function zoneEntry(zone) {
  const id = `sheet-${entries.length}`;
  const row = button(
    { class: "row", "aria-expanded": "false", "aria-controls": id },
    () => pickZone(zone.id),
    make("span", { class: "day-box" }, swatch("zone", lookOf(zone, "zone"), 48, 34)),
    make(
      "span",
      { class: "said" },
      make("span", { class: "name" }, zone.title),
      ...zone.facts.map((fact) => make("span", { class: "facts" }, fact)),
    ),
  );
  const sheet = make("div", { id, class: "sheet", hidden: true });
  const item = make("li", { "data-zone-id": zone.id }, row, sheet);
  entries.push({ zone, item, row, sheet });
  return item;
}

function unknownEntry() {
  return make("li", { class: "unknown-named" }, swatch("zone", UNKNOWN, 48, 34), make("span", {}, words.unknown));
}

function showEntries() {
  for (const { zone, item, row, sheet } of entries) {
    const open = zone.id === chosen.zone && chosen.county === null;
    row.setAttribute("aria-expanded", String(open));
    item.classList.toggle("picked", zone.id === chosen.zone);
    if (open && !sheet.hasChildNodes()) sheet.append(...sheetOf(zone));
    sheet.hidden = !open;
  }
}

// Brings the entry of what was picked into sight.
function goToEntry() {
  const county = chosen.county === null ? null : countyRows.find((one) => one.county.county === chosen.county);
  const zone = entries.find((one) => one.zone.id === chosen.zone);
  const [row, place] = county ? [county.row, county.line] : zone ? [zone.row, zone.item] : [null, null];
  if (row === null) return;
  row.focus({ preventScroll: true });
  place.scrollIntoView({ block: "start", behavior: calm ? "auto" : "smooth" });
}
