// Thicknesses as a builder steps through them: round millimetres, or sixteenths of an inch.

const INCH = 25.4;
const near = (x, step) => Math.round(x / step) * step;
const short = (x) => String(Number(x.toFixed(4)));

/** Return the step that suits a thickness [mm], in its unit: mm, or inches. */
export function step(mm, us) {
  if (us) return mm < INCH ? 1 / 16 : mm < 4 * INCH ? 1 / 8 : 1 / 2;
  return mm < 5 ? 0.5 : mm < 30 ? 1 : mm < 100 ? 5 : 10;
}
/** Return a thickness [mm] as one writes it: '11 mm', '7/16 in', '5.5 in'. */
export function written(mm, us) {
  if (!us) return `${short(mm)} mm`;
  let top = Math.round(16 * mm / INCH), bottom = 16;
  if (top < 1 || top >= 16) return `${short(mm / INCH)} in`;
  while (top % 2 === 0) { top /= 2; bottom /= 2; }
  return `${top}/${bottom} in`;
}
/** Return the next thickness [mm] up (way 1) or down (way -1) on the steps. */
export function next(mm, way, us) {
  const unit = us ? INCH : 1;
  const by = step(way < 0 ? mm * 0.999 : mm, us), least = us ? 1 / 16 : 0.5;
  const at = mm / unit, on = near(at, by);
  const moved = Math.abs(on - at) < 1e-6 ? on + way * by : way > 0 ? Math.ceil(at / by) * by : Math.floor(at / by) * by;
  return Math.max(least, moved) * unit;
}
/** Return a thickness [mm] on the nearest step, for what is dragged. */
export function snapped(mm, us) {
  const unit = us ? INCH : 1;
  const by = step(mm, us);
  return Math.max(us ? 1 / 16 : 0.5, near(mm / unit, by)) * unit;
}
