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
let again = () => {}, notice = null, waiting = 0;

const us = () => state.units === "us";
const partAt = (at) => state.parts.find((p) => p.at === at);
const is = (kind, what) => (open && open.kind === kind ? open[what] : "");

// --- what is drawn

function draw() {
  top(byId("top"), state, is("file", "name"), { edit, undo: () => step("undo"), redo: () => step("redo"), open: (name, pointed) => show({ kind: "file", name }, pointed), close, took, said });
  question(byId("question"), state, is("blank", "name") === "units" ? "" : is("blank", "name"), blankActs);
  drawWall();
  drawAnswer();
  cards(byId("change"), state, told, { take: (one) => act(post("/api/take", { card: one.id }), `Done: ${one.words}`) });
  pins(byId("beside"), kept, { back: (one) => act(post("/api/take", { pin: one.pin }), `Back to ${one.name}`), drop: (one) => act(post("/api/unpin", { pin: one.pin }), `${one.name} let go`).then(fetchPins) });
  document.title = `${state.title || "A wall"}: does it dry?`;
}

function drawAnswer() {
  const stale = !answer || answer.version !== state.version;
  answerHead(byId("answer"), state, answer, job, { keep });
  answerWords(byId("words"), answer, stale);
  inside(byId("look"), answer, stale);
  smallPrint(byId("print"), answer);
  // Where a slip covers the answer, it says it too.
  const now = standing(state, answer, job);
  document.querySelectorAll(".slip-answer").forEach((line) => {
    line.textContent = now.wrong || !answer ? nice(now.words) : nice(answer.headline);
    line.classList.toggle("stale", now.stale);
  });
}

const blankActs = { ask: (name, value, words) => edit({ op: "ask", at: name, value }, words).then((fine) => fine && close()), open: (name, pointed) => show({ kind: "blank", name }, pointed), close: () => close() };
const wallActs = {
  part: (at, pointed) => (is("part", "at") === at ? close() : show({ kind: "part", at }, pointed)),
  joint: (number, pointed) => (is("gap", "number") === number ? close() : show({ kind: "gap", number }, pointed)),
  move: (at, to) => edit({ op: "move", at, to }, `${partAt(at).name}, now in place ${to}`, `layer.${to}`),
  remove: (at) => { const left = Math.max(1, Math.min(Number(at.slice(6)), state.parts.length - 1)); open = null; return edit({ op: "remove", at }, `${partAt(at).name} taken out`).then(() => focusOn(`layer.${left}`) || focusOn("gap:1")); },
  thicker: (at, mm) => edit({ op: "set", at: `${at}.thickness`, value: written(mm, us()) }, `${partAt(at).name}, ${written(mm, us())}`),
  wet: (name) => edit(state.question.some((one) => one.blank === "layer") ? { op: "ask", at: "layer", value: name }
    : { op: "many", edits: [{ op: "ask", at: "amount", value: us() ? "1 pint/ft2" : "2 kg/m2" }, { op: "ask", at: "layer", value: name }] }, `The water gets into ${name}`),
};

function drawWall() {
  const host = byId("wall"), stale = !answer || answer.version !== state.version;
  const picture = h("div", { class: "picture" });
  const whole = state.parts.reduce((sum, p) => sum + (p.mm || 0), 0);
  const units = { blank: "units", words: us() ? "inches and perms" : "millimetres and kilograms", value: state.units, choices: [{ value: "metric", words: "millimetres and kilograms" }, { value: "us", words: "inches and perms" }] };
  const opened = is("blank", "name") === "units";
  const unitActs = { ...blankActs, ask: (_, value, words) => edit({ op: "set", at: "units", value }, words).then((fine) => fine && close()) };
  const foot = h("p", { class: "foot small soft" }, state.parts.length ? `${written(Math.round(10 * whole) / 10, us()).replace("/", "⁄")} in all, drawn to scale. ` : "Begin with what the weather meets. ", "Told in ", blank(units, opened, unitActs), ".");
  const spot = h("div", { class: "below" });
  if (opened) spot.append(choices(units, unitActs));
  const part = open && open.kind === "part" ? partAt(open.at) : null;
  if (part) {
    spot.append(partSlip(part, state.parts.indexOf(part) + 1, state.parts.length, us(), { edit, close, move: wallActs.move, remove: wallActs.remove, wet: wallActs.wet }));
  } else if (open && open.kind === "gap") {
    spot.append(gapSlip(open.number, state.parts, { close, insert: (number, value, name) => { open = { kind: "part", at: `layer.${number}` }; return edit({ op: "insert", at: `layer.${number}`, value }, `${name} put in`); } }));
  }
  const typed = heldText(host);
  fill(host, h("h2", { class: "unseen" }, "The wall, from outside to inside"), picture, foot, spot);
  const view = { parts: state.parts.map((p) => ({ ...p })), selected: is("part", "at") || (open && open.kind === "gap" ? `gap:${open.number}` : ""), harm: stale ? new Map() : harmOf(answer), shares: sharesOf(answer, stale), us: us() };
  const key = typed.key;
  again = drawing(picture, view, wallActs);
  if (key) focusOn(key, host);
  typed.back();
}

/** Text that is being typed outlives a new drawing. */
function heldText(host) {
  const field = document.activeElement;
  if (!field || !host.contains(field)) return { key: "", back: () => {} };
  const key = field.dataset.key, value = field.value, changed = field.tagName === "INPUT" && value !== field.defaultValue && key === "finder";
  return { key, back: () => {
    const now = document.activeElement;
    if (changed && now && now.dataset.key === key) { now.value = value; now.dispatchEvent(new Event("input")); }
  } };
}

// --- what is touched

function show(what, pointed = false) {
  open = what;
  draw();
  const aim = { part: ".thick, .finder", gap: ".finder", file: "input:not(.unseen), .choice, a" }[what.kind];
  if (what.kind === "blank" && what.name !== "units") return enterChoices(pointed);
  const box = document.querySelector(".slip");
  if (box) enter(box, pointed, aim || ".first-focus");
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
  if (next.answer && (!answer || answer.version !== next.answer)) fetchAnswer();
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

function edit(body, words, follow) {
  if (follow && open && open.kind === "part") open = { kind: "part", at: follow };
  return act(post("/api/edit", body), words).then((fine) => { if (fine && follow) focusOn(follow); return fine; });
}
function step(way) {
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
  if (!next || (answer && next.version === answer.version)) return;
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
  if (name === "state" && (!state || data.version > state.version || data.version === state.version)) get("/api/state").then(took, () => {});
  else if (name === "open" && state) get("/api/state").then(took, () => {});
  else if (name === "answer") fetchAnswer();
  else if (name === "cards" && state) {
    state.cards = data;
    if (data.state === "done") fetchCards();
    else cards(byId("change"), state, told, {});
  } else if (name === "end") said("The desk was closed. Start it again with `drydown desk`: nothing of the wall is lost.", true);
  else if (name === "job" && state && data.version === state.version) {
    const began = job.version !== data.version || job.state !== data.state;
    job = { ...data, since: began ? Date.now() : job.since, slow: began ? false : job.slow };
    if (began && data.state === "running") setTimeout(() => { if (job.state === "running" && Date.now() - job.since >= SLOW - 20) { job.slow = true; answerHead(byId("answer"), state, answer, job, { keep }); } }, SLOW);
    answerHead(byId("answer"), state, answer, job, { keep });
  }
}

// --- keys, screens, files

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
let was = { wide: window.innerWidth, lying: narrow() };
window.addEventListener("resize", () => {
  if (window.innerWidth === was.wide) return;
  const turned = narrow() !== was.lying;
  was = { wide: window.innerWidth, lying: narrow() };
  if (turned) draw();
  else again();
});
droppable({ took, said });
document.documentElement.classList.add("live");
get("/api/state").then((first) => { took(first); listen(heard); }, (failure) => said(failure.message, true));
