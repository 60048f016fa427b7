// What the page knows, and small helpers every other part uses.
const lesson = JSON.parse(document.getElementById("data").textContent);
const texts = lesson.texts;
const el = (id) => document.getElementById(id);
const media = el("media");
const say = (key, values = {}) =>
  texts[key].replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole));

function clock(seconds) {
  const whole = Math.max(0, Math.floor(seconds));
  const [h, m, s] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60, whole % 60];
  const two = (n) => String(n).padStart(2, "0");
  return h ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`;
}

function chapterAt(seconds) {
  const found = lesson.chapters.findIndex((chapter) => seconds < chapter.end);
  return found < 0 ? lesson.chapters.length - 1 : found;
}

function make(tag, text, className) {
  const node = document.createElement(tag);
  if (text) node.textContent = text;
  if (className) node.className = className;
  return node;
}

function press(id, action) {
  const button = el(id);
  if (button) button.addEventListener("click", action);
}

const beside = (index) => document.querySelectorAll(".beside")[index];

// A page on a stick may be refused storage: a choice is then kept for this visit only.
function remember(key, value) {
  try {
    localStorage.setItem(`class-page.${key}`, value);
  } catch { /* kept for this visit only */ }
}

function recall(key) {
  try {
    return localStorage.getItem(`class-page.${key}`);
  } catch {
    return null;
  }
}
