// Writes tags and names on the map, wherever they fit; each page says which go first.

const tagLayer = L.layerGroup();

function placeTags() {
  tagLayer.clearLayers();
  const view = L.bounds([8, 8], wallMap.getSize().subtract([8, 8]));
  const taken = controlBoxes();
  const named = new Set();
  for (const tag of tagsInOrder()) {
    const box = boxOf(tag);
    if (tag.whole ? !view.contains(box) : !box.intersects(view)) continue;
    if (!tag.always && taken.some((other) => other.overlaps(box))) continue;
    if (tag.off && tag.off.some((other) => other.overlaps(box))) continue;
    if (named.has(tag.place)) continue;
    if (tag.place) named.add(tag.place);
    if (tag.part) named.add(tag.part); // and nothing more in that part of it
    if (!tag.clear) taken.push(box);
    tagLayer.addLayer(markerFor(tag));
  }
}

function controlBoxes() {
  const corner = byId("map").getBoundingClientRect();
  return [...document.querySelectorAll("#map .leaflet-control")].map((control) => {
    const { left, top, right, bottom } = control.getBoundingClientRect();
    return L.bounds([left - corner.left, top - corner.top], [right - corner.left, bottom - corner.top]);
  });
}

// A tag stands in the middle of its place, or `beside` it, or `above` it, by so many pixels.
function cornerOf({ width, height, beside, above }) {
  return L.point(beside ? beside : -width / 2, above ? -height - above : -height / 2);
}

function boxOf(tag) {
  const corner = wallMap.latLngToContainerPoint(tag.at).add(cornerOf(tag));
  return L.bounds(corner, corner.add([tag.width, tag.height]));
}

function markerFor(tag) {
  const icon = L.divIcon({
    className: `tag ${tag.className}`,
    html: tag.body(),
    iconSize: [tag.width, tag.height],
    iconAnchor: cornerOf(tag).multiplyBy(-1),
  });
  const marker = L.marker(tag.at, {
    icon, keyboard: false, interactive: tag.press !== null, zIndexOffset: tag.lift || 0,
  });
  if (tag.press !== null) marker.on("click", tag.press);
  return marker;
}

// How many pixels around its middle a place leaves free at this zoom (Leaflet's own sphere: 40,075,016.686 m around).
function roomPx({ at, room_m }) {
  const metresPerPixel = (40075016.686 * Math.cos((at[1] * Math.PI) / 180)) / (256 * 2 ** wallMap.getZoom());
  return room_m / metresPerPixel;
}
