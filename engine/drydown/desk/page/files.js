// The line at the top: what the wall is called, undo and redo, and files: open, save, hand over.
import { attach, get, post } from "./api.js";
import { button, fill, h, nice, sent } from "./dom.js";
import { slip } from "./slip.js";

const STARTS = [["wall", "a timber wall"], ["roof", "a roof"], ["slab", "a slab on the ground"], ["masonry", "a brick wall, insulated inside"], ["empty", "nothing"]];

/** Draw the line; `on` has edit, undo, redo, open(name), close, took(state), said(text). */
export function top(host, state, opened, on) {
  const title = h("input", { type: "text", class: "title", "aria-label": "What the wall is called", value: state.title || "", maxlength: "120", "data-key": "title", spellcheck: "false",
    on: { change: () => sent(title) || on.edit({ op: "set", at: "title", value: title.value.trim() || "A wall" }, `called ${title.value.trim()}`), keydown: (event) => { if (event.key === "Enter") title.blur(); } } });
  const tool = (name, words) => button(words, () => (opened === name ? on.close() : on.open(name)), { class: "plain", "data-key": `tool-${name}`, "aria-expanded": String(opened === name) });
  const kept = state.file && state.file.name ? `${state.file.name}${state.file.saved ? "" : ", not yet saved"}` : "";
  fill(host, h("div", { class: "over desk-over" },
    h("span", { class: "titled" }, title, kept ? h("span", { class: "small soft" }, kept) : ""),
    h("nav", { "aria-label": "The desk" },
      button("Undo", on.undo, { class: "plain", disabled: !state.undo, "data-key": "undo", title: state.undo_words ? `Undo: ${nice(state.undo_words)} (Ctrl+Z)` : "Ctrl+Z", "aria-keyshortcuts": "Control+Z" }),
      button("Redo", on.redo, { class: "plain", disabled: !state.redo, "data-key": "redo", title: state.redo_words ? `Redo: ${nice(state.redo_words)} (Ctrl+Shift+Z)` : "Ctrl+Shift+Z", "aria-keyshortcuts": "Control+Shift+Z" }),
      tool("open", "Open"), tool("save", "Save"), tool("hand", "Hand over"))));
  const box = opened === "open" ? openSlip(on) : opened === "save" ? saveSlip(state, on) : opened === "hand" ? handSlip(on) : null;
  if (box) host.firstChild.append(box);
}

function openSlip(on) {
  const list = h("div", { class: "choices" }), said = h("p", { class: "small soft", role: "status" });
  const take = (asked) => asked.then((state) => { on.took(state); on.done(); }, (failure) => { said.textContent = failure.message; });
  get("/api/files").then(({ folder, files }) => list.replaceChildren(...(files.length ? files.map((name) => button(name, () => take(post("/api/open", { name })), { class: "choice", "data-key": `open-${name}` }))
    : [h("p", { class: "small soft" }, `No case files in ${folder} yet.`)])), (failure) => { said.textContent = failure.message; });
  const file = h("input", { type: "file", accept: ".toml,text/plain", class: "unseen", "aria-label": "A case file of this machine", on: { change: () => file.files.length && take(read(file.files[0])) } });
  const box = slip("slip-open", "Open a wall", on.close, list, file, h("p", {}, button("Another file …", () => file.click(), { class: "choice-like" }), h("span", { class: "small soft" }, " or drop one anywhere on the desk.")), said,
    h("h3", {}, "Or start again from"), h("div", { class: "choices" }, STARTS.map(([value, words]) => button(words, () => take(post("/api/edit", { op: "new", value })), { class: "choice", "data-key": `start-${value}` }))));
  box.classList.add("small-slip", "at-right");
  return box;
}

function saveSlip(state, on) {
  const file = state.file || {}, said = h("p", { class: "small soft", role: "status" });
  const field = h("input", { type: "text", value: file.name || "wall.toml", "data-key": "save-name", autocomplete: "off", spellcheck: "false" });
  const save = async (over) => {
    const name = /\.toml$/.test(field.value.trim()) ? field.value.trim() : `${field.value.trim() || "wall"}.toml`;
    if (!over && file.comments && name === file.name) return ask(`The notes behind # in ${name} would be lost.`);
    try {
      on.took(await post("/api/save", { name, over: over || name === file.name }));
      on.said(`Saved as ${name}.`);
      on.done();
    } catch (failure) {
      if (failure.status === 409) ask(failure.message);
      else said.textContent = failure.message;
    }
  };
  const ask = (text) => { said.replaceChildren(text, " ", button("Save over it", () => save(true), { "data-key": "save-over" })); said.querySelector("button").focus(); };
  const form = h("form", { class: "free", on: { submit: (event) => { event.preventDefault(); save(false); } } },
    h("label", { class: "field" }, h("span", {}, "as"), field), h("button", { type: "submit", "data-key": "save-now" }, "Save"));
  const box = slip("slip-save", "Save the wall", on.close, form, said, h("p", { class: "small soft" }, "Nothing is lost without it: the desk keeps what you do and opens it again next time."));
  box.classList.add("small-slip", "at-right");
  return box;
}

function handSlip(on) {
  const link = (path, words, about, more = {}) => h("li", {}, h("a", { href: path, download: "", ...more }, words), h("span", { class: "small soft" }, about));
  const box = slip("slip-hand", "Hand over", on.close, h("ul", { class: "hand" },
    link("/file/page.html", "The page", "everything, in one file that opens anywhere; takes some seconds"),
    link("/file/sheet.html", "One sheet", "the answer on one side of paper, to print"),
    link("/file/case.toml", "The wall", "the case file, for the desk or the command"),
    link("/file/results.nc", "The results", "every hour of every cell, for those who compute on")));
  box.classList.add("small-slip", "at-right");
  return box;
}

async function read(file) {
  if (file.size > 4e6) throw new Error(`${file.name} is larger than a case file can be (4 MB).`);
  return post("/api/upload", { name: file.name, text: await file.text() });
}

/** Take files that are dropped anywhere: a case file is opened, weather becomes the place. */
export function droppable(on) {
  const over = (event) => { if (Array.from(event.dataTransfer?.types || []).includes("Files")) { event.preventDefault(); document.body.classList.add("dropping"); } };
  document.addEventListener("dragover", over);
  document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) document.body.classList.remove("dropping"); });
  document.addEventListener("drop", async (event) => {
    const file = event.dataTransfer?.files[0];
    document.body.classList.remove("dropping");
    if (!file) return;
    event.preventDefault();
    try {
      if (/\.toml$/i.test(file.name)) on.took(await read(file));
      else if (/\.(epw|csv|nc)$/i.test(file.name)) on.took(await post("/api/edit", { op: "ask", at: "place", value: (await attach(file)).name }));
      else throw new Error(`${file.name} is neither a case file (.toml) nor weather (.epw, .csv, .nc).`);
      on.said(`${file.name} is on the desk.`);
    } catch (failure) { on.said(failure.message, true); }
  });
}
