// Draws what lies beneath the fields: roads, streams, counties, towns.

function drawGround() {
  const { counties, streams, roads, towns } = page.ground;
  wallMap.createPane("ground").style.zIndex = "300";
  const renderer = L.svg({ pane: "ground", padding: 0.5 });
  const lines = (places, className) =>
    L.polyline(places.map((line) => line.map(latLng)), { className, renderer, pane: "ground", interactive: false })
      .addTo(wallMap);
  lines(streams, "stream");
  lines(roads, "road");
  lines(counties.flatMap((county) => county.lines), "county");
  for (const town of towns) {
    L.circleMarker(latLng(town.at), { radius: 4, className: "town", renderer, pane: "ground", interactive: false })
      .addTo(wallMap);
  }
}

function groundNames() {
  const { counties, towns } = page.ground;
  return [
    ...towns.flatMap((town) => [nameOnGround(town, "town-name", 8), nameOnGround(town, "town-name before", -8)]),
    ...counties.map((county) => nameOnGround(county, "county-name", 0)),
  ];
}

// A town's name stands right of its dot or, where that is taken, left of it; a county's in its middle.
function nameOnGround(place, className, gap) {
  const { name, at } = place;
  const width = 4 + 8 * [...name].length;
  const beside = gap < 0 ? gap - width : gap;
  return {
    place, at: latLng(at), width, height: 20, beside, className, whole: true, body: () => typed(name), press: null,
  };
}
