// Pieces of page that more than one view shows.
function careBlock(index, level = "h3") {
  const chapter = chapters[index];
  const line = (words, source, reference = null) => h("li", { class: source },
    h("span", { class: "origin", text: say(source === "spoken" ? "care_spoken" : "care_usual") }),
    source === "page" ? h("span", { text: words }) : spoken("span", words),
    reference ? h("span", { class: "source", text: say("care_source", { reference }) }) : null);
  return h("div", { class: "care" },
    h(level, { text: say("care") }),
    h("p", { class: "defer", text: say("defer") }),
    h("ul", {},
      ...chapter.cautions.map(([text, source, reference]) => line(text, source, reference)),
      chapter.unwarned ? h("li", { class: "page", text: say("care_unsaid") }) : null,
      line(say("stop_rest"), "page"),
      line(say("stop_help"), "page")));
}

function doseBlock(chapter) {
  if (!isExercise(chapter)) return [];
  const lines = doseLines(chapter);
  if (!lines.length) return [h("span", { class: "dose unsaid", text: say("no_dose") })];
  return lines.map(([where, text]) => h("span", { class: "dose" },
    h("span", { class: "where", text: `${where}: ` }), h("span", { text })));
}

function factsLine(chapter) {
  const length = lengthText(chapter.end - chapter.start);
  return h("span", { class: "facts" },
    chapter.main ? shape(chapter.family) : null,
    h("span", { text: chapter.family ? `${say(`family_${chapter.family}`)}, ${length}` : length }));
}
