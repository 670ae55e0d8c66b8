// Small helpers for the document, and the data that the page carries.

export const byId = (id) => document.getElementById(id);

export const data = JSON.parse(byId("data").textContent);

function fill(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== null && value !== undefined) node.setAttribute(name, value);
  }
  node.append(...children);
  return node;
}

/** An HTML element with attributes and children. */
export function make(tag, attributes = {}, ...children) {
  return fill(document.createElement(tag), attributes, children);
}

/** An SVG element with attributes and children. */
export function makeSvg(tag, attributes = {}, ...children) {
  return fill(document.createElementNS("http://www.w3.org/2000/svg", tag), attributes, children);
}

/** The bits of a row of inputs as text, the first input first: "01". */
export function bitsOf(row, count) {
  return count ? row.toString(2).padStart(count, "0") : "";
}

/** A row of inputs in words: "a=0 b=1". */
export function rowText(row, names) {
  const bits = bitsOf(row, names.length);
  return names.map((name, index) => `${name}=${bits[index]}`).join(" ") || "no inputs";
}
