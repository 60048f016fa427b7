// The word in hand: corrected here or everywhere, made the start of a caption, or taken out as a name.
import { clock, counted, el, tell } from "./common.js";
import { choose, chosen } from "./choice.js";
import { nodeOf, show } from "./paper.js";
import { edit, onNews, store } from "./store.js";

const bare = (text) => text.toLowerCase().replace(/^[^\p{L}\p{N}]+|[^\p{L}\p{N}]+$/gu, "");
const word = () => (chosen.word === null ? null : store.words[chosen.word]);
const same = () => store.words.filter(([, , text]) => bare(text) === bare(word()[2])).length;
let shown = null;

function draw() {
  const row = word();
  el("word-bar").hidden = !row;
  if (!row) {
    shown = null;
    return;
  }
  const [start, , text, heard] = row;
  if (shown !== `${chosen.word} ${text}`) {
    shown = `${chosen.word} ${text}`;
    el("word-text").value = text;
  }
  el("word-heard").textContent = heard && heard !== text ? `Heard: “${heard}”` : "";
  el("word-all").textContent = same() > 1 ? `Change all ${same()}` : "Change everywhere";
  const first = (store.captions ?? []).some(([at]) => Math.abs(at - start) < 120);
  el("word-break").disabled = first;
  el("word-join").disabled = !first;
}

function back() {
  const node = chosen.word === null ? null : nodeOf(chosen.word);
  node?.closest(".words")?.focus({ preventScroll: true });
  if (node) show(node);
}

// Where a phrase is said: the number of its first word at each place.
function places(phrase) {
  const wanted = phrase.split(/\s+/).map(bare).filter(Boolean);
  const found = [];
  for (let n = 0; wanted.length && n + wanted.length <= store.words.length; n += 1) {
    if (wanted.every((part, k) => bare(store.words[n + k][2]) === part)) {
      found.push(n);
      n += wanted.length - 1;
    }
  }
  return found;
}

async function replace(was, text, remember, n) {
  if (await edit("replace-words", 0, { was, text }, { remember })) tell(`${counted(n, "place")} changed`);
}

function prepareReplace() {
  const [was, text] = [el("replace-was"), el("replace-text")];
  const look = () => {
    const found = places(was.value);
    el("replace-go").disabled = !found.length || !text.value.trim();
    el("replace-go").textContent = found.length > 1 ? `Change all ${found.length}` : "Change it";
    el("replace-found").textContent = !was.value.trim() ? "" : found.length
      ? `Said ${counted(found.length, "time")}, first at ${clock(store.words[found[0]][0])}.` : "Not said in this class.";
  };
  for (const field of [was, text]) field.addEventListener("input", look);
  onNews(look);
  el("replace-form").addEventListener("submit", (event) => {
    event.preventDefault();
    replace(was.value.trim(), text.value.trim(), el("replace-remember").checked, places(was.value).length);
  });
}
export function openReplace() {
  el("replace-box").open = true;
  el("replace-was").focus();
}

export function prepareWords() {
  prepareReplace();
  chosen.follow.push(draw);
  onNews(draw);
  const one = async () => {
    const [start, , was] = word();
    const text = el("word-text").value.trim();
    if (!text || text === was) return back();
    if (await edit("set-word", start, { was, text })) tell(`“${was}” is now “${text}”`);
    return back();
  };
  el("word-form").addEventListener("submit", (event) => { event.preventDefault(); one(); });
  el("word-all").addEventListener("click", async () => {
    const was = bare(word()[2]);
    const text = el("word-text").value.trim();
    if (!text || bare(text) === was) return;
    const n = same();
    await replace(was, text, el("word-remember").checked, n);
    back();
  });
  el("word-name").addEventListener("click", async () => {
    if (await edit("remove-name", 0, { was: bare(word()[2]) })) tell("The name is taken out of every text");
    back();
  });
  el("word-break").addEventListener("click", async () => {
    if (await edit("break-caption", word()[0], { was: word()[2] })) tell("A new caption begins here");
  });
  el("word-join").addEventListener("click", async () => {
    if (await edit("join-caption", word()[0], { was: word()[2] })) tell("Joined to the caption before");
  });
  const close = () => {
    back();
    choose(chosen.id);
    draw();
    document.querySelector(".w.picked")?.classList.remove("picked");
  };
  el("word-close").addEventListener("click", close);
  el("word-bar").addEventListener("keydown", (event) => { if (event.key === "Escape") close(); });
}
