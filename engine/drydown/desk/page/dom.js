// Elements from plain text. Nothing of a case is ever read as HTML: names and notes go in as text nodes alone.

const SVG = "http://www.w3.org/2000/svg";

function put(node, props, children) {
  for (const [name, value] of Object.entries(props || {})) {
    if (value === undefined || value === null || value === false) continue;
    if (name === "on") for (const [event, act] of Object.entries(value)) node.addEventListener(event, act);
    else if (name === "place") Object.assign(node.style, value);
    else node.setAttribute(name, value === true ? "" : value);
  }
  for (const child of children.flat(3)) {
    if (child === undefined || child === null || child === false || child === "") continue;
    node.append(child instanceof Node ? child : String(child));
  }
  return node;
}

/** Return an element: `h("p", {class: "small"}, "text", other)`. `on` holds handlers, `place` sets styles. */
export const h = (tag, props, ...children) => put(document.createElement(tag), props, children);
/** Return an element of SVG. */
export const s = (tag, props, ...children) => put(document.createElementNS(SVG, tag), props, children);
export const byId = (id) => document.getElementById(id);

/** Return text with units, quotes, minus and spaces set as the page of a result sets them. */
export function nice(text) {
  return String(text ?? "").replace(/(?<!\w)'([^']+)'(?!\w)/g, "“$1”").replace(/\b(m|ft)([23])\b/g, (_, unit, power) => unit + (power === "2" ? "²" : "³"))
    .replaceAll(" %", "\u00a0%").replace(/(?<![\w-])-(?=\d)/g, "−");
}
export const paragraphs = (list) => (list || []).filter(Boolean).map((text) => h("p", {}, nice(text)));
export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);
export const unseen = (text) => h("span", { class: "unseen" }, text);

/** Fill `host` anew. What had the focus has it again, found by its `data-key`, with what was being typed. */
export function fill(host, ...children) {
  const had = host.contains(document.activeElement) ? document.activeElement : null;
  const key = had && had.dataset.key, typed = had && had.tagName === "INPUT" && had.value !== had.defaultValue ? had.value : null;
  host.replaceChildren(...children.flat(3).filter((child) => child !== "" && child !== null && child !== undefined && child !== false));
  if (key) again(host, key, typed);
}
function again(host, key, typed) {
  if (!focusOn(key, host) || typed === null) return;
  const field = document.activeElement;
  field.value = typed;
  field.dispatchEvent(new Event("input"));
}
/** What is typed is sent: a new drawing shows what came of it. */
export const sent = (field) => { field.defaultValue = field.value; };
/** Put the focus on what has a key; return whether it is there. */
export function focusOn(key, host = document) {
  const found = Array.from(host.querySelectorAll("[data-key]")).find((node) => node.dataset.key === key);
  if (found) found.focus({ preventScroll: true });
  return Boolean(found);
}
/** Say something to those who listen to the page. */
export function announce(text) {
  const live = byId("live");
  if (live.textContent !== text) live.textContent = text;
}
export const narrow = () => window.matchMedia("(max-width: 44rem)").matches;
/** A button that is only words. */
export const button = (words, act, props = {}) => h("button", { type: "button", on: { click: act }, ...props }, words);
