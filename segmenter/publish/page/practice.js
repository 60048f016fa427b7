// The practice panel: says what to do, counts and times it, and never moves on by itself.
const panel = el("practice");
let turn = null; // {stop, chapter, done, target, most, sets, set, timer, goOn}

const shown = (id, yes) => { el(id).hidden = !yes; };
const announce = (text) => { el("p-live").textContent = text; };
const secondsText = (n) => say(n === 1 ? "second" : "seconds", { n });
const note = (text) => { el("p-note").textContent = text; };

function openPractice(chapter, stop, goOn) {
  endTurn();
  const part = lesson.chapters[chapter];
  const [least, most] = stop.reps ?? [null, null];
  turn = {
    stop, goOn, done: 0, set: 1, wish: 0, timer: null,
    target: least ?? most, least, most,
    sets: stop.sets ? (stop.sets[0] ?? stop.sets[1]) : 1,
  };
  el("p-title").textContent = part.title;
  el("p-dose").textContent = stop.dose;
  el("p-time").textContent = stop.takes ? say("asked_time", { length: stop.takes }) : "";
  shown("p-dose", stop.dose);
  shown("p-time", stop.takes);
  const care = beside(chapter).querySelector(".care");
  el("p-care").replaceChildren(...(care ? [care.cloneNode(true)] : []));
  el("done").textContent = say(goOn ? "done" : "done_close");
  announce("");
  note("");
  if (stop.reps) startCounting();
  else askHowMany();
  if (!panel.open) panel.showModal();
  panel.scrollTop = 0;
  el("p-title").focus();
}

function askHowMany() {
  shown("p-ask", true);
  shown("p-count", false);
  drawWish();
}

function drawWish() {
  el("p-wish").textContent = turn.wish || say("not_chosen");
  el("p-wish").className = turn.wish ? "" : "blank";
  shown("wish-start", turn.wish > 0);
  el("wish-fewer").disabled = turn.wish === 0;
}

function startCounting() {
  shown("p-ask", false);
  shown("p-count", true);
  drawCount();
}

function ofText() {
  if (!turn.target) return say("counted");
  const { least, most } = turn;
  if (least !== null && most === null) return say("of", { n: say("at_least", { n: least }) });
  if (least === null && most !== null) return say("of", { n: say("at_most", { n: most }) });
  return say("of", { n: least === most ? least : `${least}–${most}` });
}

function drawCount() {
  const reached = turn.target && turn.done >= turn.target;
  const last = turn.set >= turn.sets;
  el("p-figure").textContent = turn.done;
  el("p-unit").textContent =
    ofText() + (turn.sets > 1 ? ` · ${say("set_of", { k: turn.set, n: turn.sets })}` : "");
  const marks = Math.min(turn.target ?? turn.done, 30);
  el("p-tally").replaceChildren(...Array.from({ length: marks }, (_, n) =>
    make("span", "", n < turn.done ? "mark full" : "mark")));
  shown("hold", turn.stop.hold);
  el("hold").textContent = holdText();
  shown("next-set", reached && !last);
  el("one-fewer").disabled = turn.done === 0;
  // The strong colour is on one button only: the thing to do now.
  const next = !reached ? (turn.stop.hold ? "hold" : "one-more") : last ? "done" : "next-set";
  for (const id of ["hold", "one-more", "next-set", "done"]) el(id).classList.toggle("act", id === next);
}

function count(step) {
  if (turn.timer) return;
  turn.done = Math.max(0, turn.done + step);
  drawCount();
  const reached = turn.target && turn.done >= turn.target && turn.set >= turn.sets;
  note(reached ? say("all_done", { n: turn.done }) : "");
  if (reached) announce(say("all_done", { n: turn.done }));
  else if (turn.target) announce(say("count_of", { n: turn.done, total: turn.target }));
  else announce(say("count_now", { n: turn.done }));
}

function holdText() {
  if (!turn.stop.hold) return "";
  const [lo, hi] = turn.stop.hold;
  if (lo === hi) return say("hold_start", { n: secondsText(lo) });
  if (lo === null) return say("hold_start_max", { n: secondsText(hi) });
  if (hi === null) return say("hold_start_min", { n: secondsText(lo) });
  return say("hold_start_range", { lo, n: secondsText(hi) });
}

function startHold() {
  if (turn.timer) return stopHold();
  const [lo, hi] = turn.stop.hold;
  const begun = performance.now();
  let last = -1;
  panel.classList.add("holding");
  for (const id of ["one-more", "one-fewer", "done", "next-set"]) el(id).disabled = true;
  el("hold").textContent = say("hold_stop");
  el("p-tally").replaceChildren();
  note(say("holding"));
  const tick = () => {
    const passed = Math.floor((performance.now() - begun) / 1000);
    if (passed === last) return;
    last = passed;
    turn.held = passed;
    el("p-figure").textContent = passed;
    el("p-unit").textContent = say("of", { n: secondsText(hi ?? lo) });
    const whole = Math.min(Math.ceil(hi ?? lo), 60);
    el("p-tally").replaceChildren(...Array.from({ length: whole }, (_, n) =>
      make("span", "", n < passed ? "mark full" : "mark")));
    if (hi !== null && passed >= hi) return stopHold();
    if (lo !== null && passed >= lo) {
      note(say("enough", { n: secondsText(passed) }));
      if (passed === Math.ceil(lo)) announce(say("enough", { n: secondsText(passed) }));
    } else if (passed === 0) announce(say("holding"));
    // A number each second would talk over itself: every fifth is enough to follow.
    else if (passed % 5 === 0) announce(String(passed));
  };
  turn.timer = setInterval(tick, 50);
  tick();
}

function clearHold() {
  if (turn?.timer) clearInterval(turn.timer);
  if (turn) turn.timer = null;
  panel.classList.remove("holding");
  for (const id of ["one-more", "one-fewer", "done", "next-set"]) el(id).disabled = false;
}

function stopHold() {
  const [lo, hi] = turn.stop.hold;
  clearHold();
  const enough = turn.held >= (lo ?? 1);
  if (!enough) {
    drawCount();
    const text = say("hold_short", { n: secondsText(turn.held) });
    note(text);
    return announce(text);
  }
  count(1);
  if (!(turn.target && turn.done >= turn.target)) {
    const text = say("hold_done", { n: secondsText(Math.min(turn.held, hi ?? turn.held)) });
    note(text);
    announce(`${text} ${el("p-figure").textContent} ${el("p-unit").textContent}`);
  }
}

function endTurn() {
  clearHold();
  turn = null;
}

function leave() {
  const goOn = turn?.goOn;
  endTurn();
  panel.close();
  if (goOn) goOn();
}

press("wish-more", () => { turn.wish += 1; drawWish(); announce(String(turn.wish)); });
press("wish-fewer", () => { turn.wish = Math.max(0, turn.wish - 1); drawWish(); announce(el("p-wish").textContent); });
press("wish-start", () => {
  turn.target = turn.least = turn.most = turn.wish;
  startCounting();
  el("p-title").focus();
});
press("wish-open", () => { startCounting(); el("p-title").focus(); });
press("one-more", () => count(1));
press("one-fewer", () => count(-1));
press("next-set", () => {
  turn.set += 1;
  turn.done = 0;
  note("");
  drawCount();
  announce(say("set_of", { k: turn.set, n: turn.sets }));
});
press("hold", startHold);
press("done", leave);
panel.querySelectorAll(".skip").forEach((button) => button.addEventListener("click", leave));
// Escape puts the panel away and leaves the recording where it stopped.
panel.addEventListener("close", endTurn);
