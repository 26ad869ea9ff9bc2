// The head of the page, and what a screen reader calls its parts.

function writeHead() {
  document.title = page.head.title;
  document.querySelector("#head h1").textContent = page.head.title;
  byId("under").textContent = page.head.under;
  byId("caution").textContent = page.cautions[0];
  document.querySelector(".skip").textContent = words.to_list;
  byId("book").setAttribute("aria-label", words.notebook);
  byId("map").setAttribute("aria-label", words.map);
}
