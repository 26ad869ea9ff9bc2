// Puts the page together and keeps map and notebook in step.

function start() {
  drawHatches();
  writeHead();
  writeChoices();
  writeTabs();
  writeFields();
  writeRounds();
  writeBuy();
  writeNotes();
  drawMap();
  onChange(refresh);
}

function drawMap() {
  hangMap();
  drawGround();
  drawShapes();
  wayLayer.addTo(wallMap);
  tagLayer.addTo(wallMap);
  wallMap.on("zoomend moveend resize", placeTags);
  wallMap.on("zoomend", thinShapes);
  wallMap.on("click", pickNearest);
  placeTags();
  keepSize();
}

function refresh(before) {
  if (before.by !== chosen.by) writeList();
  writeClasses();
  writeCaution();
  showLeaf();
  showRound(before);
  showEntries();
  paintShapes();
  if (before.round !== chosen.round) drawWay();
  placeTags();
  if (before.field !== chosen.field && chosen.field !== null) {
    showField(chosen.field, false);
    goToEntry();
  }
}

start();
