// What each client is to buy by the laboratory's samples: a table a client, each row with its reason.

function writeBuy() {
  byId("buy").append(
    ...page.buy.lines.map((line) => make("p", { dir: "auto" }, line)),
    ...page.buy.clients.map(buyTable),
  );
}

function buyTable({ client, needs, totals }) {
  const heads = [words.buy_field, words.buy_item, words.buy_rate, words.buy_amount];
  return make(
    "section",
    { "aria-label": worded(words.buy_of, { client }) },
    make("h2", {}, typed(client)),
    ...totals.map((line) => make("p", { class: "total" }, line)),
    make(
      "table",
      { class: "needs" },
      make("thead", {}, make("tr", {}, ...heads.map((head) => make("th", { scope: "col" }, head)))),
      ...needs.map(needRows),
    ),
  );
}

function needRows({ field, item, amount, rate, reason }) {
  return make(
    "tbody",
    {},
    make(
      "tr",
      {},
      make("th", { scope: "row" }, typed(field)),
      make("td", { class: "item" }, item),
      make("td", {}, rate),
      make("td", { class: "amount" }, amount),
    ),
    make("tr", {}, make("td", { colspan: 4, class: "reason", dir: "auto" }, reason)),
  );
}
