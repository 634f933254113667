// The map of humidity by depth and time, with its cursor: the one of the page of a result, built here from plain elements.
import { fill, h, nice, s } from "./dom.js";
import { explorer } from "./explorer.js";
import { numbered } from "./wall.js";
import { spread } from "./places.js";

let running = null, shown = null;

/** Build the map of an answer into `host`; where the run is as long as before, the cursor stays. */
export function inside(host, answer, stale) {
  host.classList.toggle("stale", stale);
  if (answer === shown) return;
  const held = running && shown && shown.map && answer && answer.map && shown.map.n === answer.map.n && shown.map.start === answer.map.start ? running.at() : null;
  if (running) running.close();
  running = null;
  shown = answer;
  if (!answer || !answer.map) return fill(host);
  const data = { ...answer.map, units: answer.map_units };
  const layers = (answer.parts || []).filter((p) => p.kind !== "film");
  const marks = numbered(layers);
  const columns = ["it is", "temperature", "humidity", "at its wettest", "water", ...data.criteria.map((c) => c.title)];
  const rows = data.layers.map((layer, i) => h("tr", {}, h("th", { scope: "row" }, h("span", { class: "badge" }, marks[i] || layer.mark), " ", nice(layer.name)),
    columns.map((head, k) => (k ? h("td", { "data-label": head, class: head === "water" ? "wide" : null }, h("span", {}, "–")) : h("td", {}, h("b", {}, "–"))))));
  const jumps = data.events.filter((e) => e.at >= 0 && e.at < data.n).map((e) => h("button", { type: "button", "data-jump": String(e.at) }, nice(e.words)));
  fill(host, h("h2", {}, "Look inside, day by day"),
    h("div", { class: "stage" }, strip(data, layers, marks), h("div", { class: "field-of" },
      h("div", { class: "above" }, h("output", { id: "date", for: "time", "aria-live": "off" })),
      h("div", { class: "plate" }, h("canvas", { id: "map", role: "img", "aria-label": answer.map_words || "Relative humidity by depth and time" }), h("div", { id: "cursor" })),
      h("div", { class: "axis", "aria-hidden": "true" }, answer.axis.map((mark) => h("span", { class: mark.minor ? "minor" : null, place: { left: `${100 * mark.at}%` } }, mark.words))),
      h("input", { id: "time", type: "range", min: "0", max: String(data.n - 1), step: "1", value: "0", "aria-label": "Time in the run; arrow keys move it" }),
      h("div", { class: "controls" }, h("button", { id: "play", type: "button", "aria-pressed": "false" }, "Play"), jumps))),
    legend(data),
    h("div", { class: "readout" },
      h("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Layers at the cursor" }, h("table", { class: "cards", id: "layers", role: "table" }, h("caption", {}, "At the cursor"),
        h("thead", {}, h("tr", {}, h("th", { scope: "col" }, "layer"), columns.map((head) => h("th", { scope: "col" }, head)))), h("tbody", {}, rows))),
      h("div", {}, h("h3", {}, "Moisture through each side"), h("ul", { id: "ways" }, data.ways.map((way) => h("li", {}, h("span", {}, nice(way.name)), h("b", {}, "–"), " ", h("i")))),
        h("p", { class: "small soft" }, "Mean of the week before. The arrows beside the map are as wide as what passes; hollow ones point into the layers."))),
    h("p", { class: "small soft" }, "“Dry” is below 80\u00a0% relative humidity where the layer is wettest, “damp” from 80\u00a0%, where mould can begin to grow, “wet” from 95\u00a0%, where pores begin to hold free water. The words are ours."));
  running = explorer(data, host);
  if (held !== null) running.show(held);
}

function legend(data) {
  const ramp = h("span", { class: "ramp" }), stops = [];
  for (let i = 0; i < 256; i += 15) stops.push(`#${data.colours.slice(6 * i, 6 * i + 6)}`);
  ramp.style.background = `linear-gradient(90deg,${stops.join(",")})`;
  return h("div", { class: "legend" }, h("span", {}, `dry ${data.low.toFixed(0)}\u00a0%`), ramp, h("span", {}, `${data.high.toFixed(0)}\u00a0% wet`),
    h("span", {}, "Relative humidity in the pores; each line of the map is a depth, each column a time."));
}

function strip(data, layers, marks) {
  const edges = data.edges, whole = edges[edges.length - 1];
  const cells = s("svg", { id: "cells", viewBox: `0 0 1 ${whole}`, preserveAspectRatio: "none", "shape-rendering": "crispEdges" });
  for (let i = 0; i + 1 < edges.length; i++) {
    cells.append(s("rect", { x: "0", y: edges[i], width: "1", height: edges[i + 1] - edges[i] + 0.0002 * whole, fill: "#ccc" }));
  }
  const spans = data.layers.map((layer) => [edges[layer.cells[0]], edges[layer.cells[1]]]);
  const boxes = spans.map(([a, b], i) => h("div", { class: `k-${layers[i] ? layers[i].hatch : "other"}`, place: { flex: `${b - a} 1 0` } }));
  const at = spread(spans.map(([a, b]) => 50 * (a + b) / whole), data.layers.map((layer) => (layer.name.length > 20 ? 10 : 6.4)), 0, 100);
  const names = data.layers.map((layer, i) => h("span", { place: { top: `${at[i]}%` } }, h("span", { class: "of" }, nice(layer.name)), h("b", { class: "badge" }, marks[i] || layer.mark)));
  return [h("div", { class: "names", "aria-hidden": "true" }, names),
    h("div", { class: "strip", "aria-hidden": "true" }, zone(data, "top"), h("div", { class: "layers" }, cells, boxes), zone(data, "bottom"))];
}

/** The zone of arrows above or below the strip; loads go with the side they lead to. */
function zone(data, where) {
  const here = data.ways.map((way, i) => [way, i]).filter(([way]) => way.where === where || (way.where === "gap" && way.outward === (where === "top")));
  return s("svg", { class: "zone", viewBox: "0 0 90 62" },
    s("text", { x: "45", y: where === "top" ? "9" : "62", "font-size": "10", "letter-spacing": "1", "text-anchor": "middle" }, where === "top" ? "OUTSIDE" : "INSIDE"),
    here.map(([, i], k) => s("g", { transform: `translate(${90 * (k + 1) / (here.length + 1)} ${where === "top" ? 14 : 4})`, "data-way": i, "data-where": where }, s("path"))));
}
