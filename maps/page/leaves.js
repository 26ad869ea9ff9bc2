// The leaves of the notebook; the last says what to read first, the one before it what to buy.

function writeTabs() {
  const tabs = LEAVES.map((leaf) =>
    button(
      { role: "tab", id: `tab-${leaf}`, "aria-controls": leaf, class: "tab" },
      () => choose({ leaf }),
      words[`tab_${leaf}`],
    ),
  );
  byId("tabs").append(...tabs);
  byId("tabs").addEventListener("keydown", turnLeaf);
  for (const leaf of LEAVES) byId(leaf).setAttribute("aria-labelledby", `tab-${leaf}`);
  showLeaf();
}

function turnLeaf(event) {
  const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
  if (!step) return;
  const leaf = LEAVES[(LEAVES.indexOf(chosen.leaf) + step + LEAVES.length) % LEAVES.length];
  choose({ leaf });
  byId(`tab-${leaf}`).focus();
}

function showLeaf() {
  for (const leaf of LEAVES) {
    const open = leaf === chosen.leaf;
    byId(leaf).classList.toggle("turned", !open);
    byId(`tab-${leaf}`).setAttribute("aria-selected", String(open));
    byId(`tab-${leaf}`).setAttribute("tabindex", open ? "0" : "-1");
  }
}

function writeNotes() {
  const lines = (title, texts) =>
    texts.length > 0 ? make("section", {}, make("h2", {}, title), ...texts.map((text) => make("p", { dir: "auto" }, text))) : null;
  byId("notes").append(
    ...[
      lines(words.cautions, page.cautions),
      lines(words.notes, page.notes),
      lines(words.reading, [words.how_to_read, page.head.how_soil, page.head.how_chance].filter(Boolean)),
      lines(words.hay_of_clients, page.clients),
      ...page.rules.map((rules) => lines(rules.title, rules.lines)),
    ].filter(Boolean),
  );
}
