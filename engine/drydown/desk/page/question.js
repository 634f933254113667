// The question: a sentence with blanks. Each blank reads as words and opens what else it may say.
import { attach } from "./api.js";
import { byId, button, capital, fill, h, nice } from "./dom.js";
import { below, enter, slip } from "./slip.js";

const NAMED = {
  amount: "How much water", layer: "Into which layer", month: "In which month", yearly: "How often", part: "What it is", orientation: "Where it faces",
  place: "Where it stands", indoor: "The air inside", leak: "Air that leaks through", damp: "What is built in damp", units: "Units",
};
const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);
const SPOTS = { north: 0, "north-east": 1, east: 2, "south-east": 3, south: 4, "south-west": 5, west: 6, "north-west": 7 };

/** Draw the sentence; `on` has ask(blank, value, words), open(blank) and close(), `opened` is the blank that is open. */
export function question(host, state, opened, on) {
  const blanks = Object.fromEntries(state.question.map((one) => [one.blank, one]));
  // A blank keeps the comma behind it.
  const gap = (name, sign = "") => (blanks[name] ? h("span", { class: "with" }, blank(blanks[name], opened === name, on), sign) : "");
  const get = blanks.amount.words.startsWith("1 ") ? " gets into " : " get into ";
  const water = blanks.layer ? ["If ", gap("amount"), get, gap("layer"), " in ", gap("month", ","), " ", gap("yearly", ","), " does this "]
    : ["If ", gap("amount"), " gets in, does this "];
  const sentence = h("p", { class: "sentence" }, water, gap("orientation"), blanks.orientation ? " " : "", gap("part"), " in ", gap("place"),
    blanks.layer ? " dry?" : " stay sound?");
  const about = h("p", { class: "sentence small" }, "Inside is ", gap("indoor", ","), " there is ", gap("leak", ","), " and ", gap("damp", "."));
  const wrong = state.question.filter((one) => one.trouble).map((one) => h("p", { class: "flag" }, nice(one.trouble)));
  fill(host, sentence, about, wrong);
  if (opened && blanks[opened]) {
    const box = choices(blanks[opened], on);
    host.append(box);
    below(box, host.querySelector(`[data-key="blank-${opened}"]`), host);
  }
}

export function blank(one, open, on) {
  return h("button", {
    type: "button", class: `blank${one.trouble ? " wrong" : ""}`, "data-key": `blank-${one.blank}`, "aria-haspopup": "dialog", "aria-expanded": String(open),
    "aria-label": `${NAMED[one.blank] || one.blank}: ${nice(one.words)}`, on: { click: () => (open ? on.close() : on.open(one.blank)) },
  }, nice(one.words));
}

/** The slip of a blank: what else it may say, a field for words of one's own, files where they help. */
export function choices(one, on) {
  const lines = one.choices.map((choice) => h("button", {
    type: "button", role: "radio", "aria-checked": String(same(choice.value, one.value)), class: "choice", tabindex: "-1",
    "data-key": `choice-${typeof choice.value === "object" ? choice.words : choice.value}`, on: { click: () => on.ask(one.blank, choice.value, choice.words) },
  }, nice(choice.words)));
  const chosen = lines.find((line) => line.getAttribute("aria-checked") === "true") || lines[0];
  if (chosen) { chosen.tabIndex = 0; chosen.classList.add("first-focus"); }
  const list = h("div", { class: `choices c-${one.blank}${one.choices.length > 8 ? " many" : ""}`, role: "radiogroup", "aria-label": NAMED[one.blank] || one.blank }, lines);
  if (one.blank === "orientation") {
    list.classList.add("rose");
    one.choices.forEach((choice, i) => { if (choice.value in SPOTS) lines[i].classList.add(`spot-${SPOTS[choice.value]}`); });
  }
  list.addEventListener("keydown", (event) => {
    const way = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 }[event.key], here = lines.indexOf(document.activeElement);
    if (!way || here < 0) return;
    event.preventDefault();
    lines[here].tabIndex = -1;
    const to = lines[(here + way + lines.length) % lines.length];
    to.tabIndex = 0;
    to.focus();
  });
  const box = slip(`slip-${one.blank}`, NAMED[one.blank] || capital(one.blank), on.close, list, one.free ? free(one, on) : "", one.attach ? own(one, on) : "");
  box.classList.add("small-slip");
  return box;
}

function free(one, on) {
  const field = h("input", { type: "text", autocomplete: "off", "data-key": `free-${one.blank}`, value: typeof one.value === "object" || one.choices.some((c) => same(c.value, one.value)) ? "" : String(one.value ?? "") });
  const say = (event) => {
    event.preventDefault();
    if (field.value.trim()) on.ask(one.blank, field.value.trim(), field.value.trim());
  };
  return h("form", { class: "free", on: { submit: say } }, h("label", { class: "field" }, h("span", {}, "or"), field), h("button", { type: "submit" }, "Take it"),
    one.hint ? h("p", { class: "small soft" }, nice(one.hint)) : "");
}

function own(one, on) {
  const said = h("p", { class: "small soft", role: "status" }, "Your own hourly weather: a file of .epw, .csv or .nc. It stays on this machine.");
  const file = h("input", { type: "file", accept: ".epw,.csv,.nc", class: "unseen", "aria-label": "Your own weather file", on: { change: async () => {
    if (!file.files.length) return;
    said.textContent = `Reading ${file.files[0].name} …`;
    try {
      const { name } = await attach(file.files[0]);
      on.ask(one.blank, name, name);
    } catch (failure) { said.textContent = failure.message; }
  } } });
  return h("div", { class: "own" }, file, button("Your own weather …", () => file.click(), { "data-key": "own-weather" }), said);
}

/** Go into the slip of a blank. */
export function enterChoices() {
  const box = byId("question").querySelector(".slip");
  if (box) enter(box, ".first-focus");
}
