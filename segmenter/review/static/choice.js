// Which chapter and which word a person has in hand.
import { store } from "./store.js";

export const chosen = { id: null, word: null, follow: [] };

export function choose(id, { word = null } = {}) {
  if (chosen.id === id && chosen.word === word) return;
  chosen.id = id;
  chosen.word = word;
  for (const act of chosen.follow) act();
}
export const chapterOf = (id) => store.chapters.find((row) => row.id === id);
export const chapterAt = (ms) => store.chapters.find((row) => ms < row.end) ?? store.chapters.at(-1);
export const inHand = () => chapterOf(chosen.id);
