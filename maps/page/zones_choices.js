// Which grass and which chance to see.

function writeChoices() {
  byId("choices").append(grassChoice(), chanceChoice());
}

function grassChoice() {
  const options = page.grasses.map(({ id, name }) => make("option", { value: id, selected: id === chosen.grass }, name));
  const box = make("select", { id: "grass" }, ...options);
  box.addEventListener("change", () => pickLayer({ grass: box.value }));
  return make("div", { class: "one-of" }, make("label", { for: "grass", class: "of" }, words.grass), box);
}

function chanceChoice() {
  const options = page.chances.map(({ id, name }) =>
    make(
      "label",
      {},
      make("input", { type: "radio", name: "chance", value: id, checked: id === chosen.chance }),
      make("span", {}, name),
    ),
  );
  const group = make(
    "fieldset", { class: "show-by one-of" }, make("legend", { class: "of" }, words.chance), make("div", { class: "options" }, ...options),
  );
  group.addEventListener("change", (event) => pickLayer({ chance: event.target.value }));
  return group;
}
