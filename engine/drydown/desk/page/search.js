// A field that finds a material or a film by the words of the trade, and the list of what it found.
import { entry, search } from "./api.js";
import { h, nice, sent } from "./dom.js";

let count = 0;

/**
 * Return the field with its list.
 *
 * `kind` is "material", "film" or "" for both; `now` the entry that is chosen; `take(found)` is called with what is taken.
 */
export function finder(labelled, kind, now, take) {
  const id = `found-${++count}`;
  let found = [], at = -1, asked = 0, timer = 0;
  const list = h("ul", { class: "found", role: "listbox", id, "aria-label": "What was found" });
  const none = h("p", { class: "small soft", role: "status" });
  const field = h("input", {
    type: "text", role: "combobox", "aria-expanded": "true", "aria-controls": id, "aria-autocomplete": "list", autocomplete: "off",
    spellcheck: "false", placeholder: "plastic, drywall, batts, brick …", "data-key": "finder", class: "finder", enterkeyhint: "search",
    on: { input: () => { clearTimeout(timer); timer = setTimeout(look, 110); }, keydown: key },
  });

  async function look() {
    const turn = ++asked, words = field.value.trim();
    const reply = await search(words, kind, words ? 12 : 14).catch((failure) => ({ found: [], error: failure.message }));
    if (turn !== asked) return;
    found = reply.found;
    list.dataset.of = words;
    at = words && found.length ? 0 : -1;
    none.textContent = reply.error || (found.length ? "" : `Nothing goes by “${words}”. Try a plainer word: plastic, wool, brick.`);
    list.replaceChildren(...found.map(row));
    point();
  }

  function row(one, i) {
    const said = one.said && one.said !== one.name ? h("span", { class: "soft" }, ` “${one.said}”`) : "";
    const swatch = h("span", { class: `swatch wall ${one.kind === "film" ? "of-film" : ""}`, "aria-hidden": "true" }, h("span", { class: `k-${one.hatch}` }));
    return h("li", {
      role: "option", id: `${id}-${i}`, "aria-selected": "false", class: one.name === now ? "now" : "", "data-name": one.name,
      on: { click: () => chosen(one), pointermove: () => { if (at !== i) { at = i; point(); } } },
    }, swatch, h("span", { class: "said" }, h("b", {}, nice(one.name)), said, one.name === now ? h("span", { class: "soft" }, ", as it is now") : "",
      h("span", { class: "about" }, nice(one.about))));
  }

  function point() {
    Array.from(list.children).forEach((line, i) => line.setAttribute("aria-selected", String(i === at)));
    const line = list.children[at];
    field.setAttribute("aria-activedescendant", line ? line.id : "");
    if (line && document.activeElement === field) line.scrollIntoView({ block: "nearest" });
  }

  const chosen = (one) => { sent(field); take(one); };
  /** Take what is pointed at; what was typed a moment ago is looked for first. */
  async function taken() {
    clearTimeout(timer);
    if (list.dataset.of !== field.value.trim()) await look();
    if (found[at]) chosen(found[at]);
  }

  function key(event) {
    const way = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (way && found.length) {
      at = (at + way + found.length) % found.length;
      point();
    } else if (event.key === "Enter") {
      taken();
    } else return;
    event.preventDefault();
  }

  look();
  return h("div", { class: "finding" }, h("label", { class: "field" }, h("span", {}, labelled), field), none, list);
}

/** Return the lines that tell all that is known of an entry, fetched when it is opened. */
export function known(name) {
  const lines = h("div", { class: "known" });
  const box = h("details", { on: { toggle: async () => {
    if (!box.open || lines.childElementCount) return;
    const all = await entry(name).catch((failure) => ({ lines: [failure.message] }));
    lines.replaceChildren(...all.lines.map((line) => h("p", { class: "small" }, nice(line))));
  } } }, h("summary", { "data-key": "known" }, "All that is known of it, with sources"), lines);
  return box;
}
