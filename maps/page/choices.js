// What the colours mean, the classes to see, and the search.

function writeChoices() {
  byId("choices").append(
    showBy(),
    make("div", { class: "classes", role: "group", "aria-label": words.only }),
    make("ul", { class: "keys" }),
  );
  writeClasses();
}

function showBy() {
  const options = Object.keys(page.classes).map((by) =>
    make(
      "label",
      {},
      make("input", { type: "radio", name: "show-by", value: by, checked: by === chosen.by, "aria-label": words[`${by}_long`] }),
      make("span", { title: words[`${by}_long`] }, words[by]),
    ),
  );
  const group = make("fieldset", { class: "show-by" }, make("legend", {}, words.show_by), ...options);
  group.addEventListener("change", (event) => choose({ by: event.target.value, only: new Set() }));
  return group;
}

function writeClasses() {
  const all = classButton(chosen.only.size === 0, everyField, null, words.all, words.all, page.fields.length);
  const some = looksOf(chosen.by)
    .filter((look) => look.count > 0)
    .map((look) =>
      classButton(
        chosen.only.has(look.code), () => toggleClass(look.code), swatch(chosen.by, look, 20, 20), look.short, look.words, look.count,
      ),
    );
  putInPlace(document.querySelector(".classes"), [all, ...some]);
  document.querySelector(".keys").replaceChildren(...(page.keys[chosen.by] || []).map(keyLine));
}

function writeCaution() {
  byId("caution").textContent = chosen.by in page.keys ? words.soil_caution : page.cautions[0];
}

// A line under the legend: what a mark means that a field of any class may have.
function keyLine({ sign, words: means, count }) {
  return make("li", {}, keySign(sign), make("span", {}, means), make("b", {}, String(count)));
}

// Puts new buttons where the old were; the one that had the focus keeps it.
function putInPlace(holder, buttons) {
  const focused = [...holder.children].indexOf(document.activeElement);
  holder.replaceChildren(...buttons);
  buttons[focused]?.focus();
}

function classButton(pressed, press, sign, short, full, count) {
  return button(
    { class: "class", "aria-pressed": String(pressed), "aria-label": `${full}: ${count}`, title: full },
    press,
    sign,
    make("span", {}, short),
    make("b", {}, String(count)),
  );
}

function toggleClass(code) {
  const only = new Set(chosen.only);
  if (!only.delete(code)) only.add(code);
  choose({ only });
}

function writeSearch() {
  const box = make("input", { type: "search", id: "find", placeholder: words.find, autocomplete: "off", spellcheck: "false" });
  box.addEventListener("input", () => choose({ find: box.value }));
  onChange(() => {
    if (box.value !== chosen.find) box.value = chosen.find;
  });
  return make(
    "div",
    { class: "search" },
    make("label", { for: "find", class: "unseen" }, words.find),
    box,
    make("p", { id: "found", role: "status" }),
  );
}
