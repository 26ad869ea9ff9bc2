// What can be chosen on the page of the zones.

const LEAVES = ["zones", "counties", "notes"];

const UNKNOWN = { code: "unknown" }; // its look

const chosen = {
  grass: page.first.grass,
  chance: page.first.chance,
  zone: null, // id
  county: null, // name
  leaf: "zones",
};

// The zones of the chosen grass and chance, and its counties.
function shownLayer() {
  const none = { zones: [], counties: [], unknown: [] };
  return page.layers.find((layer) => layer.grass === chosen.grass && layer.chance === chosen.chance) || none;
}

function shownZone() {
  return shownLayer().zones.find((zone) => zone.id === chosen.zone);
}

function pickZone(id) {
  choose({ zone: chosen.zone === id && chosen.county === null ? null : id, county: null, leaf: "zones" });
}

function pickCounty(county) {
  const again = chosen.county === county.county;
  choose({ county: again ? null : county.county, zone: again ? null : county.zone || null, leaf: "counties" });
}

// Another grass or chance: the county stays, and the zone is that of its middle date there.
function pickLayer(changes) {
  const { grass, chance } = { ...chosen, ...changes };
  const layer = page.layers.find((one) => one.grass === grass && one.chance === chance);
  const county = layer?.counties.find((one) => one.county === chosen.county);
  choose({ grass, chance, county: county ? county.county : null, zone: county?.zone || null });
}
