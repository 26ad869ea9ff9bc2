// Draws the round of one crew and day: from the yard, stop by stop, and back.

const wayLayer = L.layerGroup();

function drawWay() {
  wayLayer.clearLayers();
  const round = roundById.get(chosen.round);
  if (!round) return;
  const yard = round.yard === null ? [] : [round.yard];
  const line = [...yard, ...round.stops.map((stop) => stop.at).filter(Boolean), ...yard].map(latLng);
  for (const className of ["way-edge", "way"]) {
    L.polyline(line, { className, interactive: false }).addTo(wayLayer);
  }
}

function showWay(id) {
  const round = roundById.get(id);
  const places = [round.yard, ...round.stops.map((stop) => stop.at)].filter(Boolean).map(latLng);
  const corners = round.stops.map((stop) => shapeById.get(stop.field)?.getBounds()).filter((box) => box?.isValid());
  const bounds = L.latLngBounds(places);
  corners.forEach((box) => bounds.extend(box));
  if (bounds.isValid()) wallMap.fitBounds(bounds, { paddingTopLeft: [30, 64], paddingBottomRight: [30, 40], maxZoom: 15, animate: !calm });
}

function roundTags() {
  const round = roundById.get(chosen.round);
  if (!round) return [];
  const yard = round.yard === null ? [] : [textTag(latLng(round.yard), words.yard, "yard", null)];
  return [...merged(round.stops).map(stopTag), ...yard];
}

// Stops that would lie on one another share a tag: "3–5".
function merged(stops) {
  const groups = [];
  for (const stop of stops.filter((one) => one.at !== null)) {
    const point = wallMap.latLngToContainerPoint(latLng(stop.at));
    const near = groups.find((group) => group.point.distanceTo(point) < 30);
    if (near) near.stops.push(stop);
    else groups.push({ point, at: latLng(stop.at), stops: [stop] });
  }
  return groups;
}

function stopTag({ at, stops }) {
  const tag = textTag(at, runs(stops.map((stop) => stop.stop)), "stop", () => pickField(stops[0].field));
  return { ...tag, width: Math.max(28, tag.width) };
}

function textTag(at, text, className, press) {
  const width = 12 + 9 * text.length;
  return { at, width, height: 28, className, body: () => make("b", {}, text), press, always: true, lift: 500 };
}

// [1, 2, 3, 5] -> "1–3, 5"
function runs(numbers) {
  const parts = [];
  for (const number of numbers) {
    const last = parts.at(-1);
    if (last && number === last[1] + 1) last[1] = number;
    else parts.push([number, number]);
  }
  return parts.map(([from, to]) => (from === to ? `${from}` : `${from}–${to}`)).join(", ");
}
