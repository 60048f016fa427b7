// Small helpers that every part of the desk uses.
export const el = (id) => document.getElementById(id);
export const facts = JSON.parse(el("data").textContent);

export function h(tag, props = {}, ...inside) {
  const node = document.createElement(tag);
  for (const [key, value] of Object.entries(props)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) node.addEventListener(key.slice(2), value);
    else if (key === "text") node.textContent = value;
    else if (key === "class") node.className = value;
    else if (key === "value") node.value = value;
    else node.setAttribute(key, value === true ? "" : value);
  }
  node.append(...inside.filter((each) => each !== null && each !== undefined && each !== false));
  return node;
}
export const button = (text, press, props = {}) => h("button", { type: "button", text, onclick: press, ...props });

const space = "http://www.w3.org/2000/svg";
export function shape(family) {
  const drawn = document.createElementNS(space, "svg");
  drawn.setAttribute("class", "shape");
  drawn.setAttribute("viewBox", "0 0 24 24");
  drawn.setAttribute("aria-hidden", "true");
  const use = document.createElementNS(space, "use");
  use.setAttribute("href", `#shape-${family ?? "none"}`);
  drawn.append(use);
  return drawn;
}

export function clock(ms, tenths = false) {
  const whole = Math.max(0, Math.floor(ms / 1000));
  const [hours, minutes, rest] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60, whole % 60];
  const two = (n) => String(n).padStart(2, "0");
  const text = hours ? `${hours}:${two(minutes)}:${two(rest)}` : `${minutes}:${two(rest)}`;
  return tenths ? `${text}.${Math.floor((Math.max(0, ms) % 1000) / 100)}` : text;
}
export const counted = (n, thing) => `${n} ${thing}${n === 1 ? "" : "s"}`;
export const tell = (text) => { el("told").textContent = ""; requestAnimationFrame(() => { el("told").textContent = text; }); };

// Ask the desk; a fault comes back as an error with its plain words.
export async function ask(path, values) {
  const answer = await fetch(path, values === undefined ? {} : {
    method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(values),
  });
  const found = await answer.json().catch(() => ({ problem: "the desk gave no answer that can be read" }));
  if (answer.ok) return found;
  const error = new Error(found.problem);
  error.status = answer.status;
  error.news = found.news;
  throw error;
}
