// Draws one path for each zone, beneath the lines and names of the ground; finger, mouse and keyboard pick it.

const zoneLayer = L.layerGroup();
const pathById = new Map();
const countyLayer = L.layerGroup();
let zoneRenderer = null;

function hangZones() {
  wallMap.createPane("zones").style.zIndex = "250";
  wallMap.createPane("picked").style.zIndex = "350";
  zoneRenderer = L.svg({ pane: "zones", padding: 0.5 });
  zoneLayer.addTo(wallMap);
  countyLayer.addTo(wallMap);
  drawZones();
}

function drawZones() {
  zoneLayer.clearLayers();
  pathById.clear();
  drawUnknown();
  for (const zone of shownLayer().zones) drawZone(zone);
  paintZones();
}

// Land of the areas without freeze data.
function drawUnknown() {
  const rings = shownLayer().unknown.map((polygon) => polygon.map((ring) => ring.map(latLng)));
  if (rings.length === 0) return;
  L.polygon(rings, {
    className: "unknown", fillColor: paint("zone", UNKNOWN), fillOpacity: 1, renderer: zoneRenderer, pane: "zones", interactive: false,
  }).addTo(zoneLayer);
}

function drawZone(zone) {
  const rings = zone.rings.map((polygon) => polygon.map((ring) => ring.map(latLng)));
  const look = lookOf(zone, "zone");
  const shape = L.polygon(rings, {
    className: "zone", fillColor: paint("zone", look), fillOpacity: 1, smoothFactor: 0.5, renderer: zoneRenderer, pane: "zones",
  }).addTo(zoneLayer);
  const path = shape.getElement();
  for (const [name, value] of Object.entries({
    "data-zone-id": zone.id, role: "button", tabindex: "0", "aria-label": zone.label,
  })) path.setAttribute(name, value);
  path.append(draw("title", {}, zone.label));
  path.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" && event.key !== " ") return;
    event.preventDefault();
    pickZone(zone.id);
  });
  shape.on("click", () => pickZone(zone.id));
  pathById.set(zone.id, shape);
}

function paintZones() {
  for (const [id, shape] of pathById) {
    const path = shape.getElement();
    path.classList.toggle("picked", id === chosen.zone);
    path.classList.toggle("aside", chosen.zone !== null && id !== chosen.zone);
    path.setAttribute("aria-pressed", String(id === chosen.zone));
  }
  drawPicked();
}

// The outlines of what is picked lie above all zones and the ground.
function drawPicked() {
  countyLayer.clearLayers();
  const renderer = L.svg({ pane: "picked", padding: 0.5 });
  const outline = (lines, className) => L.polyline(lines, { className, renderer, pane: "picked", interactive: false }).addTo(countyLayer);
  const zone = shownZone();
  const county = page.ground.counties.find((one) => one.name === chosen.county);
  const places = county ? county.lines.map((line) => line.map(latLng)) : [];
  const rings = zone ? zone.rings.flat().map((ring) => [...ring, ring[0]].map(latLng)) : [];
  outline(rings, "picked-line");
  outline(places, "picked-edge of-county");
  outline(places, "picked-line of-county");
}

function showZone(id, closer) {
  const bounds = pathById.get(id)?.getBounds();
  if (!bounds?.isValid()) return;
  if (closer) wallMap.fitBounds(bounds, { maxZoom: 13, padding: [40, 60], animate: !calm });
  else if (!wallMap.getBounds().intersects(bounds)) wallMap.panTo(bounds.getCenter(), { animate: !calm });
}
