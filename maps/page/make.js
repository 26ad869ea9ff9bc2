// Builds elements. Text always goes in as text, never as markup.

const SVG = "http://www.w3.org/2000/svg";

function make(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

function draw(tag, attributes = {}, ...children) {
  return filled(document.createElementNS(SVG, tag), attributes, children);
}

function filled(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== null && value !== undefined && value !== false) {
      element.setAttribute(name, value === true ? "" : String(value));
    }
  }
  element.append(...children.filter((child) => child !== null && child !== ""));
  return element;
}

// A name someone typed: it keeps its own writing direction and cannot turn its neighbours around.
function typed(text, attributes = {}) {
  return make("bdi", attributes, text);
}

function button(attributes, press, ...children) {
  const made = make("button", { type: "button", ...attributes }, ...children);
  made.addEventListener("click", press);
  return made;
}

function byId(id) {
  return document.getElementById(id);
}

function worded(pattern, values) {
  return pattern.replace(/\{(\w+)\}/g, (_, name) => String(values[name]));
}

// "Élan" and "elan" find each other.
function folded(text) {
  return text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();
}

// Leaflet wants latitude first.
function latLng([lon, lat]) {
  return [lat, lon];
}

function days(count) {
  if (count === null) return "–";
  return count < 0 ? `−${-count}` : String(count);
}
