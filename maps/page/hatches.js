// Turns each class's colour and hatch strokes into a pattern, used by map, list and legend alike.

const HATCH_GAP = { 1: 9, 2: 6 }; // strokes drawn once stand wide apart, twice close

function looksOf(by) {
  return page.classes[by];
}

function lookOf(field, by = chosen.by) {
  return looksOf(by).find((look) => look.code === field[by]) || looksOf(by).at(-1);
}

function paint(by, look) {
  return `url(#look-${by}-${look.code || "none"})`;
}

function drawHatches() {
  const patterns = Object.keys(page.classes).flatMap((by) => looksOf(by).map((look) => hatch(by, look)));
  document.body.prepend(
    draw("svg", { width: 0, height: 0, class: "hatches", "aria-hidden": "true" }, draw("defs", {}, ...patterns, partHatch())),
  );
}

function hatch(by, look) {
  const gap = HATCH_GAP[look.hatch.length] || 9;
  const stroke = look.hatch[0] || "";
  const turn = { "/": 45, x: 45, "\\": -45 }[stroke] || 0;
  return draw(
    "pattern",
    {
      id: `look-${by}-${look.code || "none"}`,
      width: gap,
      height: gap,
      patternUnits: "userSpaceOnUse",
      patternTransform: `rotate(${turn})`,
    },
    draw("rect", { width: gap, height: gap, fill: look.fill }),
    ...strokes(stroke, gap, look.mark),
  );
}

// The part of a field to sample first: bars of ink on paper, seen on a field of any colour.
function partHatch() {
  return draw(
    "pattern",
    { id: "sample-part", width: 7, height: 7, patternUnits: "userSpaceOnUse", patternTransform: "rotate(-45)" },
    draw("rect", { width: 7, height: 7, class: "part-paper" }),
    draw("rect", { width: 2.5, height: 7, class: "part-bar" }),
  );
}

function keySign(sign) {
  const box = { x: 2, y: 2, width: 22, height: 14, fill: sign === "part" ? "url(#sample-part)" : "none", class: `key-${sign}` };
  return draw("svg", { class: "swatch", width: 26, height: 18, "aria-hidden": "true" }, draw("rect", box));
}

function strokes(stroke, gap, mark) {
  const upright = draw("rect", { width: 1.6, height: gap, fill: mark });
  const level = draw("rect", { width: gap, height: 1.6, fill: mark });
  const dot = draw("circle", { cx: gap / 2, cy: gap / 2, r: 1.4, fill: mark });
  return { "/": [upright], "\\": [upright], x: [upright, level], "-": [level], ".": [dot] }[stroke] || [];
}

function swatch(by, look, width = 22, height = 22) {
  return draw(
    "svg",
    { class: "swatch", width, height, "aria-hidden": "true" },
    draw("rect", { x: 1, y: 1, width: width - 2, height: height - 2, fill: paint(by, look), class: "swatch-edge" }),
  );
}
