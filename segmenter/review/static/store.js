// The lesson as this window knows it, and the way of every change to the desk and back.
// A change waits in the browser's memory until the desk has it: a desk that is killed loses nothing.
import { ask, el, facts, tell } from "./common.js";

export const store = { ...facts, captions: null, captionChecks: [] };
const listeners = [];
export const onNews = (act) => listeners.push(act);

const kept = `desk-outbox ${facts.name}`;
const outbox = JSON.parse(localStorage.getItem(kept) ?? "[]");
let sending = false;
const answers = new Map(); // promises of this page's own changes, by key
const records = new Map(); // the record that a change became, by key

const keep = () => {
  if (outbox.length) localStorage.setItem(kept, JSON.stringify(outbox));
  else localStorage.removeItem(kept);
};

export function trouble(text, ...acts) {
  el("trouble").hidden = !text;
  el("trouble").replaceChildren(...(text ? [text, " ", ...acts] : []));
}

// Take in what the desk tells: an id alone stands for a chapter that is as it was.
export function takeIn(news) {
  const before = new Map(store.chapters.map((row) => [row.id, row]));
  const changed = new Set();
  if (news.chapters) {
    news.chapters = news.chapters.map((row) => {
      if (typeof row === "string") return before.get(row);
      changed.add(row.id);
      return row;
    });
    if (news.chapters.some((row) => row === undefined)) return refetch();
  }
  let words = null; // numbers of changed words, or "all"
  if (news.words) words = "all";
  if (news.changedWords) {
    words = news.changedWords.map(([n]) => n);
    const all = store.words.slice();
    for (const [n, row] of news.changedWords) all[n] = row;
    news.words = all;
  }
  Object.assign(store, news);
  for (const act of listeners) act({ changed, words });
  return undefined;
}

async function refetch() {
  takeIn(await ask("since"));
}

// Which chapter a change is about, to know whether another window had its hands there.
function touches(body, changed) {
  const at = Math.round((body.edit?.at ?? -1) * 1000);
  if (at < 0 || body.edit.do === "title-lesson") return true;
  return store.chapters.some((row) => changed.has(row.id) && row.start <= at + 1 && at <= row.end);
}

// Send everything that waits, one after the other.
async function flush() {
  if (sending || !outbox.length) return;
  sending = true;
  const item = outbox[0];
  try {
    // What goes on with a change before it takes that one's place, so that both are one step to take back.
    const amends = records.get(item.after);
    const body = amends ? { ...item.body, edit: { ...item.body.edit, amends } } : item.body;
    const news = await ask(item.path, { ...body, key: item.key, seen: store.version });
    records.set(item.key, news.record ?? amends);
    outbox.shift();
    keep();
    trouble(null);
    takeIn(news);
    answers.get(item.key)?.(news);
  } catch (error) {
    if (error.status === 409) await overtaken(item, error.news);
    else if (error.status) {
      outbox.shift();
      keep();
      trouble(`This did not work: ${error.message}.`);
      answers.get(item.key)?.(null);
      for (const act of listeners) act({ changed: new Set(store.chapters.map((row) => row.id)), words: null });
    } else {
      trouble("Not saved yet: the desk does not answer. Your changes are kept here and are saved when it runs again.");
      await new Promise((resolve) => { setTimeout(resolve, 1000); });
    }
  }
  sending = false;
  if (outbox.length && !held) flush();
}

let held = false; // a question about the first change waits for a person
async function overtaken(item, news) {
  const seen = new Set((news.chapters ?? []).filter((row) => typeof row !== "string").map((row) => row.id));
  takeIn(news);
  if (item.path === "edit" && !touches(item.body, seen)) return; // theirs was elsewhere: ours goes again
  held = true;
  const answer = (mine) => {
    held = false;
    if (!mine) {
      outbox.shift();
      keep();
      answers.get(item.key)?.(null);
    }
    trouble(null);
    flush();
  };
  const make = (text, mine) => {
    const node = document.createElement("button");
    node.type = "button";
    node.textContent = text;
    node.addEventListener("click", () => answer(mine));
    return node;
  };
  trouble("Somebody changed this in another window a moment ago. You see theirs now.",
    make("Make my change all the same", true), make("Leave theirs", false));
}

export function change(path, body, { key = crypto.randomUUID(), after = null } = {}) {
  const done = new Promise((resolve) => { answers.set(key, resolve); });
  outbox.push({ path, body, key, after });
  keep();
  flush();
  return done.finally(() => answers.delete(key));
}

export const edit = (do_, at, more = {}, { remember, ...chain } = {}) =>
  change("edit", { edit: { do: do_, at: at / 1000, ...more }, ...(remember ? { remember } : {}) }, chain);
export const editChapter = (do_, row, more = {}, chain = {}) => edit(do_, row.start, { until: row.end / 1000, ...more }, chain);
export const undo = () => change("undo", {}).then((news) => news && tell(`Taken back. Next: ${news.undo ?? "nothing"}`));
export const redo = () => change("redo", {}).then((news) => news && tell("Done again"));

// A field that saves itself while it is typed in: what stands there for a moment is sent, as one step to undo.
// Its state outlives its node, since a form is drawn anew after each answer, also in the middle of a word.
const fields = new Map();
export function typed(name, field, send) {
  const state = fields.get(name) ?? { field: null, timer: null, first: 0, sent: "", after: null };
  fields.set(name, state);
  const typing = state.field !== null && state.field === document.activeElement;
  if (!typing) state.sent = field.value;
  state.field = field;
  state.go = () => {
    clearTimeout(state.timer);
    state.first = 0;
    const value = state.field.value.trim();
    if (!value || value === state.sent) return;
    state.sent = value;
    const key = crypto.randomUUID();
    send(value, { key, after: state.after });
    state.after = key;
  };
  field.addEventListener("input", () => {
    const now = Date.now();
    state.first ||= now;
    clearTimeout(state.timer);
    state.timer = setTimeout(state.go, Math.max(0, Math.min(500, state.first + 900 - now)));
  });
  field.addEventListener("change", state.go);
  field.addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); state.go(); } });
  field.addEventListener("blur", () => setTimeout(() => { if (document.activeElement !== state.field) state.after = null; }, 50));
  return (value) => { field.value = state.sent = value; }; // it was changed elsewhere
}

// Whoever closes the window in the middle of a word has said it all the same.
addEventListener("pagehide", () => { for (const state of fields.values()) state.go(); });

export async function loadCaptions() {
  const found = await ask("captions");
  if (found.version !== store.version) return;
  store.captions = found.captions;
  store.captionChecks = found.checks;
  for (const act of listeners) act({ changed: new Set(), words: null, captions: true });
}

let late = null;
onNews(({ captions }) => {
  if (captions) return;
  clearTimeout(late);
  late = setTimeout(() => loadCaptions().catch(() => {}), 1200); // captions of a long class are work: not at each step
});

export function listen() {
  const source = new EventSource("news");
  source.addEventListener("message", async (event) => {
    const { version, problem } = JSON.parse(event.data);
    if (problem) trouble(`This lesson cannot be read any more: ${problem}.`);
    else if (version !== store.version && !sending && !outbox.length) {
      const news = await ask(`since?seen=${encodeURIComponent(store.version)}`);
      if (news.version !== store.version) {
        takeIn(news);
        tell("Changed in another window");
      }
    }
  });
  flush();
  loadCaptions().catch(() => {});
}
