// What can be chosen on the page of the fields.

const LEAVES = ["fields", "rounds", "buy", "notes"];
const fieldById = new Map(page.fields.map((field) => [field.id, field]));
const roundById = new Map(page.rounds.map((round) => [round.id, round]));

const chosen = {
  by: "urgency", // "urgency", "stage", or of the soil "ph", "k", "p"
  only: new Set(), // classes to see; empty means all
  find: "",
  field: null, // id
  round: null, // id
  leaf: "fields",
};

for (const field of page.fields) {
  field.search = folded([field.name, field.client, field.id].join(" "));
}

function isShown(field) {
  const inClass = chosen.only.size === 0 || chosen.only.has(field[chosen.by]);
  return inClass && field.search.includes(folded(chosen.find.trim()));
}

// What is written on a field: its days left or, shown by its soil, its pH or class.
function tagOf(field) {
  return field.tags[chosen.by] ?? days(field.days);
}

function isMapped(field) {
  return field.mapped.includes(chosen.by);
}

function everyField() {
  choose({ only: new Set(), find: "" });
}

function pickField(id) {
  if (!fieldById.has(id)) return;
  if (!isShown(fieldById.get(id))) Object.assign(chosen, { only: new Set(), find: "" });
  choose({ field: id });
}

function stopsOf(roundId) {
  return roundId === null ? [] : roundById.get(roundId).stops;
}
