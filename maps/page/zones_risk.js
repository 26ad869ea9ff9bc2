// What a later cut risks: a small drawing, and behind it the same as a table.

const PLOT = { width: 300, height: 176, left: 30, right: 288, top: 12, bottom: 146 };

function riskSection(risk) {
  return make(
    "section",
    { class: "risk" },
    make("h3", {}, words.risk),
    make("p", {}, words.risk_says),
    riskDrawing(risk),
    make("details", {}, make("summary", {}, words.risk_table), riskTable(risk)),
  );
}

function riskDrawing(risk) {
  const last = risk.points.at(-1)[0] || 1;
  const x = (day) => PLOT.left + ((PLOT.right - PLOT.left) * day) / last;
  const y = (share) => PLOT.bottom - (PLOT.bottom - PLOT.top) * share;
  const [cutDay, cutShare] = risk.cut;
  const line = risk.points.map(([day, share]) => `${x(day).toFixed(1)},${y(share).toFixed(1)}`).join(" ");
  return draw(
    "svg",
    { class: "curve", role: "img", "aria-label": risk.says, viewBox: `0 0 ${PLOT.width} ${PLOT.height}` },
    ...[0, 0.5, 1].map((share) => draw("path", { class: "level", d: `M${PLOT.left} ${y(share)}H${PLOT.right}` })),
    ...[0, 0.5, 1].map((share) => label(PLOT.left - 6, y(share) + 5, "end", String(10 * share))),
    draw("path", { class: "cut", d: `M${x(cutDay)} ${PLOT.top}V${PLOT.bottom}` }),
    draw("polyline", { class: "course", points: line }),
    draw("circle", { class: "now", cx: x(cutDay), cy: y(cutShare), r: 5 }),
    label(PLOT.left, PLOT.height - 10, "start", risk.ends[0]),
    label(x(cutDay), PLOT.height - 10, "middle", risk.cut_day, "strong"),
    label(PLOT.right, PLOT.height - 10, "end", risk.ends[1]),
  );
}

function label(x, y, anchor, text, className = "") {
  return draw("text", { x, y, "text-anchor": anchor, class: className }, text);
}

function riskTable(risk) {
  const head = make("tr", {}, ...[words.risk_day, words.risk_falls].map((text) => make("th", { scope: "col" }, text)));
  const rows = risk.rows.map(([day, falls]) => make("tr", {}, make("th", { scope: "row" }, day), make("td", {}, falls)));
  return make("table", { class: "risks" }, make("thead", {}, head), make("tbody", {}, ...rows));
}
