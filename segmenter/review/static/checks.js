// What to look at: the next thing large on top, all of them in a list, and what was changed so far.
import { button, clock, counted, el, h, tell } from "./common.js";
import { chapterAt, choose, inHand } from "./choice.js";
import { goTo, now } from "./player.js";
import { change, edit, onNews, redo, store, undo } from "./store.js";

export const all = () => [...store.checks, ...store.captionChecks];
const open = () => all().filter((check) => !check.settled && check.level !== "note");
const LEVELS = { stop: "Settle this", look: "Please look", note: "Good to know" };

export function settle(check, settled = true) {
  return edit("settle-check", check.start ?? 0, { code: check.code, message: check.message, settled }).then((news) => {
    if (news && settled) tell(open().length ? `${counted(open().length, "thing")} left to look at` : "Everything was looked at");
  });
}
export function go(check) {
  if (check.start === null) return;
  choose(chapterAt(check.start).id);
  goTo(check.start);
  document.querySelector(".chapter.open")?.scrollIntoView({ block: "start" });
}
export const nextCheck = () => open()[0] ?? null;

function line(check) {
  const acts = h("div", { class: "line tight" });
  if (check.start !== null) acts.append(button(clock(check.start), () => go(check), { class: "time", "aria-label": `Show me ${clock(check.start)}`, "data-f": `cgo ${check.code} ${check.start} ${check.message}` }));
  acts.append(button(check.settled ? "Look again" : "It is right", () => settle(check, !check.settled),
    { "data-f": `cok ${check.code} ${check.start} ${check.message}`, "aria-label": `${check.settled ? "Look again" : "It is right"}: ${check.message}` }));
  return h("li", { class: `${check.level}${check.settled ? " settled" : ""}` }, h("p", {}, h("b", { text: check.settled ? "Looked at. " : `${LEVELS[check.level]}. ` }), check.message), acts);
}

function drawList() {
  const [todo, notes, done] = [open(), all().filter((c) => !c.settled && c.level === "note"), all().filter((c) => c.settled)];
  const focus = document.activeElement?.dataset?.f;
  el("checks").replaceChildren(...(todo.length ? todo.map(line) : [h("li", { class: "told", text: "Nothing is left to look at." })]),
    ...(notes.length ? [fold("n", `${counted(notes.length, "note")}`, notes)] : []),
    ...(done.length ? [fold("d", `${counted(done.length, "thing")} looked at`, done)] : []));
  if (focus) document.querySelector(`[data-f="${CSS.escape(focus)}"]`)?.focus({ preventScroll: true });
}
const unfolded = new Set();
function fold(key, words, list) {
  const node = h("details", { open: unfolded.has(key), toggle: () => (node.open ? unfolded.add(key) : unfolded.delete(key)) },
    h("summary", { text: words }), h("ol", {}, ...list.map(line)));
  return h("li", { class: "folded" }, node);
}

function drawNext() {
  const check = nextCheck();
  const left = open().length;
  const acts = [];
  if (check) {
    el("todo-count").textContent = left === 1 ? "The last thing to look at" : `${left} things to look at. Next:`;
    el("todo-text").textContent = check.message;
    if (check.start !== null) acts.push(button("Show me", () => go(check), { class: "act", "data-f": "todo-go" }));
    acts.push(button("It is right", () => settle(check), { "data-f": "todo-ok" }));
  } else if (store.state === "published") {
    el("todo-count").textContent = "Published";
    el("todo-text").textContent = "This lesson is out. Change anything, and publish it again.";
  } else {
    el("todo-count").textContent = "Everything was looked at";
    el("todo-text").textContent = "Watch it once yourself, then publish it.";
    acts.push(button("Publish", () => el("publish-open").click(), { class: "act", "data-f": "todo-go" }));
  }
  const focus = document.activeElement?.dataset?.f;
  el("todo").classList.toggle("stop", check?.level === "stop");
  el("todo-acts").replaceChildren(...acts);
  if (focus?.startsWith("todo")) (document.querySelector(`[data-f="${focus}"]`) ?? document.querySelector("[data-f=todo-go]"))?.focus({ preventScroll: true });
}

function changeLine(row) {
  const place = row.why && button("Put it where I am", () => {
    const chapter = inHand() ?? chapterAt(now());
    const whole = ["retitle", "reclassify", "set-asked", "accept-usual", "hide", "set-still"].includes(row.do);
    change("place", whole ? { id: row.id, at: chapter.start / 1000, until: chapter.end / 1000 } : { id: row.id, at: now() / 1000 });
  });
  return h("li", {}, h("p", {}, button(clock(row.at), () => goTo(row.at), { class: "time", "aria-label": `Go to ${clock(row.at)}` }), " ", row.text),
    row.why ? h("p", { class: "care small", text: `This has no place any more: ${row.why}.` }) : null,
    h("div", { class: "line tight" }, place || null, button("Take this back", () => change("undo", { id: row.id }), { "aria-label": `Take this back: ${row.text}` })));
}

const STATES = { draft: "Draft", checked: "Checked", published: "Published" };
function draw() {
  drawNext();
  drawList();
  el("state").textContent = STATES[store.state] ?? "";
  el("undo").disabled = !store.undo;
  el("redo").disabled = !store.redo;
  el("undo").title = store.undo ? `Take back: ${store.undo}` : "";
  el("redo").title = store.redo ? `Do again: ${store.redo}` : "";
  el("changes-count").textContent = store.changes.length;
  const lost = store.changes.filter((row) => row.why);
  if (lost.length) el("changes-box").open = true;
  el("changes").replaceChildren(...[...lost, ...store.changes.filter((row) => !row.why)].slice(0, 200).map(changeLine));
}

export function prepareChecks() {
  // What stays in view below the sticky line depends on how long its words are.
  new ResizeObserver(() => document.documentElement.style.setProperty("--below", `${el("todo").offsetHeight + 8}px`)).observe(el("todo"));
  onNews(draw);
  el("undo").addEventListener("click", undo);
  el("redo").addEventListener("click", redo);
  draw();
}
