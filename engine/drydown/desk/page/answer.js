// The answer: headline, what is not known, numbers, and the words behind them; always said of which wall it is.
import { capital, fill, h, nice, paragraphs } from "./dom.js";

/** Return which layers are harmed, in words: layer -> harm. */
export function harmOf(answer) {
  const out = new Map();
  for (const one of answer ? answer.judged : []) {
    if (one.verdict !== "exceeded" || one.decides === false || !one.layer) continue;
    const said = out.get(one.layer), harm = one.harm || one.title;
    if (!said) out.set(one.layer, harm);
    else if (!said.includes(harm)) out.set(one.layer, `${said}; ${harm}`);
  }
  return out;
}

/** Return shares to both sides, in words and numbers, or null. */
export function sharesOf(answer, stale) {
  if (!answer || answer.outward === null || answer.inward === null) return null;
  const [factor, offset, unit] = answer.map_units.water;
  return { outward: answer.outward, inward: answer.inward, stale, told: (x) => nice(`${(factor * x + offset).toFixed(2)} ${unit}`) };
}

/** Return of which wall the answer is, and what is under way: words, fraction, whether it is stale. */
export function standing(state, answer, job) {
  const stale = !answer || answer.version !== state.version;
  if (!state.parts.length) return { stale, words: "Put in its parts from outside to inside, then say how much water gets in." };
  if (state.trouble.length) return { stale, words: `Not yet: ${state.trouble[0].text}`, wrong: true };
  if (job.state === "failed") return { stale, words: `It could not be worked out: ${job.words}`, wrong: true };
  if (!stale) return { stale, words: "" };
  const doing = answer ? "This is of the wall before your change." : "The first answer is on its way.";
  return { stale, words: doing, fraction: job.state === "running" ? Math.round(50 * job.fraction) / 50 : 0, slow: job.slow, doing: job.words };
}

/** At the desk nobody writes keys: what the file would say is said by touch. */
const here = (text) => text.replace("say so with ventilated_gap", "touch it and say so");

export function answerHead(host, state, answer, now, on) {
  const bar = now.slow && !now.wrong ? h("progress", { max: "1", value: now.fraction, "aria-label": now.doing || "working" }) : "";
  const line = h("p", { class: `standing${now.wrong ? " flag" : ""}` }, h("span", {}, nice(now.words)), now.slow && !now.wrong ? h("span", {}, nice(now.doing)) : "", bar,
    now.slow && !now.wrong ? h("span", { class: "soft" }, `${Math.round(100 * now.fraction)}\u00a0%`) : "");
  host.classList.toggle("stale", now.stale);
  if (!answer) return fill(host, h("p", { class: "headline none" }, !state.parts.length ? "An empty wall." : now.wrong ? "No answer yet." : "One moment."), line);
  const keep = h("button", { type: "button", "data-key": "keep", disabled: now.stale || state.pins >= 4, on: { click: on.keep } },
    state.pins >= 4 ? "Four walls are kept" : "Keep this wall to compare");
  fill(host, line, h("h2", { class: "headline" }, nice(answer.headline)), h("div", { class: "rest" },
    h("div", { class: "lead" }, paragraphs(answer.lead), paragraphs(answer.unknown.map(here)), paragraphs([answer.line])),
    facts(answer.facts)), h("div", { class: "keep" }, keep));
}

export const facts = (list) => h("dl", { class: "facts" }, (list || []).map(([number, about]) => h("div", {}, h("dt", {}, nice(about)), h("dd", {}, nice(number)))));
export const tag = (verdict, words) => h("span", { class: `tag ${verdict === "not applicable" ? "none" : verdict}` }, nice(words || verdict));

/** The answer in plain words, with the numbers behind it. */
export function answerWords(host, answer, stale) {
  if (!answer) return fill(host);
  host.classList.toggle("stale", stale);
  const blocks = [h("div", {}, h("h3", {}, answer.drying.length > 1 ? "Does it dry?" : "Would it dry?"), paragraphs(answer.drying))];
  if (answer.sides.length) blocks.push(h("div", {}, h("h3", {}, "To which side?"), paragraphs(answer.sides)));
  fill(host, h("h2", {}, "In plain words"), h("div", { class: "questions" }, blocks),
    h("div", { class: "change harm" }, h("h3", {}, "Is anything harmed?"), h("div", { class: "two" }, paragraphs(answer.harm)), judged(answer)));
}

function judged(answer) {
  const rows = answer.judged.filter((one) => one.verdict !== "not applicable");
  if (!rows.length) return "";
  const both = rows.some((one) => one.before);
  const cell = (label, ...inside) => h("td", { "data-label": label }, ...inside);
  const lines = rows.map((one) => h("tr", {},
    h("th", { scope: "row" }, nice(capital(one.title)), one.screening ? h("span", { class: "soft small" }, " (a first look; the others decide)") : ""),
    cell(both ? "with the water" : "verdict", tag(one.verdict, one.verdict_words), h("br"), nice(one.value)),
    both ? cell("without it", one.before ? [tag(one.before_verdict, one.before_words || one.before_verdict), h("br"), nice(one.before)] : "not judged") : "",
    cell("limit", nice(one.limit)), h("td", { class: "wide", "data-label": "worst place" }, nice(one.place))));
  const heads = ["what is judged", ...(both ? ["with the water", "without it"] : ["verdict"]), "limit", "worst place"];
  return h("details", {}, h("summary", { "data-key": "numbers" }, "The numbers behind these words"),
    h("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "The numbers" }, h("table", { class: "cards", role: "table" }, h("thead", {}, h("tr", {}, heads.map((head) => h("th", { scope: "col" }, head)))), h("tbody", {}, lines))));
}

/** How sure it is, and the cautions. */
export function smallPrint(host, answer) {
  if (!answer) return fill(host);
  fill(host, h("div", { class: "cautions" }, h("h2", {}, "Before you build"), h("ul", { class: "list" }, (answer.cautions || []).map((line) => h("li", {}, nice(line))))),
    answer.sure && answer.sure.length ? h("details", {}, h("summary", { "data-key": "sure" }, "How sure is this?"), paragraphs(answer.sure)) : "",
    answer.text ? h("details", {}, h("summary", { "data-key": "text" }, "The answer as the command tells it"), h("pre", {}, answer.text)) : "");
}
