// Answers stay out of the page until they were spoken or asked for.
const told = new Set();
const answerKey = (chapter, question) => `${chapter}:${question}`;
const afterTelling = [];

function tell(chapter, question) {
  if (told.has(answerKey(chapter, question))) return;
  told.add(answerKey(chapter, question));
  afterTelling.forEach((action) => action());
}

const answerText = (chapter, question) => `${say("answer")}: ${chapters[chapter].quiz[question].answer}`;

// Only an answer that was played counts as spoken; jumping over it does not.
function tellSpoken(from, to) {
  chapters.forEach((chapter, c) => chapter.quiz.forEach((item, q) => {
    if (item.start !== null && from <= item.start && item.start < to) tell(c, q);
  }));
}

// A stop after each clue, early enough that the answer cannot slip through.
const quizStops = chapters.flatMap((chapter, c) => chapter.quiz.flatMap((item, q) => {
  if (item.start === null || item.start < item.from + 0.5) return [];
  const at = Math.max(item.from + 0.1, Math.min(item.to, item.start - 0.3));
  return [{ kind: "quiz", at, resume: at, chapter: c, index: q }];
}));

const think = el("think");
let thinking = null;

function openThink(stop, goOn) {
  thinking = { stop, goOn };
  write(el("t-clue"), chapters[stop.chapter].quiz[stop.index].clue);
  el("t-clue").lang = lesson.language;
  drawThink();
  think.showModal();
  el("t-title").focus();
}

function drawThink() {
  if (!thinking) return;
  const { chapter, index } = thinking.stop;
  const open = told.has(answerKey(chapter, index));
  write(el("t-answer"), open ? answerText(chapter, index) : "");
  shown("t-show", !open);
  el("t-on").classList.toggle("act", true);
}

press("t-show", () => {
  tell(thinking.stop.chapter, thinking.stop.index);
  el("t-on").focus();
});
press("t-on", () => {
  const { goOn } = thinking;
  think.close();
  goOn();
});
think.addEventListener("close", () => { thinking = null; });
afterTelling.push(drawThink);

function quizBlock(index) {
  const items = chapters[index].quiz;
  if (!items.length) return null;
  return h("div", { class: "quiz" }, h("h3", { text: say("quiz") }), h("ol", {}, ...items.map((item, q) => {
    const place = h("p", { class: "answer", tabindex: "-1", "aria-live": "polite" });
    const show = button(say("show_answer"), () => {
      tell(index, q);
      document.querySelectorAll("#beside .answer")[q]?.focus();
    }, { "aria-label": `${say("show_answer")}: ${item.clue}` });
    if (item.answer === null) return h("li", {}, spoken("p", item.clue), h("p", { text: say("no_answer") }));
    const open = told.has(answerKey(index, q));
    if (open) place.textContent = answerText(index, q);
    return h("li", {}, spoken("p", item.clue), open ? null : show, place);
  })));
}
