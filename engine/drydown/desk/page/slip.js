// A slip of paper: what opens where one touches. One is open at a time; Escape puts it away.
import { h, narrow } from "./dom.js";

/** Return a slip with a head, what is in it, and a way to put it away. */
export function slip(name, head, close, ...children) {
  const box = h("div", { class: "slip", role: "group", "aria-labelledby": `${name}-head`, id: name, tabindex: "-1" },
    h("div", { class: "slip-head" }, h("h2", { id: `${name}-head` }, head),
      h("button", { type: "button", class: "away", "data-key": `${name}-away`, on: { click: close } }, "Done")),
    h("p", { class: "slip-answer" }), ...children);
  box.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    event.stopPropagation();
    close();
  });
  return box;
}

/** Put a slip below what was touched, within the page; on a narrow screen the sheet stands at its foot. */
export function below(box, anchor, host) {
  if (narrow()) return;
  const a = anchor.getBoundingClientRect(), b = host.getBoundingClientRect();
  const left = Math.max(0, Math.min(a.left - b.left, b.width - box.offsetWidth));
  box.style.left = `${left}px`;
  box.style.top = `${a.bottom - b.top + 8}px`;
}

let byTouch = false;
document.addEventListener("pointerdown", (event) => { byTouch = event.pointerType === "touch"; }, true);
document.addEventListener("keydown", () => { byTouch = false; }, true);

/** Take the focus into a slip: to what takes text, or to the slip itself where a finger would call up a keyboard. */
export function enter(box, wanted) {
  const aim = byTouch ? box : (wanted && box.querySelector(wanted)) || box;
  aim.focus({ preventScroll: true });
  if (narrow()) return uncover();
  // What was touched stays in sight: the page moves no further than its top.
  const under = box.getBoundingClientRect().bottom + 12 - window.innerHeight;
  const holder = box.closest("section, header"), above = holder ? holder.getBoundingClientRect().top - 6 : under;
  if (under > 0 && above > 0) window.scrollBy({ top: Math.min(under, above), behavior: "instant" });
}

/** Let what is chosen stand in the drawing above the sheet at the foot of a narrow screen. */
function uncover() {
  const chosen = document.querySelector(".body .chosen, .joint.chosen");
  if (!chosen) return;
  const box = chosen.getBoundingClientRect(), tall = window.innerHeight;
  window.scrollBy({ top: box.bottom - Math.min(0.12 * tall + box.height, 0.36 * tall), behavior: "instant" });
}
