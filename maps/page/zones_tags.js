// The days to write into the zones, and the names of the ground around them.

const CHIP_PX = { height: 26, edge: 14, letter: 8.6 };

// Every zone gets its day once, in the first of its spots that is free, off all towns if it can; then its other parts
// where there is room.
function tagsInOrder() {
  const off = townBoxes();
  const offTowns = (tag) => ({ ...tag, off });
  const zones = [...shownLayer().zones].sort((a, b) => Number(b.id === chosen.zone) - Number(a.id === chosen.zone));
  const once = zones.flatMap((zone) => {
    const tags = [
      ...zone.spots.flatMap((spot) => insideTags(zone, spot, zone)),
      ...zone.spots.map((spot) => zoneTag(zone, spot, zone.day, true, zone)),
    ];
    return [...tags.map(offTowns), ...tags];
  });
  const more = zones.flatMap((zone) => zone.spots.flatMap((spot) => insideTags(zone, spot, partOf(zone, spot))));
  return [...once, ...more.map(offTowns), ...groundNames()];
}

// Where the dot and the name of each town stand.
function townBoxes() {
  return page.ground.towns.map((town) => {
    const name = boxOf(nameOnGround(town, "", 8));
    return L.bounds(name.min.subtract([14, 0]), name.max);
  });
}

function partOf(zone, spot) {
  return `${zone.id}, part ${spot.part}`;
}

// "cut by 24 Sep" where there is room for it, or the day alone.
function insideTags(zone, spot, place) {
  return [zone.by, zone.day].map((text) => zoneTag(zone, spot, text, false, place)).filter((tag) => isInside(tag, spot));
}

// A tag lies in a circle that is free, or in a strip half as high that reaches farther.
function isInside(tag, spot) {
  const room = roomPx(spot);
  const reach = roomPx({ at: spot.at, room_m: spot.reach_m });
  return tag.width <= 2 * room || (tag.height <= room && tag.width <= 2 * reach);
}

// In a zone too narrow to write in, its day stands over or above the spot, with a piece of its hatch.
function zoneTag(zone, spot, text, withSign, place) {
  const picked = zone.id === chosen.zone ? " picked" : "";
  return {
    place,
    part: partOf(zone, spot),
    at: latLng(spot.at),
    width: CHIP_PX.edge + CHIP_PX.letter * text.length + (withSign ? 18 : 0),
    height: CHIP_PX.height,
    above: withSign && 2 * roomPx(spot) < CHIP_PX.height ? 3 + roomPx(spot) : 0,
    whole: true,
    className: `by${picked}`,
    body: () => make("span", {}, withSign ? swatch("zone", lookOf(zone, "zone"), 16, 24) : null, make("b", {}, text)),
    press: () => pickZone(zone.id),
    lift: picked ? 1000 : 0,
  };
}
