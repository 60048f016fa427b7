// Small helpers that every part of the desk uses; the rest of them it shares with the lesson page.
import { button, clock as whole, el, h, shape } from "/look/dom.js";

export { button, el, h, shape };
export const facts = JSON.parse(el("data").textContent);

export function clock(ms, tenths = false) {
  const text = whole(ms / 1000);
  return tenths ? `${text}.${Math.floor((Math.max(0, ms) % 1000) / 100)}` : text;
}
export const counted = (n, thing) => `${n} ${thing}${n === 1 ? "" : "s"}`;

// Say what was done: read aloud, and shown for a while at the foot of the page.
let hush = null;
export function tell(text) {
  const said = el("told");
  said.textContent = "";
  requestAnimationFrame(() => { said.textContent = text; });
  clearTimeout(hush);
  hush = setTimeout(() => { said.textContent = ""; }, 8000);
}

// Ask the desk; a fault comes back as an error with its plain words.
export async function ask(path, values) {
  const answer = await fetch(path, values === undefined ? {} : {
    method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(values),
  }).catch(() => { throw new Error("the desk does not answer. Start it again, then try once more"); });
  const found = await answer.json().catch(() => ({ problem: "the desk gave no answer that can be read" }));
  if (answer.ok) return found;
  const error = new Error(found.problem);
  error.status = answer.status;
  error.news = found.news;
  throw error;
}
