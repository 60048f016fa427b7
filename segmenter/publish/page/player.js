// Plays the recording, stops it for practice, and keeps the present exercise in view.
let present = -1;
let seen = 0; // last moment that was really played up to
const auto = el("auto");
const cues = { captions: null, words: [] };
const stops = lesson.chapters.flatMap((chapter, c) =>
  chapter.stops.map((stop, s) => ({ ...stop, chapter: c, index: s })));

function drawNow(seconds) {
  const index = chapterAt(seconds);
  if (index !== present) showChapter(index);
  if (!media) return;
  el("now-clock").textContent = clock(seconds);
  const next = stops.find((stop) => stop.at > seconds + 0.05);
  const key = auto.checked ? "next_stop" : "next_stop_off";
  const text = next ? say(key, { at: next.clock, left: clock(Math.ceil(next.at - seconds)) }) : say("no_stop");
  if (el("now-next").textContent !== text) el("now-next").textContent = text;
}

function showChapter(index) {
  present = index;
  const chapter = lesson.chapters[index];
  if (!chapter) return;
  el("now-title").textContent = chapter.title;
  el("now-dose").textContent = chapter.main && chapter.kind !== "quiz"
    ? chapter.doses.map((dose) => `${say(dose.where === "home" ? "at_home" : "in_class")}: ${dose.text}`).join(" · ")
      || say("no_dose")
    : "";
  document.querySelectorAll(".beside").forEach((article, n) => { article.hidden = n !== index; });
  fillWords(index);
  const main = (n) => lesson.chapters[n]?.main;
  const others = lesson.chapters.map((_, n) => n).filter(main);
  el("before").disabled = !others.some((n) => n < index);
  el("after").disabled = !others.some((n) => n > index);
}

function fillWords(index) {
  const { start, end } = lesson.chapters[index];
  const list = beside(index).querySelector(".words ol");
  const rows = lesson.captions.filter((row) => row[0] >= start && row[0] < end && isTold(row[4]));
  list.replaceChildren(...rows.map(([at, , text]) => {
    const item = make("li");
    if (media) {
      const button = make("button", clock(at), "time");
      button.type = "button";
      button.setAttribute("aria-label", say("words_from", { at: clock(at) }));
      button.addEventListener("click", () => go(at, true));
      item.append(button);
    } else item.append(make("span", clock(at), "time"));
    item.append(make("span", text.replace(/\n/g, " ")));
    return item;
  }));
}
afterTelling.push(() => { if (present >= 0) fillWords(present); });

// A stop counts when playing crosses it; a jump over it does not.
function follow() {
  const at = media.currentTime;
  if (media.seeking) return;
  if (at > seen && at - seen < 2) {
    tellSpoken(seen, at);
    const stop = auto.checked && stops.find((each) => seen < each.at && each.at <= at);
    if (stop) {
      seen = at;
      halt(stop);
    }
  }
  seen = at;
  arm(at);
  drawNow(at);
}

// The browser stops exactly at the end of an armed cue, also in a window that is not looked at.
// Only the cue being played is armed: one left armed would stop playing again after a jump.
function arm(at) {
  for (const cue of cues.stops.cues ?? []) {
    cue.pauseOnExit = at !== null && auto.checked && !media.paused && cue.startTime <= at && at < cue.endTime;
  }
}

function halt(stop) {
  arm(null);
  media.pause();
  const full = document.fullscreenElement === media;
  if (full) document.exitFullscreen().catch(() => {});
  openPractice(stop.chapter, stop, () => {
    go(Math.max(stop.resume, stop.at + 0.01), true);
    if (full) media.requestFullscreen().catch(() => {});
  });
}

function go(seconds, play) {
  seen = seconds;
  if (media) {
    arm(null);
    media.currentTime = seconds;
    if (play) media.play().catch(() => {});
  }
  drawNow(seconds);
}

function goChapter(index, play) {
  go(lesson.chapters[index].start, play);
}

function step(direction) {
  const order = lesson.chapters.map((_, n) => n).filter((n) => lesson.chapters[n].main);
  const next = direction > 0 ? order.find((n) => n > present) : order.findLast((n) => n < present);
  if (next !== undefined) openChapter(next);
}

function setAuto() {
  arm(media.currentTime);
  remember("auto", auto.checked ? "yes" : "no");
  drawNow(media.currentTime);
}

function setCaptions(where) {
  cues.captions.mode = where === "picture" ? "showing" : "hidden";
  el("caption").hidden = where !== "below";
  remember("captions", where);
}

function prepareMedia() {
  cues.captions = media.addTextTrack("captions", say("captions"), document.documentElement.lang);
  cues.stops = media.addTextTrack("metadata");
  cues.stops.mode = "hidden";
  for (const [start, end, text] of lesson.captions) {
    const cue = new VTTCue(start, end, "");
    // Cue text is markup: what was said must stay text.
    cue.text = text.replace(/&/g, "&amp;").replace(/</g, "&lt;").replace(/>/g, "&gt;");
    cue.plain = text;
    cues.captions.addCue(cue);
  }
  cues.captions.addEventListener("cuechange", () => {
    el("caption").textContent = [...(cues.captions.activeCues ?? [])].map((cue) => cue.plain).join("\n");
  });
  for (const stop of stops) {
    const cue = new VTTCue(Math.max(0, stop.at - 1), stop.at, "");
    cue.addEventListener("exit", follow);
    cues.stops.addCue(cue);
  }
  for (const event of ["timeupdate", "pause"]) media.addEventListener(event, follow);
  media.addEventListener("seeking", () => { seen = media.currentTime; arm(null); });
  media.addEventListener("seeked", () => { seen = media.currentTime; drawNow(seen); });
  const frame = () => {
    follow();
    if (!media.paused) requestAnimationFrame(frame);
  };
  media.addEventListener("play", () => { el("play").textContent = say("pause"); requestAnimationFrame(frame); });
  media.addEventListener("pause", () => { el("play").textContent = say("play"); });
  media.addEventListener("error", () => {
    el("media-fault").hidden = false;
    el("media-fault").textContent = say("no_media", { name: lesson.media });
  });
  press("play", () => (media.paused ? media.play().catch(() => {}) : media.pause()));
  press("back", () => go(Math.max(0, media.currentTime - 10), !media.paused));
  press("again", () => goChapter(present, true));
  auto.checked = recall("auto") !== "no";
  auto.addEventListener("change", setAuto);
  choose("speed", (value) => { media.defaultPlaybackRate = media.playbackRate = Number(value); });
  choose("captions", setCaptions);
  setAuto();
}

function choose(name, action) {
  const inputs = [...document.querySelectorAll(`input[name="${name}"]`)];
  const kept = inputs.find((input) => input.value === recall(name));
  if (kept) kept.checked = true;
  inputs.forEach((input) => input.addEventListener("change", () => {
    action(input.value);
    remember(name, input.value);
  }));
  action(inputs.find((input) => input.checked).value);
}

document.querySelectorAll(".beside").forEach((article, c) =>
  article.querySelectorAll("[data-stop]").forEach((button) =>
    button.addEventListener("click", () => {
      if (media) media.pause();
      openPractice(c, lesson.chapters[c].stops[Number(button.dataset.stop)], null);
    })));
