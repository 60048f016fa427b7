// The practice panel: says what to do, counts and times it. It goes on only when it is told to.
const panel = el("practice");
const dial = dialOf(el("dial"));
const still = window.matchMedia("(prefers-reduced-motion: reduce)");
let turn = null;

const announce = (text) => { el("p-live").textContent = text; };
const note = (text) => write(el("p-note"), text);
const reached = () => turn.target !== null && turn.done >= turn.target;
const lastSet = () => turn.set >= turn.sets;

// goOn plays the class on; without it the panel was opened by hand and just closes.
function openPractice(index, stop, goOn) {
  endTurn();
  const [least, most] = stop.reps ?? [null, null];
  turn = {
    index, stop, goOn, least, most, run: null, done: 0, set: 1, wish: 0, phase: stop.reps ? "ready" : "ask",
    target: least ?? most, sets: stop.sets ? (stop.sets[0] ?? stop.sets[1]) : 1,
    mode: stop.pattern?.some(Boolean) ? "breath" : stop.hold ? "hold" : "reps",
  };
  announce("");
  note("");
  drawPractice();
  if (!panel.open) panel.showModal();
  panel.scrollTop = 0;
  el("p-title").focus();
}

function drawPractice() {
  if (!turn) return;
  const chapter = chapters[turn.index];
  el("p-title").replaceChildren(spoken("span", chapter.title));
  write(el("p-dose"), turn.stop.dose[language]);
  shown("p-dose", turn.stop.dose[language]);
  write(el("p-time"), turn.stop.takes ? say("asked_time", { length: lengthText(turn.stop.takes) }) : "");
  shown("p-time", turn.stop.takes && turn.phase !== "count");
  // Numbers that were said, but not for this: the viewer sees them and chooses.
  shown("p-said", chapter.doses.length);
  el("p-said").replaceChildren(...doseBlock(chapter));
  write(el("p-unsaid"), say(chapter.doses.length ? "said_some" : "not_said"));
  const care = careBlock(turn.index);
  const before = turn.phase !== "count";
  el("p-care").replaceChildren(...(before ? [care] : []));
  el("p-care-later").replaceChildren(...(before ? [] : [h("details", {}, h("summary", { text: say("care") }), care)]));
  write(el("p-done"), say(turn.goOn ? "done" : "done_close"));
  for (const phase of ["ask", "ready", "count"]) shown(`p-${phase}`, turn.phase === phase);
  panel.dataset.phase = turn.phase;
  drawWish();
  drawCount();
}

function drawWish() {
  write(el("p-wish"), turn.wish ? String(turn.wish) : say("not_chosen"));
  el("p-wish").className = turn.wish ? "" : "blank";
  shown("wish-start", turn.wish > 0);
  el("wish-fewer").disabled = turn.wish === 0;
  el("wish-more").classList.toggle("act", turn.wish === 0);
}

function begin() {
  turn.phase = "count";
  drawPractice();
  panel.scrollTop = 0;
  if (turn.mode !== "reps") act();
  // The button that was pressed has gone: the next one to press takes over.
  el("p-act").focus();
}

function ofText() {
  const { least, most, target } = turn;
  if (target === null) return say("counted");
  if (least !== null && most === null) return say("of", { n: say("at_least", { n: least }) });
  if (least === null && most !== null) return say("of", { n: say("at_most", { n: most }) });
  return say("of", { n: least === most ? least : say("range", { lo: least, hi: most }) });
}

function drawCount() {
  if (!turn || turn.phase !== "count") return;
  const running = turn.run && turn.run.key !== "rest";
  const sets = turn.sets > 1 ? say("set_of", { k: turn.set, n: turn.sets }) : "";
  if (!turn.run) {
    write(el("p-phase"), "");
    write(el("p-figure"), String(turn.done));
    write(el("p-unit"), ofText());
    dial.share(turn.target ? turn.done / turn.target : 0);
    dial.breath(null);
  }
  write(el("p-line"), [turn.target === null ? many("count_now", turn.done)
    : say("count_of", { n: turn.done, total: turn.target }), sets].filter(Boolean).join(", "));
  const marks = Math.min(turn.target ?? turn.done, 30);
  el("p-tally").replaceChildren(...Array.from({ length: marks }, (_, n) =>
    h("span", { class: n < turn.done ? "mark full" : "mark" })));
  write(el("p-act"), running ? say("stop_here") : turn.mode === "reps" ? say("one_done")
    : turn.mode === "hold" ? holdText() : say("breath_start"));
  write(el("p-pause"), say(turn.run?.paused ? "pause_over" : "pause_count"));
  shown("p-pause", turn.mode !== "reps");
  el("p-pause").disabled = !turn.run;
  shown("p-one", turn.mode !== "reps");
  el("p-undo").disabled = turn.done === 0;
  el("p-fewer").disabled = turn.target === null || turn.target <= 1;
  shown("p-next-set", turn.sets > 1);
  el("p-next-set").disabled = !reached() || lastSet();
  // The strong colour is on one button only: the thing to do now.
  const next = running || !reached() ? "p-act" : lastSet() ? "p-done" : "p-next-set";
  for (const id of ["p-act", "p-next-set", "p-done"]) el(id).classList.toggle("act", id === next);
}

function count(step) {
  const before = turn.done;
  turn.done = Math.max(0, turn.done + step);
  if (turn.done === before) return;
  const full = reached() && lastSet();
  note(full ? many("all_done", turn.done) : "");
  announce(full ? many("all_done", turn.done)
    : turn.target === null ? many("count_now", turn.done)
      : say("count_of", { n: turn.done, total: turn.target }));
  if (step > 0) {
    softTick(full);
    if (turn.mode === "reps") speak(String(turn.done));
  }
  drawCount();
}

// Adding or taking away changes how many are wanted, never how many were done.
function want(step) {
  turn.target = Math.max(1, (turn.target ?? turn.done) + step);
  turn.least = turn.most = turn.target;
  announce(say("count_of", { n: turn.done, total: turn.target }));
  drawCount();
}

function holdText() {
  const [lo, hi] = turn.stop.hold;
  if (lo === hi) return say("hold_start", { span: many("seconds", lo) });
  if (lo === null) return say("hold_start", { span: say("at_most", { n: many("seconds", hi) }) });
  if (hi === null) return say("hold_start", { span: say("at_least", { n: many("seconds", lo) }) });
  return say("hold_start", { span: say("range", { lo, hi: many("seconds", hi) }) });
}

function act() {
  const running = turn.run && turn.run.key !== "rest";
  if (turn.mode === "reps") return count(1);
  if (running) return stopRun();
  turn.run?.stop();
  return turn.mode === "hold" ? startHold() : startBreath(true);
}

const lead = () => (choice("lead", true) ? [{ key: "lead", seconds: 3 }] : []);

function go(steps, onTick, onEnd) {
  note("");
  turn.run = timedRun(steps, onTick, onEnd);
  turn.run.begin();
  drawCount();
}

function tickLead(step, now, fresh) {
  const left = Math.ceil(step.seconds - now);
  write(el("p-phase"), say("get_ready"));
  write(el("p-figure"), String(left));
  write(el("p-unit"), "");
  dial.share(now / step.seconds);
  dial.breath(null);
  if (fresh && left === step.seconds) announce(say("get_ready"));
}

function startHold() {
  const [lo, hi] = turn.stop.hold;
  const end = hi ?? lo;
  go([...lead(), { key: "hold", seconds: hi }], (step, now, fresh) => {
    if (step.key === "lead") return tickLead(step, now, fresh);
    const whole = Math.floor(now);
    write(el("p-phase"), say("holding"));
    write(el("p-figure"), String(whole));
    write(el("p-unit"), say("of", { n: many("seconds", end) }));
    dial.share(now / end);
    if (!fresh) return undefined;
    if (whole) {
      softTick();
      speak(String(whole));
    }
    if (lo !== null && whole >= lo) note(say("enough", { span: many("seconds", whole) }));
    if (lo !== null && whole === Math.ceil(lo) && hi !== lo) announce(say("enough", { span: many("seconds", whole) }));
    else if (whole === 0) announce(say("holding"));
    // A number each second would talk over itself: every fifth is enough to follow.
    else if (whole % 5 === 0) announce(String(whole));
    return undefined;
  }, (step, seconds) => finishHold(seconds));
}

function finishHold(seconds) {
  const [lo, hi] = turn.stop.hold;
  turn.run = null;
  const held = many("seconds", Math.floor(seconds));
  if (seconds < (lo ?? 1)) {
    drawCount();
    note(say("hold_short", { span: held }));
    announce(el("p-note").textContent);
    return;
  }
  count(1);
  softTick(true);
  if (reached()) return;
  const [least] = turn.stop.rest ?? [null];
  const rest = least ?? turn.stop.rest?.[1] ?? null;
  go([{ key: "rest", seconds: rest }], (step, now, fresh) => {
    write(el("p-phase"), say("resting"));
    write(el("p-figure"), String(Math.floor(now)));
    write(el("p-unit"), rest === null ? many("unit_seconds", Math.floor(now)) : say("of", { n: many("seconds", rest) }));
    dial.share(rest === null ? 0 : now / rest);
    if (fresh && now >= 1 && rest !== null) softTick();
  }, () => {
    turn.run = null;
    if (choice("by-itself", false)) return startHold();
    drawCount();
    note(say("rest_over"));
    return announce(say("rest_over"));
  });
  const text = say("hold_done", { span: many("seconds", Math.min(Math.floor(seconds), hi ?? Infinity)) });
  note(text);
  announce(`${text} ${el("p-line").textContent}`);
}

const PHASES = ["phase_in", "phase_hold", "phase_out", "phase_hold"];

function startBreath(first) {
  const beat = turn.stop.beat ?? 1;
  const steps = turn.stop.pattern.flatMap((beats, n) => (beats ? [{ key: `breath${n}`, seconds: beats * beat, phase: n }] : []));
  go([...(first ? lead() : []), ...steps], (step, now, fresh) => {
    if (step.key === "lead") return tickLead(step, now, fresh);
    const beats = Math.floor(now / beat);
    const share = still.matches ? (beats + 1) / Math.round(step.seconds / beat) : now / step.seconds;
    write(el("p-phase"), say(PHASES[step.phase]));
    write(el("p-figure"), String(beats + 1));
    write(el("p-unit"), say("of", { n: Math.round(step.seconds / beat) }));
    dial.share(share);
    dial.breath([share, 1, 1 - share, 0][step.phase]);
    const key = `${step.key}:${beats}`;
    if (turn.beaten !== key) {
      turn.beaten = key;
      softTick(beats === 0);
      if (beats === 0) {
        // Only the first two breaths are announced: after that a voice would be in the way.
        if (turn.done < 2) announce(say(PHASES[step.phase]));
        speak(say(PHASES[step.phase]));
      }
    }
    return undefined;
  }, () => {
    turn.run = null;
    turn.beaten = null;
    count(1);
    if (!reached()) startBreath(false);
  });
}

function stopRun() {
  const { key, seconds } = turn.run.stop();
  turn.run = null;
  if (key === "hold") finishHold(seconds);
  else {
    drawCount();
    announce(el("p-line").textContent);
  }
  hush();
}

function endTurn() {
  turn?.run?.stop();
  hush();
  turn = null;
}

function leave(done) {
  const { goOn, index } = turn;
  if (done) tick(chapters[index].id);
  else skippedInSet(index);
  endTurn();
  panel.close();
  if (goOn) goOn();
}

press("wish-more", () => { turn.wish += 1; drawWish(); announce(String(turn.wish)); });
press("wish-fewer", () => { turn.wish = Math.max(0, turn.wish - 1); drawWish(); announce(el("p-wish").textContent); });
press("wish-start", () => { turn.target = turn.least = turn.most = turn.wish; begin(); });
press("wish-open", begin);
press("p-start", begin);
press("p-act", act);
press("p-one", () => { if (turn.run) { turn.run.stop(); turn.run = null; } count(1); drawCount(); });
press("p-undo", () => count(-1));
press("p-fewer", () => want(-1));
press("p-more", () => want(1));
press("p-pause", () => {
  turn.run.pause(!turn.run.paused);
  note(turn.run.paused ? say("paused") : "");
  announce(say(turn.run.paused ? "paused" : "pause_off"));
  drawCount();
});
press("p-next-set", () => {
  turn.set += 1;
  turn.done = 0;
  note("");
  drawCount();
  announce(say("set_of", { k: turn.set, n: turn.sets }));
  el("p-act").focus();
});
press("p-done", () => leave(true));
panel.querySelectorAll(".skip").forEach((each) => each.addEventListener("click", () => leave(false)));
// Escape puts the panel away and leaves the recording where it stopped.
panel.addEventListener("close", endTurn);
