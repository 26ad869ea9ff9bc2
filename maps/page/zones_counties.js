// The table by county: a row opens the zone of the county's middle date right beneath it.

const countyRows = []; // { county, row, line, under, sheet }

function writeCounties() {
  countyRows.length = 0;
  const { counties } = shownLayer();
  const body = counties.flatMap(countyLines);
  byId("counties").replaceChildren(
    ...(counties.length > 0
      ? [make("p", {}, words.counties), make("table", { class: "by-county" }, countyHead(), make("tbody", {}, ...body))]
      : [make("p", {}, words.no_counties)]),
  );
  showCounties();
}

function countyHead() {
  const names = [words.county, words.earliest, words.middle, words.latest];
  return make("thead", {}, make("tr", {}, ...names.map((name) => make("th", { scope: "col" }, name))));
}

function countyLines(county) {
  const id = `county-${countyRows.length}`;
  const row = button(
    { class: "county-row", "aria-expanded": "false", "aria-controls": id }, () => pickCounty(county), typed(county.county),
  );
  const dates = county.outside
    ? [make("td", { colspan: 3, class: "outside" }, words.outside)]
    : county.dates.map((day) => make("td", {}, day || "–"));
  const line = make("tr", { "data-county": county.county }, make("th", { scope: "row" }, row), ...dates);
  const sheet = make("div", { id, class: "sheet" });
  const under = make("tr", { class: "under", hidden: true }, make("td", { colspan: 4 }, sheet));
  countyRows.push({ county, row, line, under, sheet });
  return [line, under];
}

function showCounties() {
  for (const { county, row, line, under, sheet } of countyRows) {
    const open = county.county === chosen.county;
    row.setAttribute("aria-expanded", String(open));
    line.classList.toggle("picked", open);
    if (open && !sheet.hasChildNodes()) sheet.append(...countySheet(county));
    under.hidden = !open;
  }
}

function countySheet(county) {
  const zone = shownLayer().zones.find((one) => one.id === county.zone);
  const own = sheetSection({ title: county.county, pairs: county.pairs });
  const looks = zone && make("p", { class: "zone-named" }, swatch("zone", lookOf(zone, "zone")), make("b", {}, zone.title));
  return zone ? [own, make("section", {}, make("h3", {}, words.county_zone), looks), ...sheetOf(zone)] : [own];
}
