// The map on the wall: its buttons and scale, the whole of it in sight, its size that of its place.

function hangMap() {
  wallMap.addControl(zoomButtons());
  L.control.scale({ imperial: page.units === "us", metric: page.units !== "us", maxWidth: 140, position: "bottomright" })
    .addTo(wallMap);
  showAll(false);
}

function keepSize() {
  new ResizeObserver(() => wallMap.invalidateSize({ animate: false })).observe(byId("map"));
  window.addEventListener("beforeprint", () => {
    wallMap.invalidateSize({ animate: false });
    showAll(false);
  });
}

function showAll(animate) {
  if (page.bounds === null) wallMap.setView([0, 0], 2);
  else wallMap.fitBounds(page.bounds.map(latLng), { paddingTopLeft: [20, 66], paddingBottomRight: [20, 42], maxZoom: 15, animate });
}

function zoomButtons() {
  const bar = new L.Control({ position: "topright" });
  bar.onAdd = () => {
    const holder = make(
      "div",
      { class: "zoom" },
      button({ class: "whole" }, () => showAll(!calm), words.whole),
      button({ "aria-label": words.zoom_out, title: words.zoom_out }, () => wallMap.zoomOut(1), "−"),
      button({ "aria-label": words.zoom_in, title: words.zoom_in }, () => wallMap.zoomIn(1), "+"),
    );
    L.DomEvent.disableClickPropagation(holder);
    return holder;
  };
  return bar;
}
