// The desk: holds what the server told, draws it, and sends what is touched.
import { answerHead, answerWords, harmOf, sharesOf, smallPrint, standing } from "./answer.js";
import { get, listen, post } from "./api.js";
import { cards, pins } from "./beside.js";
import { announce, byId, fill, focusOn, h, narrow, nice } from "./dom.js";
import { droppable, top } from "./files.js";
import { inside } from "./inside.js";
import { gapSlip, partSlip } from "./part.js";
import { blank, choices, enterChoices, question } from "./question.js";
import { enter } from "./slip.js";
import { written } from "./sizes.js";
import { drawing } from "./wall.js";

const SLOW = 1000; // progress is shown of what takes longer [ms]
let state = null, answer = null, told = null, kept = null;
let job = { state: "idle", fraction: 0, words: "", since: 0, slow: false };
/** What is open: {kind: "part", at} | {kind: "gap", number} | {kind: "blank", name} | {kind: "file", name}; null: nothing. */
let open = null;
let again = () => {}, notice = null, waiting = 0, lost = 0, begun = 0;

const us = () => state.units === "us";
const partAt = (at) => state.parts.find((p) => p.at === at);
const is = (kind, what) => (open && open.kind === kind ? open[what] : "");

// --- what is drawn

const drawn = {};
let pressed = false;
/** Draw what has changed, and nothing while a finger is down: what is pressed must not be exchanged for its like. */
function anew(name, of, act) {
  const key = JSON.stringify(of);
  if (pressed || drawn[name] === key) return;
  drawn[name] = key;
  act();
}

function draw() {
  if (!state) return; // the page is turned, or a key pressed, before the server has told anything
  if (!state.parts.length) { // a new wall: what was before has nothing to say of it
    answer = told = null;
    begun = state.version;
  }
  const file = is("file", "name"), asked = is("blank", "name");
  anew("top", [state.title, state.file, state.undo, state.redo, state.undo_words, state.redo_words, file], () => top(byId("top"), state, file,
    { edit, undo: () => step("undo"), redo: () => step("redo"), open: (name) => show({ kind: "file", name }), close, done: () => is("file", "name") && close(), took, said }));
  anew("question", [state.question, asked], () => question(byId("question"), state, asked === "units" ? "" : asked, blankActs));
  drawWall();
  drawAnswer();
  drawCards();
  anew("beside", kept, () => pins(byId("beside"), kept, {
    back: (one) => act(post("/api/take", { pin: one.pin }), `Back to ${one.name}`),
    drop: (one) => act(post("/api/unpin", { pin: one.pin }), `${one.name} let go`).then(fetchPins),
  }));
  document.title = `${state.title || "A wall"}: does it dry?`;
  if (!pressed) document.documentElement.dataset.version = state.version; // what is seen
}

function drawCards() {
  anew("cards", [state.cards, state.version, told], () => cards(byId("change"), state, told, { take: (one) => act(post("/api/take", { card: one.id }), `Done: ${one.words}`) }));
}

function drawHead() {
  const now = standing(state, answer, job);
  anew("head", [answer ? answer.version : 0, now, state.pins, state.parts.length === 0], () => answerHead(byId("answer"), state, answer, now, { keep }));
}

function drawAnswer() {
  const stale = !answer || answer.version !== state.version;
  const version = answer ? answer.version : 0;
  drawHead();
  anew("words", [version, stale], () => answerWords(byId("words"), answer, stale));
  anew("look", [version, stale], () => inside(byId("look"), answer, stale));
  anew("print", version, () => smallPrint(byId("print"), answer));
  // Where a slip covers the answer, it says it too.
  const now = standing(state, answer, job);
  document.querySelectorAll(".slip-answer").forEach((line) => {
    line.textContent = now.wrong || !answer ? nice(now.words) : nice(answer.headline);
    line.classList.toggle("stale", now.stale);
  });
}

/** Make a change and put away what it was made in, unless something else was opened meanwhile. */
async function editAndClose(body, words) {
  const here = open;
  if ((await edit(body, words)) && open === here) close();
}
const blankActs = { ask: (name, value, words) => editAndClose({ op: "ask", at: name, value }, words), open: (name) => show({ kind: "blank", name }), close: () => close() };
const wallActs = {
  part: (at) => (is("part", "at") === at ? close() : show({ kind: "part", at })),
  joint: (number) => (is("gap", "number") === number ? close() : show({ kind: "gap", number })),
  move: (at, to) => {
    if (open) open = is("part", "at") === at ? { kind: "part", at: `layer.${to}` } : null;
    return edit({ op: "move", at, to }, `${partAt(at).name}, now in place ${to}`, `layer.${to}`);
  },
  remove: (at) => {
    open = null;
    return edit({ op: "remove", at }, `${partAt(at).name} taken out`, `layer.${Math.max(1, Math.min(Number(at.slice(6)), state.parts.length - 1))}`);
  },
  thicker: (at, mm) => edit({ op: "set", at: `${at}.thickness`, value: written(mm, us()) }, `${partAt(at).name}, ${written(mm, us())}`),
  wet: (name) => edit({ op: "ask", at: "layer", value: name }, `The water gets into ${name}`),
};

const UNITS = [{ value: "metric", words: "millimetres and kilograms" }, { value: "us", words: "inches and perms" }];
const unitActs = { ...blankActs, ask: (_, value, words) => editAndClose({ op: "set", at: "units", value }, words) };

function drawWall() {
  const stale = !answer || answer.version !== state.version, opened = is("blank", "name") === "units";
  const selected = is("part", "at") || (open && open.kind === "gap" ? `gap:${open.number}` : "");
  const view = { parts: state.parts.map((p) => ({ ...p })), selected, harm: stale ? new Map() : harmOf(answer), shares: sharesOf(answer, stale), us: us() };
  const whole = state.parts.reduce((sum, p) => sum + (p.mm || 0), 0);
  const units = { blank: "units", words: UNITS[us() ? 1 : 0].words, value: us() ? "us" : "metric", choices: UNITS };
  anew("picture", [state.parts, selected, us(), stale, answer ? answer.version : 0, narrow()], () => { again = drawing(byId("picture"), view, wallActs); });
  anew("foot", [whole, us(), opened], () => fill(byId("foot"), whole ? `${written(Math.round(10 * whole) / 10, us())} in all, drawn to scale. ` : "", "Told in ", blank(units, opened, unitActs), "."));
  anew("slip", [open, selected ? [state.parts, state.case.ventilated_gap] : opened, us()], () => {
    const spot = byId("below"), slipped = spot.querySelector(".slip"), scrolled = slipped ? slipped.scrollTop : 0;
    fill(spot, opened ? choices(units, unitActs) : slipOfWall());
    if (slipped && spot.firstChild && slipped.id === spot.firstChild.id) spot.firstChild.scrollTop = scrolled;
  });
}

function slipOfWall() {
  if (!open) return "";
  const part = open.kind === "part" ? partAt(open.at) : null;
  if (part) {
    return partSlip(part, state.parts.indexOf(part) + 1, state.parts.length, us(),
      { ...wallActs, edit, close, gaps: () => state.case.ventilated_gap || [], next: (number) => show({ kind: "gap", number }) });
  }
  if (open.kind !== "gap") return "";
  return gapSlip(open.number, state.parts, { close, insert: async (number, value, name) => {
    if (!(await edit({ op: "insert", at: `layer.${number}`, value }, `${name} put in`))) return;
    show({ kind: "part", at: `layer.${number}` });
  } });
}

// --- what is touched

function show(what) {
  open = what;
  draw();
  const aim = { part: ".thick, .finder", gap: ".finder", file: "input:not(.unseen), .choice, a" }[what.kind];
  if (what.kind === "blank" && what.name !== "units") return enterChoices();
  const box = document.querySelector(".slip");
  if (box) enter(box, aim || ".first-focus");
}

function close() {
  const was = open;
  open = null;
  draw();
  if (was) focusOn({ part: was.at, gap: `gap:${was.number}`, blank: `blank-${was.name}`, file: `tool-${was.name}` }[was.kind]);
}

/** Take a state that the server told, unless a newer one is here. */
function took(next) {
  if (state && next.version < state.version) return;
  const newer = !state || next.version !== state.version;
  state = next;
  if (newer && next.job) heard("job", { ...next.job, version: next.version });
  if (open && open.kind === "part" && !partAt(open.at)) open = null;
  draw();
  if (next.answer > begun && (!answer || answer.version !== next.answer)) fetchAnswer();
  if (next.cards && next.cards.state !== "none" && (!told || told.version !== next.version)) fetchCards();
  if (next.pins !== (kept ? kept.pins.length : 0)) fetchPins();
  if (next.file && next.file.notice && notice !== next.file.notice) { notice = next.file.notice; said(notice); }
}

async function act(asked, words) {
  try {
    took(await asked);
    if (words) announce(`${nice(words)}.`);
    return true;
  } catch (failure) {
    said(failure.message, true);
    return false;
  }
}

/** Change the wall; where what had the focus is gone, it goes to what `follow` names. */
async function edit(body, words, follow = "") {
  const fine = await act(post("/api/edit", body), words);
  if (fine && follow && (document.activeElement === document.body || document.activeElement.closest(".parts"))) focusOn(follow) || focusOn("gap:1");
  return fine;
}
function step(way) {
  if (!state) return false;
  const words = state[`${way}_words`];
  return act(post(`/api/${way}`), `${way === "undo" ? "Undone" : "Done again"}: ${words}`);
}
const keep = () => act(post("/api/pin", {}), "Kept to compare").then(fetchPins);

/** Show one line for a while; what went wrong stays until it is put away. */
function said(text, wrong = false) {
  announce(text);
  clearTimeout(waiting);
  let note = byId("note");
  if (!note) document.body.append(note = h("div", { id: "note" }));
  fill(note, h("p", { class: wrong ? "flag" : "" }, nice(text)), h("button", { type: "button", class: "away", on: { click: () => note.remove() } }, "Well"));
  waiting = setTimeout(() => note.remove(), wrong ? 15000 : 5000);
}

// --- what the server tells

async function fetchAnswer() {
  const next = await get("/api/answer").catch(() => null);
  if (!next || next.version < begun || (answer && next.version === answer.version)) return;
  answer = next;
  if (state && next.version === state.version) announce(`${nice(next.headline)} ${(next.lead || []).map(nice).join(" ")}`);
  drawWall();
  drawAnswer();
}
async function fetchCards() {
  told = await get("/api/cards").catch(() => null);
  draw();
}
async function fetchPins() {
  kept = await get("/api/pins").catch(() => null);
  draw();
}

function heard(name, data) {
  if (name === "open") clearTimeout(lost);
  if (name === "lost") lost = setTimeout(() => said("The desk does not answer. Start it again with `drydown desk`: nothing of the wall is lost.", true), 4000);
  else if (name === "state" || name === "open") get("/api/state").then(took, () => {});
  else if (name === "answer") fetchAnswer();
  else if (name === "cards" && state) {
    state.cards = data;
    if (data.state === "done") fetchCards();
    else drawCards();
  } else if (name === "end") said("The desk was closed. Start it again with `drydown desk`: nothing of the wall is lost.", true);
  else if (name === "job" && state && data.version === state.version) {
    const began = job.version !== data.version || job.state !== data.state;
    job = { ...data, since: began ? Date.now() : job.since, slow: began ? false : job.slow };
    if (began && data.state === "running") setTimeout(() => { if (job.state === "running" && Date.now() - job.since >= SLOW - 20) { job.slow = true; drawHead(); } }, SLOW);
    drawHead();
  }
}

// --- keys, screens, files

document.addEventListener("pointerdown", () => { pressed = true; }, true);
document.addEventListener("click", () => { pressed = false; }, true);
for (const name of ["pointerup", "pointercancel"]) {
  document.addEventListener(name, () => setTimeout(() => { pressed = false; draw(); }, 60), true); // a click comes after it
}

document.addEventListener("keydown", (event) => {
  const key = event.key.toLowerCase();
  if (!(event.ctrlKey || event.metaKey) || (key !== "z" && key !== "y")) {
    if (event.key === "Escape" && open) close();
    return;
  }
  const field = event.target;
  if (field.tagName === "INPUT" && field.type === "text" && field.value !== field.defaultValue) return; // what is being typed is undone by the browser
  event.preventDefault();
  step(key === "y" || event.shiftKey ? "redo" : "undo");
});
document.addEventListener("pointerdown", (event) => {
  if (!open || open.kind === "part" || open.kind === "gap" || event.target.closest(".slip, [aria-expanded=true]")) return;
  open = null;
  draw();
});
let was = { wide: window.innerWidth, high: window.innerHeight, lying: narrow() };
window.addEventListener("resize", () => {
  // lying, the height changes with the bar of the browser and the wall does not; upright, the wall is a share of it
  if (window.innerWidth === was.wide && (window.innerHeight === was.high || narrow())) return;
  const turned = narrow() !== was.lying;
  was = { wide: window.innerWidth, high: window.innerHeight, lying: narrow() };
  if (turned) draw();
  else again();
});
window.addEventListener("pageshow", (event) => { if (event.persisted) window.location.reload(); });
droppable({ took, said });
document.documentElement.classList.add("live");
get("/api/state").then((first) => { took(first); listen(heard); }, (failure) => said(failure.message, true));
