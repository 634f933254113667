// What opens where a part of the wall is touched: what it is, how thick, where; and what opens between two parts.
import { curveOf } from "./curve.js";
import { button, h, nice, sent } from "./dom.js";
import { finder, known } from "./search.js";
import { next, written } from "./sizes.js";
import { slip } from "./slip.js";
import { called } from "./wall.js";

/**
 * Return the slip of a part.
 *
 * `on` has edit(edit, words), close(), move(at, to), remove(at), wet(name).
 */
export function partSlip(part, number, count, us, on) {
  const film = part.kind === "film";
  const what = finder(film ? "Another film, or search" : "Another material, or search", part.kind === "film" ? "film" : "material", part.entry, (found) => {
    on.edit({ op: "set", at: `${part.at}.${found.kind === "film" ? "film" : "material"}`, value: found.name }, `${found.name} in place of ${part.name}`);
  });
  const about = h("p", { class: "about" }, nice(part.about));
  const places = h("div", { class: "places", role: "group", "aria-label": "Its place" },
    button("← further out", () => on.move(part.at, number - 1), { disabled: number === 1, "data-key": "outward" }),
    button("further in →", () => on.move(part.at, number + 1), { disabled: number === count, "data-key": "inward" }),
    film ? "" : button(part.wetted ? "The water gets in here" : "Let the water in here", () => on.wet(part.name), { disabled: part.wetted, "data-key": "wet" }),
    button("Put the next one in", () => on.next(number + 1), { "data-key": "next" }),
    button("Take it out", () => on.remove(part.at), { class: "quiet", "data-key": "out" }));
  const first = h("div", { class: "first" }, film ? "" : thickness(part, us, on), part.trouble ? h("p", { class: "flag" }, nice(part.trouble)) : "", about, part.hatch === "air" ? airing(part, on) : "", places, film ? "" : damp(part, on), known(part.entry));
  return slip("slip-part", called(part), on.close, h("div", { class: `slip-body${film && part.curve ? " of-film" : ""}` },
    first, film && part.curve ? curveOf(part.curve, part.name) : "", h("div", { class: "second" }, what)));
}

/** A field for the thickness, in any unit, with a step down and up. */
function thickness(part, us, on) {
  const set = (value) => on.edit({ op: "set", at: `${part.at}.thickness`, value }, `${part.name}, ${value}`);
  const field = h("input", {
    type: "text", value: part.thickness_shown || part.thickness || "", "data-key": "thickness", class: "thick", inputmode: "text", autocomplete: "off",
    "aria-invalid": part.mm === null ? "true" : null,
    on: { change: () => commit(), keydown: (event) => {
      const way = { ArrowUp: 1, ArrowDown: -1 }[event.key];
      if (way && part.mm) { event.preventDefault(); by(way); }
      if (event.key === "Enter") { event.preventDefault(); commit(); }
    } },
  });
  function commit() {
    const typed = field.value.trim();
    if (!typed || typed === part.thickness_shown || typed === part.thickness) return;
    sent(field);
    set(/^[\d.,\s]+$/.test(typed) ? `${typed.replace(",", ".")} ${us ? "in" : "mm"}` : typed);
  }
  const by = (way) => set(written(next(part.mm, way, us), us));
  return h("div", { class: "thickness" },
    button("−", () => by(-1), { "aria-label": "Thinner", disabled: !part.mm, "data-key": "thinner", class: "round" }),
    h("label", { class: "field" }, h("span", {}, "Thick"), field),
    button("+", () => by(1), { "aria-label": "Thicker", disabled: !part.mm, "data-key": "thicker", class: "round" }));
}

/** Whether outside air blows through a gap. */
function airing(part, on) {
  const all = on.gaps(), at = all.findIndex((gap) => gap.layer === part.name), open = at >= 0;
  const body = open ? { op: "remove", at: `ventilated_gap.${at + 1}` } : { op: "insert", at: "ventilated_gap", value: { layer: part.name, air_changes: "50 1/h" } };
  const box = h("input", { type: "checkbox", "data-key": "airing",
    on: { change: () => on.edit(body, open ? `${part.name} is closed` : `outside air blows through ${part.name}`) } });
  box.checked = open;
  return h("label", { class: "tick" }, box, " Outside air blows through it", h("span", { class: "small soft" }, open ? ` (${nice(all[at].air_changes)})` : " (as behind a cladding that is open above and below)"));
}

/** The water it has from the start, where it is built in damp. */
function damp(part, on) {
  const field = h("input", { type: "text", value: part.start_water || "", placeholder: "as dry as the rest", "data-key": "start", autocomplete: "off", on: {
    change: () => sent(field) || on.edit({ op: "set", at: `${part.at}.start_water`, value: field.value.trim() || null }, `${part.name}, built in at ${field.value.trim() || "the dryness of the rest"}`),
  } });
  return h("label", { class: "field damp" }, h("span", {}, "Built in at"), field, h("span", { class: "small soft" }, "such as 18 %MC"));
}

/** Return the slip between two parts: what to put in. */
export function gapSlip(number, parts, on) {
  const before = parts[number - 2], after = parts[number - 1];
  const where = before && after ? `Between ${before.name} and ${after.name}` : after ? "Outermost" : before ? "Innermost" : "The first part, from outside";
  const what = finder("Put in", "", "", (found) => {
    const value = found.kind === "film" ? { film: found.name } : { material: found.name, ...(found.thickness ? { thickness: found.thickness } : {}) };
    on.insert(number, value, found.name);
  });
  return slip("slip-gap", where, on.close, h("div", { class: "slip-body one" }, what));
}
