// What single keys do; they can be switched off (WCAG 2.1.4), and never act while a person types.
import { clock, el, h, tell } from "./common.js";
import { chapterAt, choose, chosen, inHand } from "./choice.js";
import { go, nextCheck, settle } from "./checks.js";
import { addAsked, moveBorder, startOf } from "./form.js";
import { now, step, toggle } from "./player.js";
import { pick, wordAt } from "./paper.js";
import { edit, editChapter, redo, store, undo } from "./store.js";
import { openPublish } from "./publish.js";
import { openReplace } from "./words.js";

let holdFrom = null;
export function markHold() {
  if (holdFrom === null) {
    holdFrom = now();
    el("mark-hold").textContent = `Hold ends here (began ${clock(holdFrom, true)})`;
    el("mark-hold").setAttribute("aria-pressed", "true");
    return;
  }
  const [from, to] = [Math.min(holdFrom, now()), Math.max(holdFrom, now())];
  holdFrom = null;
  el("mark-hold").textContent = "Hold begins here";
  el("mark-hold").removeAttribute("aria-pressed");
  if (to - from >= 100) edit("add-hold", from, { end: to / 1000 }).then((news) => news && tell("Hold marked"));
}
export const markStop = () => edit("add-stop", now()).then((news) => news && tell(`The player stops at ${clock(now(), true)}`));
export async function split() {
  const at = now();
  const before = store.chapters.map((row) => row.start);
  const news = await edit("split", at);
  if (!news) return;
  choose(chapterAt(at).id);
  // Too near to where one begins, a chapter is not made: that one's start was meant.
  const moved = before.length === store.chapters.length ? before.find((start) => !store.chapters.some((row) => row.start === start)) : undefined;
  if (before.length < store.chapters.length) {
    field("title");
    tell(`A chapter begins at ${clock(at, true)}`);
  } else if (moved === undefined) {
    tell(`A chapter begins at ${clock(at, true)} already`);
  } else {
    tell(`The chapter that began at ${clock(moved, true)} begins at ${clock(at, true)} now. For one more chapter go at least 1.5 seconds away from where one begins.`);
  }
}

function here() {
  if (!inHand()) choose(chapterAt(now()).id);
  return inHand();
}
function field(name) {
  const row = here();
  const node = document.querySelector(`[data-f="${CSS.escape(`${name} ${row.id}`)}"]`);
  node?.scrollIntoView({ block: "center" });
  node?.focus();
  node?.select?.();
}
function chapter(by) {
  const rows = [...document.querySelectorAll("#paper .title")];
  const at = rows.findIndex((node) => node.dataset.f === `open ${(inHand() ?? chapterAt(now())).id}`);
  const next = rows[Math.max(0, Math.min(rows.length - 1, at + by))];
  const id = next.dataset.f.slice(5);
  if (chosen.id !== id) next.click();
  document.querySelector(`[data-f="${CSS.escape(`open ${id}`)}"]`)?.focus();
  document.querySelector(".chapter.open")?.scrollIntoView({ block: "start" });
}
const border = (by) => { const row = here(); if (row.start > 0) moveBorder(row.id, startOf(row.id) + by); };

const KEYS = [
  [" ", "Space", "play and pause", toggle],
  ["ArrowLeft", "←", "one second back", () => step(-1)],
  ["ArrowRight", "→", "one second on", () => step(1)],
  [",", ",", "a tenth of a second back", () => step(-0.1)],
  [".", ".", "a tenth of a second on", () => step(0.1)],
  ["n", "N", "next thing to look at", () => { const check = nextCheck(); if (check) go(check); }],
  ["o", "O", "it is right: next", () => { const check = nextCheck(); if (check) settle(check); }],
  ["[", "[", "chapter before", () => chapter(-1)],
  ["]", "]", "chapter after", () => chapter(1)],
  ["c", "C", "open the chapter that plays", () => { choose(null); here(); }],
  ["t", "T", "its title", () => field("title")],
  ["k", "K", "its kind", () => field("kind")],
  ["f", "F", "its family", () => field("family")],
  ["e", "E", "its exercise", () => field("exercise")],
  ["d", "D", "its dose: how many times", () => { const row = here(); if (row.asked.length) field("reps0"); else addAsked(row.id, "class"); }],
  ["b", "B", "it begins where the recording is", () => { const row = here(); if (row.start > 0) moveBorder(row.id, now()); }],
  ["-", "−", "it begins a tenth earlier", () => border(-100)],
  ["+", "+", "it begins a tenth later", () => border(100)],
  ["s", "S", "a new chapter begins here", split],
  ["m", "M", "join to the chapter before", () => { const row = here(); if (row.start > 0) edit("merge", row.start); }],
  ["x", "X", "hide from viewers, or show", () => { const row = here(); editChapter("hide", row, { hidden: !row.hidden }); }],
  ["h", "H", "a hold begins, and again: ends", markHold],
  ["p", "P", "a practice stop is here", markStop],
  ["w", "W", "correct the word being said", () => { pick(Math.max(0, wordAt(now()))); el("word-text").focus(); el("word-text").select(); }],
  ["r", "R", "find and replace words", openReplace],
  ["g", "G", "publish", openPublish],
];

export function prepareKeys() {
  el("key-list").append(...KEYS.flatMap(([, shown, words]) => [h("dt", {}, h("kbd", { text: shown })), h("dd", { text: words })]),
    ...[["Esc", "leave a field, back to the chapter"], ["Ctrl Z", "take back"], ["Ctrl Y", "do again"]].flatMap(([shown, words]) => [h("dt", {}, h("kbd", { text: shown })), h("dd", { text: words })]));
  el("keys-on").checked = localStorage.getItem("desk-keys") !== "off";
  el("keys-on").addEventListener("change", () => localStorage.setItem("desk-keys", el("keys-on").checked ? "on" : "off"));
  el("keys-open").addEventListener("click", () => el("keys").showModal());
  el("mark-split").addEventListener("click", split);
  el("mark-hold").addEventListener("click", markHold);
  el("mark-stop").addEventListener("click", markStop);
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && event.target.closest(".form")) {
      event.target.closest(".chapter").querySelector(".title").focus();
      return;
    }
    const typing = event.target.matches("input:not([type=checkbox]):not([type=range]), textarea, select") || event.target.isContentEditable;
    if (document.querySelector("dialog[open]")) return;
    if ((event.ctrlKey || event.metaKey) && !event.altKey && !typing) {
      const key = event.key.toLowerCase();
      if (key === "z" || key === "y") {
        event.preventDefault();
        if (key === "y" || event.shiftKey) redo();
        else undo();
      }
      return;
    }
    if (typing || event.ctrlKey || event.metaKey || event.altKey || !el("keys-on").checked) return;
    const button_ = event.target.matches("button, summary, a, input");
    if (event.key === " " && button_) return;
    if (event.key.startsWith("Arrow") && event.target.matches("input[type=range]")) return;
    const found = KEYS.find(([key]) => key === event.key || key === event.key.toLowerCase());
    if (found) {
      event.preventDefault();
      found[3]();
    }
  });
}
