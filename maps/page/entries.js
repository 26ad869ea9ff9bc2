// The list of fields, by class, and the sheet that opens beneath an entry.

const entries = []; // every entry of every list: { leaf, field, item, row, sheet }

function writeFields() {
  byId("fields").append(writeSearch(), make("div", { id: "list" }));
  writeList();
}

function writeList() {
  dropEntries("fields");
  // The groups come in the order of the fields, so that those which can still be cut are on top.
  // By their soil they go by class, the poorest first.
  const found = [...new Set(page.fields.map((field) => lookOf(field)))];
  const looks = chosen.by in page.keys ? looksOf(chosen.by).filter((look) => found.includes(look)) : found;
  const groups = looks.map((look) => group(look, page.fields.filter((field) => lookOf(field) === look)));
  byId("list").replaceChildren(...groups);
  showEntries();
}

function group(look, fields) {
  return make(
    "section",
    { class: "group" },
    make("h2", {}, swatch(chosen.by, look), make("span", {}, look.words)),
    make("ul", { class: "entries" }, ...fields.map((field) => entry("fields", field, fieldRow(field)))),
  );
}

// One entry: a row that opens the sheet of its field right beneath it.
function entry(leaf, field, inRow) {
  const id = `${leaf}-${entries.length}`;
  const row = button(
    { class: "row", "aria-expanded": "false", "aria-controls": id },
    () => choose({ field: chosen.field === field.id ? null : field.id }),
    ...inRow,
  );
  const sheet = make("div", { id, class: "sheet", hidden: true });
  const item = make("li", { "data-field-id": field.id }, row, sheet);
  entries.push({ leaf, field, item, row, sheet });
  return item;
}

function dropEntries(leaf) {
  entries.splice(0, entries.length, ...entries.filter((one) => one.leaf !== leaf));
}

function fieldRow(field) {
  const marks = [...field.on_rounds.map((stop) => stop.short), ...field.flags];
  const by = field.said[chosen.by] ?? field.by;
  return [
    dayBox(field),
    make(
      "span",
      { class: "said" },
      typed(field.name, { class: "name" }),
      make("span", { class: chosen.by in field.said ? "by soil" : "by" }, by),
      make("span", { class: "facts" }, ...joined([field.client && typed(field.client), ...field.facts])),
      marks.length > 0 ? make("span", { class: "marks" }, ...marks.map((mark) => make("span", {}, mark))) : null,
    ),
  ];
}

// The box holds the figure; a class is told by its colour, hatch and heading.
function figureOf(field) {
  const tag = tagOf(field);
  if (/[\d–]/.test(tag)) return tag;
  return isMapped(field) ? words.mapped_mark : "";
}

function dayBox(field) {
  return make(
    "span",
    { class: "day-box" },
    swatch(chosen.by, lookOf(field), 48, 34),
    make("b", { "aria-hidden": "true" }, figureOf(field)),
    make("span", { class: "unseen" }, field.said[chosen.by] ?? field.days_words),
  );
}

function joined(parts) {
  return parts.filter(Boolean).flatMap((part, place) => (place === 0 ? [part] : [" · ", part]));
}

function showEntries() {
  for (const { leaf, field, item, row, sheet } of entries) {
    const open = field.id === chosen.field;
    row.setAttribute("aria-expanded", String(open));
    item.classList.toggle("picked", open);
    item.hidden = leaf === "fields" && !isShown(field);
    if (open && !sheet.hasChildNodes()) sheet.append(...sheetOf(field));
    sheet.hidden = !open;
  }
  for (const section of document.querySelectorAll(".group")) {
    section.hidden = section.querySelector("li:not([hidden])") === null;
  }
  writeFound();
}

function writeFound() {
  const shown = page.fields.filter(isShown).length;
  const found = byId("found");
  if (shown === page.fields.length) found.replaceChildren();
  else {
    const text = shown === 0 ? words.found_none : worded(words.found, { shown, all: page.fields.length });
    found.replaceChildren(make("span", {}, text), button({ class: "plain" }, everyField, words.clear));
  }
}

// Brings the entry of the picked field into sight, on the leaf that is open if the field is there.
function goToEntry() {
  const own = entries.filter((one) => one.field.id === chosen.field);
  const here = own.find((one) => one.leaf === chosen.leaf) || own.find((one) => one.leaf === "fields");
  if (!here) return;
  if (here.leaf !== chosen.leaf) choose({ leaf: here.leaf });
  here.row.focus({ preventScroll: true });
  here.item.scrollIntoView({ block: "start", behavior: calm ? "auto" : "smooth" });
}
