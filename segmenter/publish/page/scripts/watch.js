// Keeps the present exercise, its part, its dose and the next stop in view.
let present = -1;

function partAt(at) {
  const found = chapters[present].parts.find(([, start, end]) => start <= at && at < end);
  return found ? say(`part_${found[0]}`) : "";
}

function drawNow(at) {
  if (!chapters.length) return;
  const index = chapterAt(at);
  if (index !== present) showChapter(index);
  const inSet = setPlace();
  write(el("now-part"), [partAt(at), inSet].filter(Boolean).join(" · "));
  if (!media) return;
  write(el("now-clock"), `${clock(at)} / ${clock(lesson.seconds)}`);
  const next = stops.find((stop) => stop.at > at + 0.05);
  const key = !autoStops() ? "next_off" : next?.kind === "quiz" ? "next_quiz" : "next_stop";
  write(el("now-next"), next ? say(key, { at: clock(next.at), left: clock(Math.ceil(next.at - at)) }) : say("no_stop"));
  shown("skip-talk-box", skipTarget(at) !== null);
  const slider = el("place");
  if (document.activeElement !== slider || Math.abs(slider.value - at) > 1) slider.value = at;
  slider.setAttribute("aria-valuetext", `${lengthText(at)}, ${chapters[present].title}`);
  drawCaption(at);
  drawPace(at);
}

function showChapter(index) {
  present = index;
  const chapter = chapters[index];
  if (!chapter) return;
  el("now-title").replaceChildren(chapter.main ? shape(chapter.family) : "", spoken("span", chapter.title));
  el("now-dose").replaceChildren(...doseBlock(chapter));
  drawBeside();
  el("before").disabled = !mains.some((n) => n < index);
  el("after").disabled = !mains.some((n) => n > index);
  drawPick(el("watch-pick"), chapter.id);
  shown("watch-pick", chapter.main);
  if (!media) return;
  document.querySelectorAll("#strip span").forEach((piece, n) => piece.classList.toggle("here", n === index));
}

function drawBeside() {
  if (present < 0) return;
  const chapter = chapters[present];
  const offers = chapter.own ? [chapter.own] : chapter.stops;
  const openWords = el("beside").querySelector(".words")?.open ?? !media;
  el("beside").replaceChildren(...[
    offers.length ? h("div", { class: "stops" }, h("h3", { text: say("practise") }),
      h("ul", {}, ...offers.map((stop) => h("li", {}, button(
        [say("practise_here"), media && stop !== chapter.own ? `(${clock(stop.at)})` : "", stop.dose[language]].filter(Boolean).join(" "),
        () => {
          media?.pause();
          openPractice(present, stop, null);
        }))))) : null,
    quizBlock(present),
    isExercise(chapter) ? careBlock(present) : null,
    h("details", { class: "words", open: openWords }, h("summary", { text: say("words") }), h("ol", {}, ...wordRows(chapter))),
  ].filter(Boolean));
}

function wordRows({ start, end }) {
  return lesson.captions.filter((row) => row[0] >= start && row[0] < end && isTold(row[4])).map(([at, , text]) =>
    h("li", {},
      media ? button(clock(at), () => goTo(at, true), { class: "time", "aria-label": say("words_from", { at: clock(at) }) })
        : h("span", { class: "time", text: clock(at) }),
      spoken("span", text.replace(/\n/g, " "))));
}

function drawPlay() {
  write(el("play-word"), say(media.paused ? "play" : "pause"));
  el("play").dataset.state = media.paused ? "paused" : "playing";
}

// The class as one strip: a piece a chapter, a mark a stop.
function drawStrip() {
  const spare = lesson.hidden.map(([start, end]) => ({ start, end, hidden: true }));
  const pieces = [...chapters, ...spare].sort((one, other) => one.start - other.start);
  el("strip").replaceChildren(...pieces.map((each) => {
    const piece = h(each.hidden ? "b" : "span", { class: each.main ? "main" : "" });
    piece.style.flexGrow = Math.max(each.end - each.start, lesson.seconds / 300);
    return piece;
  }), ...stops.map((stop) => {
    const mark = h("i", { class: stop.kind });
    mark.style.left = `${(100 * stop.at) / lesson.seconds}%`;
    return mark;
  }));
}

press("before", () => stepChapter(-1));
press("after", () => stepChapter(1));
press("watch-pick", () => togglePick(chapters[present].id));
press("link", async () => {
  const at = media ? `t=${Math.floor(media.currentTime)}` : `chapter=${encodeURIComponent(chapters[present].id)}`;
  const address = `${location.href.split("#")[0]}#${at}`;
  shown("link-box", true);
  el("link-text").value = address;
  el("link-text").focus();
  el("link-text").select();
  try {
    await navigator.clipboard.writeText(address);
    write(el("link-said"), say("link_copied"));
  } catch {
    write(el("link-said"), say("link_here"));
  }
});
afterTelling.push(drawBeside);
redraws.push(() => {
  if (present >= 0) {
    showChapter(present);
    drawNow(media ? media.currentTime : chapters[present].start);
  }
  if (media) {
    drawPlay();
    if (!el("fault").hidden) drawFault();
  }
  drawThink();
  drawPractice();
});
