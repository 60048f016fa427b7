// Answers stay out of the page until they were spoken or asked for.
const told = new Set();
const answerKey = (chapter, question) => `${chapter}:${question}`;
const isTold = (secret) => !secret || told.has(answerKey(...secret));
const afterTelling = [];

function tell(chapter, question) {
  const key = answerKey(chapter, question);
  if (told.has(key)) return;
  told.add(key);
  const button = beside(chapter).querySelector(`[data-answer="${question}"]`);
  if (button) {
    const place = button.nextElementSibling;
    place.textContent = `${say("answer")}: ${lesson.chapters[chapter].quiz[question].answer}`;
    place.tabIndex = -1;
    if (document.activeElement === button) place.focus();
    button.hidden = true;
  }
  afterTelling.forEach((action) => action());
}

// Only an answer that was played counts as spoken; jumping over it does not.
function tellSpoken(from, to) {
  lesson.chapters.forEach((chapter, c) =>
    chapter.quiz.forEach((item, q) => {
      if (item.start !== null && from <= item.start && item.start < to) tell(c, q);
    }));
}

document.querySelectorAll(".beside").forEach((article, c) =>
  article.querySelectorAll("[data-answer]").forEach((button) =>
    button.addEventListener("click", () => tell(c, Number(button.dataset.answer)))));
