// The class on paper: chapters as headings, what was said below them, the word being spoken lit.
import { button, clock, el, h, shape } from "./common.js";
import { chosen, choose } from "./choice.js";
import { form, holdsList, keepFocus } from "./form.js";
import { goTo, media, now, onTime } from "./player.js";
import { onNews, store } from "./store.js";

const sections = new Map(); // by chapter id: {node, row, open, from, to, words}
let ranges = new Map(); // by chapter id: [first word, one after the last]
let lit = -1;
let letGo = 0; // the reader scrolled by hand until then: leave the paper where it is

function measure() {
  ranges = new Map();
  let n = 0;
  for (const row of store.chapters) {
    const first = n;
    while (n < store.words.length && (store.words[n][0] + store.words[n][1]) / 2 < row.end) n += 1;
    ranges.set(row.id, [first, n]);
  }
}

export const wordAt = (ms) => {
  let [low, high] = [0, store.words.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (store.words[middle][0] <= ms) low = middle + 1;
    else high = middle;
  }
  return low - 1;
};

function wordNode(n) {
  const [, , text, heard, mark] = store.words[n];
  const node = h("span", { class: "w", "data-n": n, text });
  if (mark & 1) node.classList.add("mine");
  if (mark & 4) node.classList.add("unsure");
  if (heard && heard !== text) node.title = `heard: ${heard}`;
  return node;
}

function fillWords(box, [from, to]) {
  const starts = new Set();
  for (const [at] of store.captions ?? []) {
    const n = wordAt(at + 60);
    if (n >= from && n < to) starts.add(n);
  }
  const lines = [];
  let line = null;
  for (let n = from; n < to; n += 1) {
    const before = n > from ? store.words[n - 1] : null;
    const turn = before && (before[4] & 2) !== (store.words[n][4] & 2);
    if (!line || turn || /[.?!]["”’)]?$/.test(before[2]) || store.words[n][0] - before[1] > 1500) {
      line = h("p", { class: store.words[n][4] & 2 ? "other" : "" });
      lines.push(line);
    }
    if (starts.has(n) && line.childNodes.length) line.append(h("i", { class: "cue", "aria-hidden": "true" }));
    line.append(wordNode(n), " ");
  }
  if (!lines.length) lines.push(h("p", { class: "small", text: "Nothing is said here." }));
  box.replaceChildren(...lines);
  box.dataset.filled = "yes";
}

// Words are set in type when their chapter comes near: a class of two hours opens as fast as a short one.
const near = new IntersectionObserver((entries) => {
  for (const entry of entries) {
    if (!entry.isIntersecting) continue;
    const section = sections.get(entry.target.dataset.of);
    if (section && !section.words.dataset.filled) fillWords(section.words, [section.from, section.to]);
  }
}, { rootMargin: "800px" });

const facts = (row) => [store.kinds[row.kind], row.family && store.families[row.family], row.exerciseName].filter(Boolean).join(" · ");

// What is asked for, one line for the class and one for home, as in the lesson.
function doses(row) {
  const lines = [["class", "In class"], ["home", "At home"]].map(([where, words]) => {
    const said = row.asked.filter((ask) => ask.where === where).map((ask) => `${ask.text || "no amount"}${ask.usual ? " (usual practice)" : ""}`);
    return said.length ? h("li", {}, h("b", { text: `${words} ` }), said.join("; ")) : null;
  }).filter(Boolean);
  return lines.length ? h("ul", { class: "asked" }, ...lines) : null;
}

function openOrClose(row, open) {
  choose(open ? null : row.id);
  if (open) return;
  goTo(row.start);
  sections.get(row.id).node.scrollIntoView({ block: "start" });
}

function head(row, open) {
  const title = h("button", { type: "button", class: "title", "aria-expanded": open ? "true" : "false", "data-f": `open ${row.id}`,
    click: () => openOrClose(row, open) }, shape(row.kind === "quiz" ? "thinking" : row.family), h("span", { text: row.title }));
  const marks = [];
  if (row.mine.length) marks.push(h("span", { class: "mine-mark", text: "changed by you" }));
  if (row.hidden) marks.push(h("span", { class: "hidden-mark", text: "hidden from viewers" }));
  if (row.confidence < 0.6 && !row.mine.length) marks.push(h("span", { class: "unsure-mark", text: "unsure" }));
  return h("header", {},
    button(clock(row.start), () => goTo(row.start), { class: "time", "aria-label": `Go to ${clock(row.start)}` }),
    h("h2", {}, title), h("p", { class: "facts", text: facts(row) }), doses(row), marks.length ? h("p", { class: "marks" }, ...marks) : null);
}

function drawSection(row) {
  const [from, to] = ranges.get(row.id);
  const open = chosen.id === row.id;
  let section = sections.get(row.id);
  if (!section) {
    const words = h("div", { class: "words", tabindex: 0, role: "group", "data-of": row.id });
    const node = h("section", { class: "chapter" });
    section = { node, words, row: null, open: null, from: -1, to: -1 };
    sections.set(row.id, section);
    words.addEventListener("keydown", (event) => keysOn(event, row.id));
    words.addEventListener("click", (event) => {
      const n = event.target.dataset?.n;
      if (n !== undefined) pick(Number(n));
    });
    near.observe(words);
  }
  const waits = open && section.open && holdsList(section.node); // drawn when the list is let go
  if ((section.row !== row || section.open !== open) && !waits) {
    section.row = row;
    section.open = open;
    section.words.setAttribute("aria-label", `Words of ${row.title}. Arrow keys go from word to word, Enter corrects one.`);
    section.node.className = `chapter${open ? " open" : ""}${row.hidden ? " away" : ""}`;
    section.node.setAttribute("aria-label", row.title);
    section.node.replaceChildren(head(row, open), ...(open ? [form(row)] : []), section.words);
  }
  if (section.from !== from || section.to !== to) {
    Object.assign(section, { from, to });
    section.words.style.minHeight = `${Math.ceil((to - from) / 11) * 1.6}em`;
    if (section.words.dataset.filled) fillWords(section.words, [from, to]);
  }
  return section.node;
}

export function draw() {
  measure();
  const focus = keepFocus();
  const nodes = store.chapters.map(drawSection);
  for (const [id, section] of sections) {
    if (!ranges.has(id)) {
      near.unobserve(section.words);
      sections.delete(id);
    }
  }
  const paper = el("paper");
  if (nodes.length !== paper.children.length || nodes.some((node, n) => paper.children[n] !== node)) paper.replaceChildren(...nodes);
  focus();
}

function refill(words) {
  for (const section of sections.values()) {
    if (!section.words.dataset.filled) continue;
    if (words === "all" || words.some((n) => n >= section.from && n < section.to)) fillWords(section.words, [section.from, section.to]);
  }
  lit = -1;
  light();
}

export const nodeOf = (n) => {
  const section = [...sections.values()].find((each) => n >= each.from && n < each.to);
  if (!section) return null;
  if (!section.words.dataset.filled) fillWords(section.words, [section.from, section.to]);
  return section.words.querySelector(`[data-n="${n}"]`);
};

function light(at = now()) {
  const n = wordAt(at);
  const spoken = n >= 0 && at < store.words[n][1] + 400 ? n : -1;
  if (spoken === lit) return;
  document.querySelector(".w.lit")?.classList.remove("lit");
  lit = spoken;
  const node = spoken >= 0 ? nodeOf(spoken) : null;
  node?.classList.add("lit");
  if (node && store.media && !media.paused && Date.now() > letGo) show(node);
}

export function show(node) {
  const box = node.getBoundingClientRect();
  const bar = el("word-bar").hidden ? 0 : el("word-bar").offsetHeight;
  if (box.top < el("todo").offsetHeight + 40 || box.bottom > window.innerHeight - 60 - bar) node.scrollIntoView({ block: "center" });
}

// One word in hand: lit with a frame, its place in the recording taken up.
export function pick(n, { quiet = false } = {}) {
  if (n < 0 || n >= store.words.length) return;
  choose(chosen.id, { word: n });
  goTo(store.words[n][0]);
  drawPicked(quiet);
}
function drawPicked(quiet) {
  document.querySelector(".w.picked")?.classList.remove("picked");
  if (chosen.word === null) return;
  const node = nodeOf(chosen.word);
  node?.classList.add("picked");
  if (node && !quiet) show(node);
}

function keysOn(event, id) {
  const section = sections.get(id);
  if (event.altKey || event.ctrlKey || event.metaKey) return;
  const at = chosen.word !== null && chosen.word >= section.from && chosen.word < section.to ? chosen.word : null;
  const move = { ArrowRight: 1, ArrowLeft: -1, ArrowDown: 8, ArrowUp: -8, Home: -1e9, End: 1e9 }[event.key];
  if (move !== undefined) {
    event.preventDefault();
    event.stopPropagation();
    const next = at === null ? section.from : Math.max(section.from, Math.min(section.to - 1, at + move));
    pick(next);
  } else if (event.key === "Enter" && at !== null) {
    event.preventDefault();
    el("word-text").focus();
    el("word-text").select();
  }
}

export function preparePaper() {
  el("paper").addEventListener("released", draw);
  for (const kind of ["wheel", "touchmove"]) window.addEventListener(kind, () => { letGo = Date.now() + 6000; }, { passive: true });
  draw();
  onNews(({ words, captions }) => {
    draw();
    if (captions) refill("all");
    else if (words) refill(words);
    drawPicked(true);
  });
  chosen.follow.push(() => { draw(); drawPicked(true); });
  onTime(light);
}
