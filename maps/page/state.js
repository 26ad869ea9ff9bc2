// What the reader has chosen, as each page says it; whoever shows it listens.

const page = JSON.parse(byId("page-data").textContent);
const words = page.words;
const listeners = [];

function onChange(listener) {
  listeners.push(listener);
}

function choose(changes) {
  const before = { ...chosen };
  Object.assign(chosen, changes);
  for (const listener of listeners) listener(before);
}
