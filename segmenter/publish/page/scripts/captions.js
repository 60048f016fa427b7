// Captions drawn by the page, so that size, place and background can be chosen.
const isTold = (secret) => !secret || told.has(answerKey(...secret));

function captionAt(at) {
  const rows = lesson.captions;
  let [low, high] = [0, rows.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (rows[middle][0] <= at) low = middle + 1;
    else high = middle;
  }
  const lines = [];
  // Captions hardly overlap: one before the last that began is far enough to look back.
  for (let n = Math.max(0, low - 2); n < low; n += 1) {
    const [, end, text, , secret] = rows[n];
    if (at < end && isTold(secret)) lines.push(text);
  }
  return lines.join("\n");
}

function drawCaption(at) {
  let text = captionAt(at);
  // Lines set for a wide picture would each break again; a speaker and a sound keep a line of their own.
  if (narrow) text = text.replace(/\n(?![-[])/g, " ");
  write(el("caption-text"), text);
  el("caption-text").hidden = !text;
}

function placeCaption() {
  const box = el("caption");
  for (const [key, otherwise] of captionChoices) box.dataset[key] = choice(`caption-${key}`, otherwise);
  const home = box.dataset.place === "below" ? el("caption-below") : el("frame");
  if (box.parentElement !== home) home.append(box);
  box.hidden = box.dataset.place === "off";
}
// On a telephone, words large enough to read would hide the face that shows the exercise.
const narrow = window.matchMedia("(max-width: 30rem)").matches;
const captionChoices = [["place", lesson.picture && !narrow ? "bottom" : "below"], ["size", "large"], ["back", "solid"]];

// Where a device shows the film in a window of its own, only the browser's captions can follow.
let native = null;
function nativeCaptions(yes) {
  if (!native) {
    native = media.addTextTrack("captions", say("captions"), lesson.language);
    for (const [start, end, text, , secret] of lesson.captions.filter((row) => isTold(row[4]) || row[4])) {
      if (secret && !isTold(secret)) continue;
      // Cue text is markup: what was said must stay text.
      native.addCue(new VTTCue(start, end, text.replace(/&/g, "&amp;").replace(/</g, "&lt;").replace(/>/g, "&gt;")));
    }
  }
  native.mode = yes && choice("caption-place", "bottom") !== "off" ? "showing" : "disabled";
}

function prepareCaptions() {
  placeCaption();
  document.querySelectorAll('[data-choice="caption-place"]').forEach((each) => {
    each.checked = each.value === el("caption").dataset.place;
  });
  media.addEventListener("webkitbeginfullscreen", () => nativeCaptions(true));
  media.addEventListener("webkitendfullscreen", () => nativeCaptions(false));
}
