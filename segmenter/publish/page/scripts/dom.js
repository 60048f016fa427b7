// Small helpers that the lesson page and the desk share.
const el = (id) => document.getElementById(id);

function h(tag, props = {}, ...inside) {
  const node = document.createElement(tag);
  for (const [key, value] of Object.entries(props)) {
    if (value === null || value === undefined || value === false) continue;
    if (typeof value === "function") node.addEventListener(key, value);
    else if (key === "class") node.className = value;
    else if (key === "text") node.textContent = value;
    else if (key === "value") node.value = value;
    else node.setAttribute(key, value === true ? "" : value);
  }
  node.append(...inside.filter((each) => each !== null && each !== undefined && each !== false));
  return node;
}
const button = (text, click, props = {}) => h("button", { type: "button", text, click, ...props });

const space = document.querySelector("svg").namespaceURI;

function shape(family) {
  const drawn = document.createElementNS(space, "svg");
  drawn.setAttribute("class", "shape");
  drawn.setAttribute("viewBox", "0 0 24 24");
  drawn.setAttribute("aria-hidden", "true");
  const use = document.createElementNS(space, "use");
  use.setAttribute("href", `#shape-${family ?? "none"}`);
  drawn.append(use);
  return drawn;
}

function clock(seconds) {
  const whole = Math.max(0, Math.floor(seconds));
  const [hours, minutes, rest] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60, whole % 60];
  const two = (n) => String(n).padStart(2, "0");
  return hours ? `${hours}:${two(minutes)}:${two(rest)}` : `${minutes}:${two(rest)}`;
}
