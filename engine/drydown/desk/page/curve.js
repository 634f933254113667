// The permeance of a film against humidity, drawn.
import { h, nice, s } from "./dom.js";

const WIDE = 340, TALL = 170, LEFT = 46, FOOT = 34, HEAD = 14, RIGHT = 14;

/** Return powers of ten and their halves that fit between two values. */
function ticks(low, high) {
  const out = [];
  for (let e = Math.floor(Math.log10(low)); e <= Math.ceil(Math.log10(high)); e++) {
    for (const m of high / low > 40 ? [1] : [1, 3]) {
      const value = m * 10 ** e;
      if (value >= low * 0.999 && value <= high * 1.001) out.push(value);
    }
  }
  return out;
}
const few = (x) => (x >= 100 ? x.toFixed(0) : Number(x.toPrecision(2)).toString());

/** Return the curve as a figure; permeance on a scale of powers, for tight when dry and open when damp is the point. */
export function curveOf(curve, name) {
  const all = [...curve.permeance, ...(curve.outward || [])].filter((x) => x > 0);
  if (!all.length) return "";
  let low = Math.min(...all), high = Math.max(...all);
  if (high / low < 10) { const middle = Math.sqrt(low * high); low = middle / 4; high = middle * 4; }
  low = 10 ** (Math.floor(2 * Math.log10(low)) / 2);
  high = 10 ** (Math.ceil(2 * Math.log10(high)) / 2);
  const x = (humidity) => LEFT + (WIDE - LEFT - RIGHT) * humidity / 100;
  const y = (value) => HEAD + (TALL - HEAD - FOOT) * (Math.log10(high) - Math.log10(Math.max(value, low))) / (Math.log10(high) - Math.log10(low));
  const line = (values) => values.map((v, i) => `${i ? "L" : "M"}${x(curve.humidity[i]).toFixed(1)} ${y(v).toFixed(1)}`).join("");
  const drawn = s("svg", { viewBox: `0 0 ${WIDE} ${TALL}`, class: "curve", role: "img", "aria-label": inWords(curve, name) });
  for (const value of ticks(low, high)) {
    drawn.append(s("path", { d: `M${LEFT} ${y(value)}H${WIDE - RIGHT}`, class: "rule" }),
      s("text", { x: LEFT - 6, y: y(value) + 4, "text-anchor": "end" }, few(value)));
  }
  for (const humidity of [0, 25, 50, 75, 100]) {
    drawn.append(s("text", { x: x(humidity), y: TALL - FOOT + 16, "text-anchor": humidity === 100 ? "end" : "middle" }, `${humidity}\u00a0%`));
  }
  drawn.append(s("path", { d: line(curve.permeance), class: "line" }));
  if (curve.outward) drawn.append(s("path", { d: line(curve.outward), class: "line other" }));
  const foot = curve.outward ? "Full line: for vapour on its way in; broken: on its way out." : "";
  return h("figure", { class: "permeance" }, drawn,
    h("figcaption", {}, nice(`Permeance [${curve.unit}] by the mean humidity at it. ${foot}`)));
}

function inWords(curve, name) {
  const at = (humidity) => few(curve.permeance[curve.humidity.findIndex((h0) => h0 >= humidity)] || 0);
  return `Permeance of ${name}: ${at(25)} at 25 %, ${at(50)} at 50 %, ${at(75)} at 75 %, ${at(95)} at 95 % relative humidity, in ${curve.unit}`;
}
