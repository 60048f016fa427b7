// Plays the recording and stops it where practice or an answer is asked for.
let seen = 0; // last moment that was really played up to
let cues = null;
const stops = [
  ...chapters.flatMap((chapter, c) => chapter.stops.map((stop, s) => ({ ...stop, kind: "practice", chapter: c, index: s }))),
  ...quizStops,
].sort((one, other) => one.at - other.at);
const autoStops = () => choice("auto", true);

const hiddenAt = (at) => lesson.hidden.find(([start, end]) => start <= at && at < end - 0.05);
const hidesTheEnd = ([, end]) => end >= lesson.seconds - 0.1;

// A stop counts when playing crosses it; a jump over it does not.
function follow() {
  const at = media.currentTime;
  if (media.seeking) return;
  const from = seen;
  const hidden = media.paused ? undefined : hiddenAt(at);
  if (hidden) {
    if (hidesTheEnd(hidden)) media.pause();
    else goTo(hidden[1], true);
    return;
  }
  if (at > from && at - from < 2) {
    const stop = autoStops() && stops.find((each) => from < each.at && each.at <= at);
    if (stop) {
      seen = at;
      halt(stop);
    }
    // A word takes a moment to be spoken: a stop that comes just before it is not too late.
    tellSpoken(from - 0.25, at - 0.25);
  }
  seen = at;
  arm(at);
  drawNow(at);
  if (at > from && !media.paused) followSet(from, at);
}

// The browser stops exactly at the end of an armed cue, also in a window that is not looked at.
// Only the cue being played is armed: one left armed would stop playing again after a jump.
function arm(at) {
  for (const cue of cues.cues ?? []) {
    cue.pauseOnExit = at !== null && autoStops() && !media.paused && cue.startTime <= at && at < cue.endTime;
  }
}

function halt(stop) {
  const late = media.currentTime - stop.at;
  arm(null);
  media.pause();
  media.dataset.late = late.toFixed(3);
  // On a device too busy to stop in time, the picture goes back to where it should rest.
  if (late > 0.1) media.currentTime = stop.at;
  const full = document.fullscreenElement === el("stage");
  if (full) document.exitFullscreen().catch(() => {});
  const goOn = () => {
    if (full) el("stage").requestFullscreen().catch(() => {});
    if (!setGoesOn(stop)) goTo(Math.max(stop.resume, stop.at + 0.01), true);
    el("play").focus();
  };
  if (stop.kind === "quiz") openThink(stop, goOn);
  else openPractice(stop.chapter, stop, goOn);
}

function play() {
  media.play().catch(() => {});
}

// Nobody lands in what an editor hid: the next moment that is shown takes its place.
function goTo(wanted, playing) {
  const hidden = hiddenAt(wanted);
  const seconds = !hidden ? wanted : hidesTheEnd(hidden) ? Math.max(0, hidden[0] - 0.05) : hidden[1];
  seen = seconds;
  if (media) {
    arm(null);
    media.currentTime = seconds;
    if (playing) play();
  }
  drawNow(seconds);
}

function stepChapter(direction) {
  const next = direction > 0 ? mains.find((n) => n > present) : [...mains].reverse().find((n) => n < present);
  if (next !== undefined) openChapter(next);
}

// Where "how" and "why" end and doing begins, if that is still to come in this exercise.
const TALK = new Set(["why", "how", "chat"]);
function skipTarget(at) {
  const { parts } = chapters[present];
  const now = parts.find(([, start, end]) => start <= at && at < end);
  if (!now || !TALK.has(now[0])) return null;
  const next = parts.find(([kind, start]) => start > at && !TALK.has(kind));
  return next ? next[1] : null;
}

function keepPlace() {
  if (present >= 0 && media.currentTime > 1) keep("last", Math.floor(media.currentTime));
}

function prepareMedia() {
  cues = media.addTextTrack("metadata");
  cues.mode = "hidden";
  for (const [n, stop] of stops.entries()) {
    // Long before its end, so that it is armed in time also where the device is busy.
    const cue = new VTTCue(Math.max(0, stops[n - 1]?.at ?? 0, stop.at - 30), stop.at, "");
    cue.addEventListener("exit", follow);
    cues.addCue(cue);
  }
  prepareCaptions();
  el("watch").style.setProperty("--ratio", lesson.picture ?? 1);
  for (const event of ["timeupdate", "pause"]) media.addEventListener(event, follow);
  media.addEventListener("seeking", () => { seen = media.currentTime; arm(null); });
  media.addEventListener("seeked", () => { seen = media.currentTime; drawNow(seen); });
  const frame = () => {
    follow();
    if (!media.paused) requestAnimationFrame(frame);
  };
  media.addEventListener("play", () => { drawPlay(); arm(media.currentTime); requestAnimationFrame(frame); });
  media.addEventListener("pause", () => { drawPlay(); keepPlace(); });
  media.addEventListener("click", () => (media.paused ? play() : media.pause()));
  media.addEventListener("ratechange", () => { media.preservesPitch = true; });
  media.addEventListener("error", drawFault);
  window.addEventListener("pagehide", keepPlace);
  press("play", () => (media.paused ? play() : media.pause()));
  press("back", () => goTo(Math.max(0, media.currentTime - 10), !media.paused));
  press("again", () => goTo(chapters[present].start, true));
  press("skip-talk", () => {
    const target = skipTarget(media.currentTime);
    if (target !== null) goTo(target, true);
    el("play").focus();
  });
  el("place").addEventListener("input", () => goTo(Number(el("place").value), !media.paused));
  press("large", () => {
    if (document.fullscreenElement) document.exitFullscreen().catch(() => {});
    else if (el("stage").requestFullscreen) el("stage").requestFullscreen().catch(() => {});
    else media.webkitEnterFullscreen?.();
  });
  if (media.error) drawFault();
}

function drawFault() {
  shown("fault", true);
  write(el("fault"), say("no_media", { name: mediaName }));
}
