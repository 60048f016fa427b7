// While the class holds or breathes, the page shows how long: in view beside the exercise.
const paceDial = media && dialOf(el("pace-dial"));

function paceOf(chapter, at) {
  const inside = ([start, end]) => start <= at && at < end;
  const hold = chapter.holds.find(inside);
  if (hold) {
    const [start, end] = hold;
    return { word: say("holding"), number: Math.floor(at - start), share: (at - start) / (end - start), breath: null,
      unit: say("of", { n: many("seconds", Math.round(end - start)) }) };
  }
  const breath = chapter.breaths.find(inside);
  if (!breath) return null;
  const [start, end, numbers, phase, beat] = breath;
  const share = (at - start) / (end - start);
  const step = Math.min(numbers.length - 1, Math.floor(beat ? (at - start) / beat : share * numbers.length));
  const full = still.matches ? (step + 1) / numbers.length : share;
  return { word: phase === null ? say("breath_count") : say(PHASES[phase]), number: numbers[step], share,
    unit: say("of", { n: numbers[numbers.length - 1] }),
    breath: phase === null ? null : [full, 1, 1 - full, 0][phase] };
}

function drawPace(at) {
  const chapter = chapters[present];
  const wanted = choice("pace", true) && (chapter.holds.length || chapter.breaths.length);
  shown("pace", wanted);
  const found = wanted ? paceOf(chapter, at) : null;
  el("pace").classList.toggle("idle", !found);
  if (!found) return;
  write(el("pace-word"), found.word);
  write(el("pace-number"), String(found.number));
  write(el("pace-unit"), found.unit);
  paceDial.share(found.share);
  paceDial.breath(found.breath);
}
