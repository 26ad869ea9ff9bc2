// Draws one path for each field, coloured and hatched by its class.

const shapeById = new Map();
const partById = new Map(); // the part of a field to sample first

function drawShapes() {
  for (const field of page.fields) {
    const rings = field.rings.map((polygon) => polygon.map((ring) => ring.map(latLng)));
    const shape = L.polygon(rings, { className: "shape", fillOpacity: 1, smoothFactor: 0.5 }).addTo(wallMap);
    const path = shape.getElement();
    path.setAttribute("data-field-id", field.id);
    path.append(draw("title", {}, [field.name, field.client, field.days_words].filter(Boolean).join(", ")));
    shape.on("click", (event) => {
      L.DomEvent.stopPropagation(event);
      pickField(field.id);
    });
    shapeById.set(field.id, shape);
  }
  drawParts();
  paintShapes();
}

// The parts to sample first lie over the fields and let every click through.
function drawParts() {
  wallMap.createPane("parts").style.zIndex = "450";
  const renderer = L.svg({ pane: "parts", padding: 0.5 });
  const look = { className: "part", renderer, pane: "parts", interactive: false, fillColor: "url(#sample-part)", fillOpacity: 1 };
  for (const field of page.fields.filter((one) => one.part.length > 0)) {
    const part = L.polygon(field.part.map((polygon) => polygon.map((ring) => ring.map(latLng))), look).addTo(wallMap);
    partById.set(field.id, part.getElement());
  }
}

function paintShapes() {
  const onRound = new Set(stopsOf(chosen.round).map((stop) => stop.field));
  for (const field of page.fields) {
    const shape = shapeById.get(field.id);
    const path = shape.getElement();
    shape.setStyle({ fillColor: paint(chosen.by, lookOf(field)) });
    path.classList.toggle("away", !isShown(field));
    path.classList.toggle("quiet", chosen.round !== null && !onRound.has(field.id) && field.id !== chosen.field);
    path.classList.toggle("picked", field.id === chosen.field);
    path.classList.toggle("dashed", chosen.by in field.tags ? isMapped(field) : field.days === null);
    partById.get(field.id)?.classList.toggle("away", chosen.by !== "ph" || !isShown(field));
  }
  thinShapes();
  if (chosen.field !== null) shapeById.get(chosen.field).bringToFront();
}

// Far out, a full outline would hide the colour of a small field.
function thinShapes() {
  for (const field of page.fields) {
    shapeById.get(field.id).getElement().classList.toggle("small", field.at !== null && roomPx(field) < 5);
  }
}

// A finger is wide and a field far out is small: a tap beside fields picks the nearest within reach.
const REACH_PX = 24;

function pickNearest(event) {
  const gaps = page.fields
    .filter((field) => field.at !== null && isShown(field))
    .map((field) => ({ id: field.id, gap: gapTo(field, event.containerPoint) }))
    .sort((a, b) => a.gap - b.gap);
  if (gaps.length > 0 && gaps[0].gap <= REACH_PX) pickField(gaps[0].id);
}

function gapTo(field, point) {
  return wallMap.latLngToContainerPoint(latLng(field.at)).distanceTo(point) - roomPx(field);
}

function showField(id, closer) {
  const bounds = shapeById.get(id).getBounds();
  if (!bounds.isValid()) return;
  if (closer) {
    wallMap.fitBounds(bounds, { maxZoom: 16, padding: [60, 60], animate: !calm });
  } else if (!wallMap.getBounds().pad(-0.1).contains(bounds.getCenter())) {
    wallMap.panTo(bounds.getCenter(), { animate: !calm });
  }
}
