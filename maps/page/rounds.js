// The table of days and crews, and the stops of the round that is picked.

function writeRounds() {
  const leaf = byId("rounds");
  if (page.rounds.length === 0) {
    leaf.append(make("p", {}, words.no_rounds));
    return;
  }
  const holder = make("div", { class: "wide", tabindex: "0", role: "group", "aria-label": words.tab_rounds }, roundTable());
  leaf.append(make("p", {}, words.rounds), holder, make("div", { id: "stops" }));
}

function roundTable() {
  const crews = [...new Set(page.rounds.map((round) => round.crew))].sort();
  const dates = [...new Set(page.rounds.map((round) => round.date))];
  const head = make("tr", {}, make("th", { scope: "col" }, words.day), ...crews.map((crew) => make("th", { scope: "col" }, typed(crew))));
  const rows = dates.map((date) => {
    const ofDay = page.rounds.filter((round) => round.date === date);
    const cells = crews.map((crew) => make("td", {}, roundCell(ofDay.find((round) => round.crew === crew))));
    return make("tr", {}, make("th", { scope: "row" }, ofDay[0].day), ...cells);
  });
  return make("table", { class: "days-by-crew" }, make("thead", {}, head), make("tbody", {}, ...rows));
}

function roundCell(round) {
  if (!round) return make("span", { class: "none" }, words.no_round);
  return button(
    { class: "round", "data-round": round.id, "aria-label": [round.day, round.crew, round.count, round.size].join(", ") },
    () => (chosen.round === round.id ? choose({ round: null }) : pickRound(round.id)),
    make("b", {}, round.count),
    make("span", {}, round.size),
  );
}

function pickRound(id) {
  choose({ round: id, leaf: "rounds", field: null });
  showWay(id);
  byId("stops").scrollIntoView({ block: "start", behavior: calm ? "auto" : "smooth" });
}

function showRound(before) {
  for (const cell of document.querySelectorAll("[data-round]")) {
    cell.setAttribute("aria-pressed", String(cell.getAttribute("data-round") === chosen.round));
  }
  if (before.round === chosen.round || page.rounds.length === 0) return;
  dropEntries("rounds");
  const round = roundById.get(chosen.round);
  byId("stops").replaceChildren(...(round ? stopList(round) : []));
}

function stopList(round) {
  const known = round.stops.filter((stop) => fieldById.has(stop.field));
  return [
    make("h2", {}, typed(round.crew), `, ${round.day}`),
    make("p", {}, round.sum, " ", button({ class: "plain" }, () => choose({ round: null }), words.hide_round)),
    make("ol", { class: "entries" }, ...known.map((stop) => entry("rounds", fieldById.get(stop.field), stopRow(stop)))),
  ];
}

function stopRow(stop) {
  return [
    make("span", { class: "day-box" }, make("span", { class: "stop-number" }, String(stop.stop))),
    make(
      "span",
      { class: "said" },
      typed(stop.name, { class: "name" }),
      make("span", { class: "facts" }, ...joined([stop.client && typed(stop.client), stop.words])),
    ),
  ];
}
