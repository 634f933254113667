// What would change it, as cards that a touch takes over; and walls that were kept, side by side.
import { facts, tag } from "./answer.js";
import { button, capital, fill, h, nice, paragraphs } from "./dom.js";
import { bodies } from "./places.js";

/** Cards of what would change the answer. `told` is what the server says of them, `on.take(card)` takes one over. */
export function cards(host, state, told, on) {
  const standing = state.cards || { state: "none" };
  const fresh = told && told.version === state.version;
  if (standing.state === "none" && !fresh) return fill(host);
  const head = h("h2", {}, "What would change it?");
  const busy = standing.state === "running" ? h("p", { class: "standing" }, h("span", {}, "Trying what builders try, one change after the other."),
    h("progress", { max: "1", value: standing.fraction || 0, "aria-label": "trying changes" }), h("span", { class: "soft" }, `${Math.round(100 * (standing.fraction || 0))}\u00a0%`)) : "";
  if (!fresh) return fill(host, head, busy);
  const shown = told.cards.map((one) => h("article", { class: `card${one.smallest ? " smallest" : ""}` },
    h("h3", {}, nice(capital(one.words))),
    h("p", { class: "outcome" }, tag(one.passes ? "fine" : "exceeded", one.passes ? "every limit is kept" : "not enough"),
      one.smallest ? h("span", { class: "soft" }, " and the smallest change that is enough") : ""),
    h("p", { class: "small" }, nice(one.because || outcome(one))),
    button("Do this", () => on.take(one), { "data-key": `take-${one.id}`, "aria-label": `Do this: ${nice(one.words)}` })));
  fill(host, head, busy, paragraphs(told.sentences), h("div", { class: "deck" }, shown));
}

function outcome(one) {
  const dry = one.days === null || one.days === undefined ? "It does not dry within the run" : `Nine tenths of the water gone after ${Math.round(one.days)} days`;
  return one.inward === null || one.inward === undefined ? `${dry}.` : `${dry}, ${Math.round(100 * (1 - one.inward))} % of it outward.`;
}

/** A wall to scale, small: for a look, not for touch. */
function small(parts) {
  const tall = 84, wide = 220, { placed } = bodies(parts, wide);
  const box = h("div", { class: "wall tiny", "aria-hidden": "true" });
  parts.forEach((part, i) => {
    const { from, to } = placed[i];
    box.append(part.kind === "film" ? h("div", { class: "film", place: { left: `${100 * from / wide}%` } })
      : h("div", { class: `lay k-${part.hatch}`, place: { left: `${100 * from / wide}%`, width: `${100 * (to - from) / wide}%`, height: `${tall}px` } }));
  });
  return box;
}

/** The walls that were kept, with what differs in a sentence. */
export function pins(host, told, on) {
  if (!told || !told.pins.length) return fill(host);
  fill(host, h("h2", {}, told.pins.length > 1 ? "Walls you kept, side by side" : "A wall you kept"), paragraphs(told.sentences.map((text) => text.replace(" (*)", ""))), // the sign is that of a table
    h("div", { class: "deck" }, told.pins.map((one) => h("article", { class: "card pin" }, h("h3", {}, nice(one.name)), small(one.parts),
      h("p", { class: "said" }, nice(one.headline)), one.differs ? h("p", { class: "small" }, nice(capital(one.differs))) : "", facts((one.facts || []).slice(0, 3)),
      h("div", { class: "row" }, button("Go back to it", () => on.back(one), { "data-key": `back-${one.pin}`, "aria-label": `Go back to ${nice(one.name)}` }),
        button("Let it go", () => on.drop(one), { class: "quiet", "data-key": `drop-${one.pin}`, "aria-label": `Let ${nice(one.name)} go` }))))));
}
