// Puts the page of the zones together and keeps map and notebook in step.

function start() {
  drawHatches();
  writeHead();
  writeChoices();
  writeTabs();
  writeZones();
  writeCounties();
  writeNotes();
  drawMap();
  onChange(refresh);
}

function drawMap() {
  hangMap();
  hangZones();
  drawGround();
  tagLayer.addTo(wallMap);
  wallMap.on("zoomend moveend resize", placeTags);
  placeTags();
  keepSize();
}

function refresh(before) {
  const other = before.grass !== chosen.grass || before.chance !== chosen.chance;
  if (other) {
    drawZones();
    writeZones();
    writeCounties();
  }
  showLeaf();
  showEntries();
  showCounties();
  if (before.zone !== chosen.zone || before.county !== chosen.county) paintZones();
  placeTags();
  if (!other && chosen.zone !== null && (before.zone !== chosen.zone || before.county !== chosen.county)) {
    showZone(chosen.zone, false);
    goToEntry();
  }
}

start();
