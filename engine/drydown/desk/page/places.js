// Where things stand in the drawing: layers to scale along one axis, labels beside them without overlap.

/** Smallest drawn thickness [px] of a layer, and that of one whose thickness is not known. */
const LEAST = 4, UNKNOWN = 26;

/** Return positions as near as may be to `at` (rising), `sizes[i]` apart, within `low` and `high`. */
export function spread(at, sizes, low, high) {
  if (!at.length) return [];
  const shift = [0];
  for (let i = 1; i < at.length; i++) shift.push(shift[i - 1] + (sizes[i - 1] + sizes[i]) / 2);
  // Least squares under an order: pools of neighbours that share one place.
  const pools = [];
  at.forEach((x, i) => {
    pools.push({ sum: x - shift[i], count: 1 });
    while (pools.length > 1) {
      const [a, b] = pools.slice(-2);
      if (a.sum / a.count <= b.sum / b.count) break;
      pools.splice(-2, 2, { sum: a.sum + b.sum, count: a.count + b.count });
    }
  });
  const first = low + sizes[0] / 2, last = high - sizes[sizes.length - 1] / 2 - shift[shift.length - 1];
  const squeeze = last < first && shift.length > 1 ? (high - low - (sizes[0] + sizes[sizes.length - 1]) / 2) / shift[shift.length - 1] : 1;
  const out = pools.flatMap((p) => Array(p.count).fill(p.sum / p.count));
  return out.map((x, i) => (squeeze < 1 ? first + squeeze * shift[i] : Math.min(Math.max(x, first), last) + shift[i]));
}

/** Return from where to where every part reaches [px], and the scale [px/mm]; a film has no width. */
export function bodies(parts, length, fixed) {
  const layers = parts.filter((p) => p.kind !== "film");
  const small = new Set(layers.filter((p) => p.mm === null));
  let scale = fixed || 0;
  for (let round = 0; !fixed && round <= layers.length; round++) {
    const rest = layers.filter((p) => !small.has(p));
    const taken = layers.reduce((sum, p) => sum + (!small.has(p) ? 0 : p.mm === null ? UNKNOWN : LEAST), 0);
    scale = (length - taken) / Math.max(1e-9, rest.reduce((sum, p) => sum + p.mm, 0));
    const more = rest.filter((p) => p.mm * scale < LEAST);
    if (!more.length) break;
    more.forEach((p) => small.add(p));
  }
  let at = 0;
  const placed = parts.map((p) => {
    const from = at;
    if (p.kind !== "film") at += p.mm === null ? UNKNOWN : Math.max(LEAST, p.mm * scale);
    return { from, to: at };
  });
  return { placed, scale, whole: at };
}
