// The drawing that is the editor: the wall to scale, outside to inside, upright on a wide screen and lying on a narrow one.
import { focusOn, h, narrow, nice, s, unseen } from "./dom.js";
import { bodies, spread } from "./places.js";
import { next, snapped, written } from "./sizes.js";

/** Widths of a label that are tried [px], the room of a joint, and how far labels may stand out beside the wall. */
const LABELS = [132, 112], JOINT = 30, OUT = 34, DROP = "M12 1C17 10 22 15 22 21a10 10 0 0 1-20 0C2 15 7 10 12 1Z";

/** The name of a part without a size in it, for where its thickness stands beside it. */
export const called = (part) => (part.kind === "film" ? part.name : part.name.replace(/,? \d[\d.]* ?(mm|in)$/, ""));

/** What a label says below the name. */
function size(part, us) {
  if (part.kind === "film") return part.class && part.class !== "none" ? `film, class ${part.class}` : "film";
  const inches = us && part.mm ? written(part.mm, true) : "", near = inches.includes("/") ? 25.4 * inches.split("/")[0] / parseInt(inches.split("/")[1], 10) : 0;
  return near && Math.abs(near - part.mm) < 0.02 * part.mm ? inches : part.thickness_shown || "how thick?"; // a board of 11 mm is one of 7/16 in
}

/**
 * Draw the wall into `host` and return how to draw it again.
 *
 * `view` has parts, selected (an `at`, or "gap:3" for a joint), harm (name of a layer -> words), shares, us;
 * `on` has part(at), joint(number), move(at, to), remove(at), thicker(at, mm), wet(name).
 */
export function drawing(host, view, on) {
  const lying = narrow(), parts = view.parts;
  const along = (a, b) => (lying ? { top: `${a}px`, height: `${b - a}px` } : { left: `${a}px`, width: `${b - a}px` });
  const point = (a) => (lying ? { top: `${a}px` } : { left: `${a}px` });

  const marks = numbered(parts);
  const labels = parts.map((part, i) => label(part, marks[i], view, on));
  const joints = Array.from({ length: parts.length + 1 }, (_, i) => joint(parts, i, view, on));
  const pieces = parts.map(piece);
  const body = h("div", { class: "body" }, pieces.flat().map(([node]) => node));
  const leaders = s("svg", { class: "leaders", "aria-hidden": "true" });
  const hint = h("p", { class: "hint", id: "wall-hint" }, "Arrows go along the wall. Enter changes a part, + puts one in, " +
    "Delete takes it out, Alt with an arrow moves it.");
  const list = h("div", { class: "parts", role: "group", "aria-label": "Parts from outside to inside", "aria-describedby": "wall-hint" },
    joints.flatMap((one, i) => (i < labels.length ? [one, labels[i]] : [one])));
  const stage = h("div", { class: `wall drawn ${lying ? "lying" : "upright"}` }, body, leaders, list);
  const had = host.contains(document.activeElement) ? document.activeElement.dataset.key : "";
  host.replaceChildren(side("outside", view.shares, lying), h("div", { class: "middle" }, stage, hint), side("inside", view.shares, lying));

  function place(fixed) {
    const room = stage.clientWidth, spare = lying ? 0 : Math.max(0, Math.min(OUT, stage.getBoundingClientRect().left - 8));
    const thick = labels.map((one) => (lying ? Math.max(44, one.offsetHeight + 6) : 0));
    const tall = lying ? Math.max(300, thick.reduce((a, b) => a + b, 0), JOINT * joints.length) : 0;
    const length = lying ? tall : room;
    const { placed, scale } = bodies(parts, length, fixed);
    const middles = placed.map((p) => (p.from + p.to) / 2);
    // Labels below the drawing: as wide as their words, in one row, or in two where that is too much.
    let rows = lying ? 1 : 2, wide = [];
    for (const most of lying ? [] : LABELS) {
      labels.forEach((one) => { one.style.maxWidth = `${most}px`; });
      wide = labels.map((one) => Math.min(most, one.offsetWidth) + 8);
      if (wide.reduce((a, b) => a + b, 0) <= length + 2 * spare) { rows = 1; break; }
    }
    const sizes = lying ? thick : rows === 1 ? wide : wide.map((x, i) => (i % 2 ? Math.max(12, x - 60) : x));
    const edge = (i) => (lying ? 0 : wide[i] / 2 - spare);
    const at = spread(middles, sizes, -spare, length + spare).map((x, i) => Math.min(Math.max(x, edge(i)), length - edge(i)));
    const starts = spread([0, ...placed.map((p) => p.to)], joints.map(() => Math.min(JOINT, length / joints.length)), lying ? 0 : -JOINT / 2, length + (lying ? 0 : JOINT / 2));
    labels.forEach((one, i) => Object.assign(one.style, point(at[i])));
    if (!lying) {
      const tall = (row) => Math.max(0, ...labels.filter((_, i) => i % rows === row).map((one) => one.offsetHeight));
      const first = tall(0), bottom = body.offsetTop + body.offsetHeight;
      labels.forEach((one, i) => { one.style.top = `${bottom + 26 + (i % rows ? first + 6 : 0)}px`; });
      stage.style.height = `${bottom + 26 + first + (rows > 1 ? tall(1) + 6 : 0)}px`;
    } else {
      body.style.height = `${tall}px`;
      stage.style.height = `${tall}px`;
    }
    if (parts.length) joints.forEach((one, i) => Object.assign(one.style, point(starts[i])));
    pieces.forEach((some, i) => some.forEach(([, stand]) => stand(placed[i])));
    lines(placed, middles, at, starts, rows);
    return scale;
  }

  /** Return what is drawn of a part, each with a way to stand where the part does. */
  function piece(part) {
    const chosen = view.selected === part.at ? " chosen" : "", touched = { click: () => on.part(part.at) };
    if (part.kind === "film") {
      const film = h("div", { class: `film${chosen}`, on: touched });
      return [[film, ({ from }) => Object.assign(film.style, point(from))]];
    }
    const box = h("div", { class: `lay ${part.mm === null ? "unknown" : `k-${part.hatch}`}${chosen}`, on: touched, "data-layer": part.name },
      view.harm.has(part.name) ? h("i", { class: "sign" }) : "");
    const out = [[box, ({ from, to }) => Object.assign(box.style, along(from, to))]];
    const add = (node, where) => out.push([node, (span) => Object.assign(node.style, point(where(span)))]);
    if (part.wetted) add(drop(part), ({ from, to }) => from + part.wet_at * (to - from));
    if (chosen && part.mm !== null) add(grip(part), ({ to }) => to);
    return out;
  }

  // The water: it can be drawn into another layer.
  function drop(part) {
    const shape = s("svg", { class: "water", viewBox: "0 0 24 32", "aria-hidden": "true" }, s("path", { d: DROP }));
    shape.addEventListener("pointerdown", (down) => {
      down.preventDefault();
      shape.setPointerCapture(down.pointerId);
      const home = { x: down.clientX, y: down.clientY };
      const move = (event) => { shape.style.transform = `translate(calc(-50% + ${event.clientX - home.x}px), calc(-50% + ${event.clientY - home.y}px))`; };
      const up = (event) => {
        shape.removeEventListener("pointermove", move);
        shape.style.transform = "";
        shape.style.pointerEvents = "none";
        const below = document.elementFromPoint(event.clientX, event.clientY);
        shape.style.pointerEvents = "";
        const name = below && below.closest("[data-layer]") ? below.closest("[data-layer]").dataset.layer : part.name;
        if (name !== part.name) on.wet(name);
        else on.part(part.at);
      };
      shape.addEventListener("pointermove", move);
      shape.addEventListener("pointerup", up, { once: true });
    });
    return shape;
  }

  // The inner edge of the layer that is touched: drawn, it makes the layer thicker.
  function grip(part) {
    const edge = h("div", { class: "grip", title: "Draw me to change the thickness", on: { click: (event) => event.stopPropagation() } });
    edge.addEventListener("pointerdown", (down) => {
      down.preventDefault();
      edge.setPointerCapture(down.pointerId);
      const where = (event) => (lying ? event.clientY : event.clientX);
      const scale = place(), first = part.mm, start = where(down), told = labels[parts.indexOf(part)].querySelector(".size");
      const move = (event) => {
        part.mm = snapped(Math.max(0.5, first + (where(event) - start) / scale), view.us);
        told.textContent = written(part.mm, view.us);
        place(scale);
      };
      edge.addEventListener("pointermove", move);
      edge.addEventListener("lostpointercapture", () => {
        edge.removeEventListener("pointermove", move);
        if (part.mm !== first) on.thicker(part.at, part.mm);
      }, { once: true });
    });
    return edge;
  }

  function lines(placed, middles, at, starts, rows) {
    const top = body.offsetTop, bottom = top + body.offsetHeight, left = body.offsetLeft, right = left + body.offsetWidth;
    const path = [];
    parts.forEach((part, i) => {
      const chosen = view.selected === part.at ? "chosen" : "";
      const end = lying ? `L${right + 16} ${at[i]} H${right + 22}` : `L${at[i]} ${bottom + 16} V${labels[i].offsetTop - 2}`;
      const from = lying ? `M${right} ${middles[i]} h4` : `M${middles[i]} ${bottom} v4`;
      path.push(s("path", { d: `${from} ${end}`, class: chosen }));
    });
    if (parts.length) [0, ...placed.map((p) => p.to)].forEach((x, i) => {
      const d = lying ? `M${left} ${x} h-4 L${left - 12} ${starts[i]}` : `M${x} ${top} v-4 L${starts[i]} ${top - 12}`;
      path.push(s("path", { d, class: "to-joint" }));
    });
    leaders.replaceChildren(...path);
  }

  list.addEventListener("keydown", (event) => keys(event, list, view, on));
  place();
  if (had) focusOn(had, host);
  return () => place();
}

/** Marks of the parts: layers have numbers, films letters. */
export function numbered(parts) {
  let number = 0, letter = 0;
  return parts.map((p) => (p.kind === "film" ? "abcdefghijklmnopqrstuvwxyz"[letter++ % 26] : String(++number)));
}

function label(part, mark, view, on) {
  const harm = view.harm.get(part.name), chosen = view.selected === part.at;
  return h("button", {
    type: "button", class: `part${part.kind === "film" ? " of-film" : ""}${chosen ? " chosen" : ""}${part.trouble ? " wrong" : ""}`, "data-key": part.at,
    "aria-expanded": String(chosen), tabindex: chosen || (!view.selected && part === view.parts[0]) ? "0" : "-1",
    on: { click: () => on.part(part.at) },
  },
  h("span", { class: "name" }, h("b", { class: "badge" }, mark), " ", nice(called(part))), h("span", { class: "size" }, size(part, view.us)),
  part.wetted ? unseen("; the water gets in here") : "",
  part.start_water ? h("span", { class: "also" }, `built in at ${nice(part.start_water)}`) : "",
  part.trouble ? h("span", { class: "flag" }, nice(part.trouble)) : "",
  harm ? h("span", { class: "flag" }, nice(harm)) : "");
}

function joint(parts, i, view, on) {
  const before = parts[i - 1], after = parts[i];
  const where = before && after ? `between ${before.name} and ${after.name}` : after ? `outside of ${after.name}` : before ? `inside of ${before.name}` : "";
  const chosen = view.selected === `gap:${i + 1}`;
  if (!parts.length) {
    return h("button", { type: "button", class: "opening", "data-key": "gap:1", "aria-expanded": String(chosen), on: { click: () => on.joint(1) } },
      "Put in the first part: what the weather meets");
  }
  return h("button", {
    type: "button", class: `joint${chosen ? " chosen" : ""}`, "data-key": `gap:${i + 1}`, "aria-label": `Put something in ${where}`,
    title: `Put something in ${where}`, "aria-expanded": String(chosen), tabindex: chosen ? "0" : "-1",
    on: { click: () => on.joint(i + 1) },
  }, h("span", { "aria-hidden": "true" }, "+"));
}

function keys(event, list, view, on) {
  const buttons = Array.from(list.querySelectorAll("button")), here = buttons.indexOf(event.target);
  if (here < 0) return;
  const part = view.parts.find((p) => p.at === event.target.dataset.key);
  const at = view.parts.indexOf(part) + 1;
  const way = { ArrowLeft: -1, ArrowUp: -1, ArrowRight: 1, ArrowDown: 1 }[event.key] || 0;
  if (event.altKey && way && part) {
    const to = at + way;
    if (to >= 1 && to <= view.parts.length) on.move(part.at, to);
  } else if (part && part.mm && (event.key === "[" || event.key === "]")) {
    on.thicker(part.at, next(part.mm, event.key === "]" ? 1 : -1, view.us));
  } else if (way || event.key === "Home" || event.key === "End") {
    const to = event.key === "Home" ? 0 : event.key === "End" ? buttons.length - 1 : here + way;
    if (buttons[to]) {
      buttons.forEach((one, i) => { one.tabIndex = i === to ? 0 : -1; });
      buttons[to].focus();
    }
  } else if (part && (event.key === "Delete" || event.key === "Backspace")) {
    on.remove(part.at);
  } else if (event.key === "+" || event.key === "Insert") {
    on.joint(part ? at + 1 : Number(event.target.dataset.key.slice(4)));
  } else return;
  event.preventDefault();
}

/** One side of the wall: how much of the water left by it, with an arrow as wide as its share. */
function side(where, shares, lying) {
  const outside = where === "outside", amount = shares ? (outside ? shares.outward : shares.inward) : null;
  const head = h("span", { class: "where" }, where);
  if (amount === null || amount === undefined || Number.isNaN(amount)) return h("div", { class: `side ${outside ? "o" : "i"}` }, head);
  const total = shares.outward + shares.inward, part = total <= 0 ? 0 : Math.min(Math.max(amount / total, 0), 1);
  const half = 22 * part, shaft = Math.max(half, 0.8), wing = half + 7;
  const shape = half > 0.2 ? s("path", { d: `M158 ${30 - shaft}H34V${30 - wing}L2 30L34 ${30 + wing}V${30 + shaft}H158Z`,
    transform: outside ? (lying ? "rotate(90 80 30)" : "") : lying ? "rotate(-90 80 30)" : "translate(160 0) scale(-1 1)" }) : null;
  const arrow = s("svg", { viewBox: lying ? "40 -50 80 160" : "0 0 160 60", "aria-hidden": "true" });
  if (shape) arrow.append(shape);
  return h("div", { class: `side ${outside ? "o" : "i"}${shares.stale ? " stale" : ""}` }, head, arrow,
    h("span", { class: "share" }, `${Math.round(100 * part)}\u00a0%`),
    h("span", { class: "amount" }, `left ${outside ? "outward" : "inward"}: ${shares.told(Math.max(amount, 0))}`));
}
