// Days left, stop numbers and names to write on the map; the more urgent go first.

const NARROW_PX = 36; // more room than this across a field, and its days left are written inside it

function tagsInOrder() {
  return [...pickedRing(), ...roundTags(), ...fieldTags(), ...groundNames()];
}

function fieldTags() {
  const onRound = new Set(stopsOf(chosen.round).map((stop) => stop.field));
  const fields = page.fields
    .filter((field) => field.at !== null && isShown(field))
    .filter((field) => chosen.round === null || field.id === chosen.field || (onRound.has(field.id) && isWide(field)))
    .sort(byPlace);
  return bundled(fields).map(({ first, others }) => fieldTag(first, others));
}

// The picked field first; then, shown by their soil, the poorest.
function byPlace(a, b) {
  const picked = Number(b.id === chosen.field) - Number(a.id === chosen.field);
  const place = (field) => (chosen.by in page.keys ? looksOf(chosen.by).indexOf(lookOf(field)) : 0);
  return picked || place(a) - place(b);
}

// Fields whose tags would overlap go into one bundle, under the first.
function bundled(fields) {
  const bundles = [];
  for (const field of fields) {
    const box = boxOf(fieldTag(field, []));
    const bundle = bundles.find((one) => one.box.overlaps(box));
    if (bundle) {
      bundle.others.push(field);
      bundle.box = boxOf(fieldTag(bundle.first, bundle.others));
    } else {
      bundles.push({ first: field, others: [], box });
    }
  }
  return bundles;
}

function isWide(field) {
  return 2 * roomPx(field) >= NARROW_PX;
}

function fieldTag(field, others) {
  const more = others.length > 0 ? `+${others.length}` : "";
  const inside = isWide(field);
  const picked = field.id === chosen.field;
  return {
    at: latLng(field.at),
    width: 11 + 10 * tagOf(field).length + (inside ? 0 : 14) + (more ? 4 + 9 * more.length : 0),
    height: 24,
    above: inside ? 0 : 4 + roomPx(field),
    className: `days${picked ? " picked" : ""}`,
    body: () =>
      make("span", {},
        inside ? null : swatch(chosen.by, lookOf(field), 13, 24),
        make("b", {}, tagOf(field)),
        more && make("i", {}, more)),
    press: () => (others.length > 0 ? openBundle([field, ...others]) : pickField(field.id)),
    lift: picked ? 1000 : 0,
  };
}

// Goes closer, until the fields of a bundle come apart; at the closest, picks the first.
function openBundle(fields) {
  const bounds = L.latLngBounds(fields.map((field) => latLng(field.at)));
  if (wallMap.getZoom() >= wallMap.getMaxZoom()) pickField(fields[0].id);
  else wallMap.fitBounds(bounds, { paddingTopLeft: [60, 80], paddingBottomRight: [60, 60], animate: !calm });
}

function pickedRing() {
  const field = fieldById.get(chosen.field);
  if (!field || field.at === null || roomPx(field) > 10) return [];
  return [{ at: latLng(field.at), width: 42, height: 42, className: "ring", body: () => "", press: null, always: true,
    clear: true }];
}
