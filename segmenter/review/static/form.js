// Everything that can be changed about one chapter, in its place on the paper.
import { button, clock, el, h, tell } from "./common.js";
import { readRange, rangeText, UNITS } from "./doses.js";
import { goTo, now } from "./player.js";
import { edit, editChapter, store, trouble, typed } from "./store.js";

const SIDES = [["", "not said"], ["left", "left"], ["right", "right"], ["both", "each side"]];
const rowOf = (id) => store.chapters.find((each) => each.id === id);

// A form is drawn anew after each change; whoever types in it must not notice.
export function keepFocus() {
  const node = document.activeElement;
  const key = node?.dataset?.f;
  // A node that only changes its place loses the focus as well.
  const again = () => { if (node && node !== document.body && document.activeElement !== node) node.focus({ preventScroll: true }); };
  if (!key) return () => { if (node?.isConnected) again(); };
  const [value, from, to] = [node.value, node.selectionStart, node.selectionEnd];
  const typing = node.matches("input[type=text]");
  return () => {
    if (node.isConnected) return again();
    const next = document.querySelector(`[data-f="${CSS.escape(key)}"]`) ?? document.querySelector(`[data-f="${CSS.escape(key.split(" ").slice(0, 1).join(" "))}"]`);
    if (!next) return undefined;
    if (typing && next.value !== value) next.value = value;
    next.focus({ preventScroll: true });
    if (typing) next.setSelectionRange(from, to);
    return undefined;
  };
}

// An answer to an earlier change must not close a list that is open, or forget the letters typed to find a line in it:
// a list is in hand from the press that opens it until it is decided, and a second after each key or after it was left.
let [inHand, soon] = [null, null];
export const holdsList = (node) => inHand !== null && node.contains(inHand);

function takeInHand(node, ms = null) {
  clearTimeout(soon);
  inHand = node;
  soon = ms && setTimeout(release, ms);
}

function release() {
  const node = inHand;
  takeInHand(null);
  node?.dispatchEvent(new Event("released", { bubbles: true }));
}

function select(label, name, options, value, act) {
  const decided = () => {
    act(node.value);
    if (!soon) takeInHand(null); // by pointer; what is drawn next comes with the answer
  };
  const left = () => { if (inHand === node) takeInHand(node, 1000); };
  const handled = { pointerdown: () => takeInHand(node), keydown: () => takeInHand(node, 1000), blur: left, change: decided };
  const node = h("select", { "data-f": name, ...handled },
    ...options.map(([key, words]) => h("option", { value: key, selected: key === (value ?? ""), text: words })));
  return h("label", { class: "field" }, h("span", { text: label }), node);
}

function text(label, name, value, props = {}) {
  const node = h("input", { type: "text", "data-f": name, value, autocomplete: "off", maxlength: 300, ...props });
  return [h("label", { class: "field" }, h("span", { text: label }), node), node];
}

function titleField(row) {
  const [label, node] = text("Called", `title ${row.id}`, row.title);
  label.classList.add("wide");
  typed(`title ${row.id}`, node, (title, chain) => {
    const here = rowOf(row.id);
    if (here) editChapter("retitle", here, { title }, chain);
  });
  return label;
}

// Silences between words, where a chapter may begin without cutting a sentence.
function pauses(side, from) {
  const { words } = store;
  const middle = (n) => Math.round((words[n - 1][1] + words[n][0]) / 2);
  const good = (n) => words[n][0] - words[n - 1][1] >= 300;
  if (side < 0) {
    for (let n = words.length - 1; n > 0; n -= 1) if (good(n) && middle(n) < from - 50) return middle(n);
  } else {
    for (let n = 1; n < words.length; n += 1) if (good(n) && middle(n) > from + 50) return middle(n);
  }
  return null;
}

// Steps may be pressed faster than the desk answers: each begins where the one before it will have ended.
const going = new Map();
export const startOf = (id) => going.get(id)?.to ?? rowOf(id).start;
export function moveBorder(id, to) {
  const row = rowOf(id);
  if (!row || to === null) return tell("There is no pause on that side");
  const from = startOf(id);
  const whole = Math.round(to);
  going.set(id, { to: whole, steps: (going.get(id)?.steps ?? 0) + 1 });
  goTo(whole);
  return edit("move-boundary", from, { to: whole / 1000 }).then((news) => {
    const { to: last, steps } = going.get(id) ?? { steps: 1 };
    if (steps === 1 || !news) going.delete(id);
    else going.set(id, { to: last, steps: steps - 1 });
    if (news) tell(`${row.title} begins at ${clock(whole, true)}`);
  });
}

function border(label, id, name) {
  const row = rowOf(id);
  const move = (by) => moveBorder(id, startOf(id) + by);
  const step = (words, by, say) => button(words, () => move(by), { "data-f": `${name}${by} ${id}`, "aria-label": `${label} ${say}` });
  return h("div", { class: "border", role: "group", "aria-label": label },
    h("p", {}, h("span", { text: label }), " ", h("b", { class: "time", text: clock(row.start, true) })),
    h("div", { class: "line tight" },
      step("−1 s", -1000, "one second earlier"), step("−0.1", -100, "a tenth earlier"),
      step("+0.1", 100, "a tenth later"), step("+1 s", 1000, "one second later"),
      button("‹ pause", () => moveBorder(id, pauses(-1, startOf(id))), { "data-f": `${name}p ${id}`, "aria-label": `${label} at the pause before` }),
      button("pause ›", () => moveBorder(id, pauses(1, startOf(id))), { "data-f": `${name}n ${id}`, "aria-label": `${label} at the pause after` }),
      button("where the recording is", () => moveBorder(id, now()), { "data-f": `${name}h ${id}` })));
}

function exerciseField(row) {
  const [label, node] = text("Exercise", `exercise ${row.id}`, row.exerciseName ?? "", { list: "exercises", placeholder: "begin to type" });
  const sent = { value: node.value };
  node.addEventListener("change", () => {
    const wanted = node.value.trim().toLowerCase();
    if (wanted === sent.value.trim().toLowerCase()) return;
    const found = store.exercises.find(([, name, plain]) => [name, plain].some((each) => each.toLowerCase() === wanted));
    if (wanted && !found) return trouble(`“${node.value}” is not in the catalogue of exercises. Choose one from the list, or leave it empty.`);
    trouble(null);
    const here = rowOf(row.id);
    return editChapter("reclassify", here, found
      ? { kind: here.kind === "quiz" ? "quiz" : "exercise", family: found[3], exercise: found[0] }
      : { kind: here.kind, ...(here.family ? { family: here.family } : {}) });
  });
  return label;
}

const bare = ({ text: words, ...fields }) => fields;
function sendAsked(id, asked) {
  return editChapter("set-asked", rowOf(id), { asked: asked.map(bare) });
}
// One more dose, empty, with the first of its fields ready to be typed in.
export async function addAsked(id, where) {
  const at = now() / 1000;
  if (!(await sendAsked(id, [...rowOf(id).asked, { where, start: at, end: at }]))) return;
  document.querySelector(`[data-f="${CSS.escape(`reps${rowOf(id).asked.length - 1} ${id}`)}"]`)?.focus();
}

function dose(row, n) {
  const ask = row.asked[n];
  const change = (fields) => sendAsked(row.id, rowOf(row.id).asked.map((each, k) => {
    if (k !== n) return each;
    const made = { ...each, ...fields };
    for (const key of Object.keys(made)) if (made[key] === null || made[key] === "") delete made[key];
    return made;
  }));
  const amounts = UNITS.map(([field, words]) => {
    const [label, node] = text(words, `${field}${n} ${row.id}`, rangeText(ask[field]), { size: 8 });
    node.addEventListener("change", () => {
      try {
        const range = readRange(node.value, field);
        node.removeAttribute("aria-invalid");
        trouble(null);
        change({ [field]: range });
      } catch (error) {
        node.setAttribute("aria-invalid", "true");
        trouble(error.message);
      }
    });
    return label;
  });
  const [effort, effortNode] = text("how hard", `effort${n} ${row.id}`, ask.effort ?? "");
  effortNode.addEventListener("change", () => change({ effort: effortNode.value.trim() }));
  return h("fieldset", { class: "dose" }, h("legend", { text: `Asked ${ask.where === "home" ? "for home" : "in class"}: ${ask.text || "no amount was said"}` }),
    ask.said ? h("p", { class: "small", text: `Heard: “${ask.said}”` }) : null,
    ask.usual ? h("p", { class: "care small", text: `Not said in class. Taken over by you from usual practice: ${ask.usual}` }) : null,
    h("div", { class: "fields" },
      select("where", `where${n} ${row.id}`, [["class", "in class"], ["home", "at home"]], ask.where, (where) => change({ where })),
      ...amounts, select("side", `side${n} ${row.id}`, SIDES, ask.side, (side) => change({ side })), effort),
    button("Nothing was asked here", () => sendAsked(row.id, rowOf(row.id).asked.filter((_, k) => k !== n)),
      { "data-f": `unask${n} ${row.id}`, "aria-label": `Take this dose away: ${ask.text || "no amount"}` }));
}

function usual(row) {
  if (!row.usual) return null;
  const { text: words, source, fields } = row.usual;
  const known = Object.keys(fields).length > 0;
  const take = button("Take it over for home", () => editChapter("accept-usual", rowOf(row.id), {
    asked: { where: "home", start: row.start / 1000, end: row.start / 1000, ...fields }, source,
  }), { disabled: true, "data-f": `usual ${row.id}` });
  const box = h("input", { type: "checkbox", "data-f": `know ${row.id}`, change: () => { take.disabled = !box.checked; } });
  return h("div", { class: "usual" }, h("p", {}, h("b", { text: "Usual practice, not said in class: " }), words, " ", h("span", { class: "small", text: `(${source})` })),
    known ? h("div", { class: "line" }, h("label", { class: "choice" }, box, "I know that this was not said, and want it"), take) : null);
}

function pieces(row) {
  const stops = row.stops.map(([at, , words], n) => h("li", { class: "line tight" },
    h("span", {}, "Practice stop at ", h("b", { class: "time", text: clock(at, true) }), words ? `: ${words}` : ""),
    button("Go there", () => goTo(at), { "data-f": `s-go${n} ${row.id}`, "aria-label": `Go to the stop at ${clock(at)}` }),
    ...[[-1000, "−1 s"], [-100, "−0.1"], [100, "+0.1"], [1000, "+1 s"]].map(([by, label]) =>
      button(label, () => edit("move-stop", at, { to: (at + by) / 1000 }), { "data-f": `s${by}${n} ${row.id}`, "aria-label": `Stop ${label}` })),
    button("Here", () => edit("move-stop", at, { to: now() / 1000 }), { "data-f": `s-here${n} ${row.id}`, "aria-label": "Stop where the recording is" }),
    button("No stop", () => edit("remove-stop", at), { "data-f": `s-no${n} ${row.id}`, "aria-label": `Take the stop at ${clock(at)} away` })));
  const holds = row.holds.map(([start, end], n) => h("li", { class: "line tight" },
    h("span", {}, "Held from ", h("b", { class: "time", text: clock(start, true) }), ` for ${((end - start) / 1000).toFixed(1)} seconds`),
    button("Go there", () => goTo(start), { "data-f": `h-go${n} ${row.id}`, "aria-label": `Go to the hold at ${clock(start)}` }),
    button("Not a hold", () => edit("remove-hold", start), { "data-f": `h-no${n} ${row.id}`, "aria-label": `Not a hold: ${clock(start)}` })));
  return stops.length + holds.length ? h("ul", { class: "pieces" }, ...stops, ...holds) : null;
}

export function form(row) {
  const at = store.chapters.indexOf(row);
  const next = store.chapters[at + 1];
  const reclass = (fields) => {
    const here = rowOf(row.id);
    const made = { kind: here.kind, family: here.family, exercise: here.exercise, ...fields };
    for (const key of Object.keys(made)) if (!made[key]) delete made[key];
    return editChapter("reclassify", here, made);
  };
  return h("div", { class: "form", role: "group", "aria-label": `Change ${row.title}` },
    h("div", { class: "fields" }, titleField(row),
      select("Kind", `kind ${row.id}`, Object.entries(store.kinds), row.kind, (kind) => reclass({ kind })),
      select("Family", `family ${row.id}`, [["", "none"], ...Object.entries(store.families)], row.family, (family) => reclass({ family, exercise: null })),
      exerciseField(row)),
    at > 0 ? border("Begins", row.id, "b") : null,
    next ? border("Ends", next.id, "e") : null,
    h("div", { class: "line" },
      button("Play from its start", () => goTo(row.start, { play: true }), { "data-f": `play ${row.id}` }),
      at > 0 ? button("Join to the chapter before", () => edit("merge", rowOf(row.id).start), { "data-f": `merge ${row.id}` }) : null,
      button(row.hidden ? "Show to viewers" : "Hide from viewers", () => editChapter("hide", rowOf(row.id), { hidden: !rowOf(row.id).hidden }), { "data-f": `hide ${row.id}` })),
    row.hidden ? h("p", { class: "small", text: "Viewers get no words of it and the page jumps over it. The recording itself still holds it." }) : null,
    ...row.asked.map((_, n) => dose(row, n)), usual(row),
    h("div", { class: "line" },
      button("Add what was asked in class", () => addAsked(row.id, "class"), { "data-f": `ask ${row.id}` }),
      button("Add what to do at home", () => addAsked(row.id, "home"), { "data-f": `home ${row.id}` })),
    pieces(row),
    row.cautions.length ? h("ul", { class: "cautions" }, ...row.cautions.map(([words, , source]) => h("li", {}, words, " ", h("span", { class: "small", text: `(${source})` })))) : null,
    row.reasons.length ? h("details", {}, h("summary", { text: "Why this chapter is here" }), h("ul", {}, ...row.reasons.map((why) => h("li", { text: why })))) : null);
}

export function fillExercises() {
  el("exercises").replaceChildren(...store.exercises.map(([, name, plain]) => h("option", { value: name, label: plain === name ? null : plain })));
}
