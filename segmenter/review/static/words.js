// The word in hand: corrected here or everywhere, made the start of a caption, or taken out as a name.
import { counted, el, tell } from "./common.js";
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

export function prepareWords() {
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
    const done = await edit("replace-words", 0, { was, text }, { remember: el("word-remember").checked });
    if (done) tell(`${counted(n, "word")} changed`);
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
