// What the page knows, and its words.
const packed = el("data");
const { lesson, name: mediaName, languages, texts } = JSON.parse(new TextDecoder().decode(
  inflate(Uint8Array.from(atob(packed.textContent.trim()), (c) => c.charCodeAt(0)), Number(packed.dataset.size)),
));
const media = el("media");
const chapters = lesson.chapters;
let language = document.documentElement.lang;
const redraws = []; // what to draw again when the language changes

const say = (key, values = {}) =>
  texts[language][key].replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole));
const many = (key, n) => say(`${key}_${n === 1 ? "one" : "many"}`, { n });

const shown = (id, yes) => { el(id).hidden = !yes; };
const write = (node, text) => { if (node.textContent !== text) node.textContent = text; };
const press = (id, action) => el(id)?.addEventListener("click", action);

function lengthText(seconds) {
  const whole = Math.round(seconds);
  const [minutes, rest] = [Math.floor(whole / 60), whole % 60];
  const parts = minutes ? [many("minutes", minutes)] : [];
  if (rest || !minutes) parts.push(many("seconds", rest));
  return parts.join(" ");
}

function chapterAt(seconds) {
  const found = chapters.findIndex((chapter) => seconds < chapter.end);
  return found < 0 ? chapters.length - 1 : found;
}
const indexOf = (id) => chapters.findIndex((chapter) => chapter.id === id);
const mains = chapters.map((_, n) => n).filter((n) => chapters[n].main);
const isExercise = (chapter) => chapter.main && chapter.kind !== "quiz";

const PLACES = { home: "at_home", class: "in_class", stop: "at_stop" };
function doseLines(chapter) {
  return chapter.doses.map(({ where, text }) => [say(PLACES[where]), text[language]]);
}

// What was said in class stays in the language it was said in; screen readers need to know.
const spoken = (tag, text, props = {}) => h(tag, { lang: lesson.language, text, ...props });
