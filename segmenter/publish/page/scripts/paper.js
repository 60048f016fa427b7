// The print view: every exercise with dose, care and a place to tick.
function drawPaper() {
  const ids = setIds();
  const only = ids.length && el("paper-set").checked;
  shown("paper-choice", ids.length);
  const list = only ? ids.map(indexOf) : mains;
  el("sheets").replaceChildren(...list.map((index) => {
    const chapter = chapters[index];
    return h("article", { class: "sheet" },
      h("h3", {}, shape(chapter.family), spoken("span", chapter.title)),
      h("p", { class: "facts", text: [chapter.family ? say(`family_${chapter.family}`) : "", media ? clock(chapter.start) : ""].filter(Boolean).join(", ") }),
      h("p", {}, ...doseBlock(chapter)),
      chapter.quiz.length ? h("ol", { class: "clues" }, ...chapter.quiz.map((item) => spoken("li", item.clue))) : null,
      isExercise(chapter) && (chapter.cautions.length || chapter.unwarned) ? h("ul", { class: "paper-care" },
        ...chapter.cautions.map(([text, source, reference]) => h("li", {},
          h("span", { class: "origin", text: say(source === "spoken" ? "care_spoken" : "care_usual") }), " ",
          spoken("span", text), reference ? h("span", { class: "source", text: ` ${say("care_source", { reference })}` }) : null)),
        chapter.unwarned ? h("li", { text: say("care_unsaid") }) : null) : null,
      isExercise(chapter) ? h("p", { class: "boxes" }, h("span", { text: `${say("paper_ticks")} ` }),
        ...Array.from({ length: 7 }, () => h("span", { class: "box", "aria-hidden": "true" }))) : null);
  }));
}

press("print", () => window.print());
el("paper-set").addEventListener("change", drawPaper);
window.addEventListener("beforeprint", drawPaper);
redraws.push(drawPaper);
