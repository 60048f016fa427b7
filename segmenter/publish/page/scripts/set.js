// My set: exercises chosen for today, played in order; ticks by day, kept on this device.
let playing = null; // {ids, at, skipped} while a set is played

function togglePick(id) {
  const ids = setIds();
  keep("set", ids.includes(id) ? ids.filter((each) => each !== id) : [...ids, id]);
  drawSet();
  const open = document.activeElement?.closest(".pick");
  document.querySelectorAll("#find .row").forEach((row) => {
    const key = row.querySelector(".entry").dataset.open;
    const pick = row.querySelector(".pick");
    if (pick) drawPick(pick, key);
  });
  if (present >= 0) drawPick(el("watch-pick"), chapters[present].id);
  write(el("told"), say(setIds().includes(id) ? "added" : "removed", { title: chapters[indexOf(id)].title }));
  open?.focus();
}

function move(id, step) {
  const ids = setIds();
  const from = ids.indexOf(id);
  ids.splice(from, 1);
  ids.splice(from + step, 0, id);
  keep("set", ids);
  drawSet();
  write(el("told"), say("moved", { title: chapters[indexOf(id)].title, n: from + step + 1 }));
  const buttons = document.querySelectorAll(`[data-in-set="${CSS.escape(id)}"] .order button`);
  [...buttons].find((each) => !each.disabled)?.focus();
}

function drawSet() {
  const ids = setIds();
  write(el("set-count"), ids.length ? String(ids.length) : "");
  shown("set-empty", !ids.length);
  shown("set-play", ids.length && media);
  const left = ids.filter((id) => !ticked(id));
  write(el("set-play"), say(left.length && left.length < ids.length ? "set_rest" : "set_play"));
  el("set-entries").replaceChildren(...ids.map((id, n) => {
    const chapter = chapters[indexOf(id)];
    const name = (key) => ({ "aria-label": `${say(key)}: ${chapter.title}` });
    const done = button("", () => { tick(id, !ticked(id)); drawSet(); document.querySelector(`[data-in-set="${CSS.escape(id)}"] .tick`).focus(); },
      { class: "tick", "aria-pressed": String(ticked(id)), "aria-label": `${say("done_today")}: ${chapter.title}` });
    done.append(h("span", { class: "box", "aria-hidden": "true", text: ticked(id) ? "✓" : "" }), h("span", { text: say("done_today") }));
    const up = button(say("up"), () => move(id, -1), name("up"));
    const down = button(say("down"), () => move(id, 1), name("down"));
    up.disabled = n === 0;
    down.disabled = n === ids.length - 1;
    return h("li", { class: "chosen", "data-in-set": id },
      h("h3", {}, shape(chapter.family), spoken("span", chapter.title)),
      h("div", {}, ...doseBlock(chapter)),
      h("div", { class: "controls order" }, done,
        button(say("open"), () => openChapter(indexOf(id)), name("open")), up, down,
        button(say("remove"), () => { togglePick(id); el("set-title").focus(); }, name("remove"))));
  }));
  drawDays();
}

const dayText = (day) => new Intl.DateTimeFormat(language, { weekday: "long", day: "numeric", month: "long" })
  .format(new Date(`${day}T12:00:00`));
const titleOf = (id) => chapters[indexOf(id)]?.title ?? say("not_here");

function drawDays() {
  const days = Object.entries(ticks()).sort().reverse();
  shown("days-none", !days.length);
  shown("export", days.length);
  shown("erase", days.length || setIds().length || kept("last", null) !== null);
  el("days").replaceChildren(...days.slice(0, 30).map(([day, ids]) => h("li", {},
    h("strong", { text: day === today() ? say("today") : dayText(day) }),
    h("span", { text: `${many("ticked", ids.length)}: ${ids.map(titleOf).join(", ")}` }))));
}

// A cell that begins like a formula must stay text in a spreadsheet.
const cell = (text) => `"${(/^[=+\-@\t\r]/.test(text) ? `'${text}` : text).replace(/"/g, '""')}"`;

function exportTicks() {
  const rows = Object.entries(ticks()).sort().flatMap(([day, ids]) => ids.map((id) => [day, titleOf(id)]));
  const lines = [[say("day"), say("exercise")], ...rows].map((row) => row.map(cell).join(","));
  const address = URL.createObjectURL(new Blob([`\ufeff${lines.join("\r\n")}\r\n`], { type: "text/csv" }));
  h("a", { href: address, download: `${today()}.csv` }).click();
  setTimeout(() => URL.revokeObjectURL(address), 10000);
  write(el("told"), say("exported"));
}

function playSet() {
  const ids = setIds();
  const open = ids.findIndex((id) => !ticked(id));
  playing = { ids, at: Math.max(0, open) };
  openChapter(indexOf(ids[playing.at]), true, true);
}

const setPlace = () => (playing ? say("set_place", { n: playing.at + 1, total: playing.ids.length }) : "");

// In a set the class goes on with the next chosen exercise where this one ends.
function followSet(from, at) {
  if (!playing) return;
  const index = indexOf(playing.ids[playing.at]);
  const { own, end } = chapters[index];
  const last = end - 0.05;
  if (at < last || from > end + 0.3) return;
  // An exercise that the class never stops for is practised after it was shown.
  if (own && autoStops() && playing.offered !== index) {
    playing.offered = index;
    halt({ ...own, at: last, kind: "practice", chapter: index });
  } else nextInSet();
}

function setGoesOn(stop) {
  if (!playing || chapters[stop.chapter].id !== playing.ids[playing.at]) return false;
  if (stop.resume < chapters[stop.chapter].end - 0.1) return false;
  nextInSet();
  return true;
}

// What was only watched counts as done, since not every exercise has something to practise; what was skipped does not.
function skippedInSet(index) {
  if (playing && chapters[index].id === playing.ids[playing.at]) playing.skipped = true;
}

function nextInSet() {
  if (!playing.skipped) tick(playing.ids[playing.at]);
  playing.skipped = false;
  playing.at += 1;
  if (playing.at < playing.ids.length) openChapter(indexOf(playing.ids[playing.at]), true, true);
  else {
    const done = playing.ids.every(ticked);
    playing = null;
    openView("set");
    write(el("set-said"), say(done ? "set_done" : "set_over"));
  }
}

press("set-play", playSet);
press("export", exportTicks);
press("erase", () => { shown("erase-sure", true); el("erase-no").focus(); });
press("erase-no", () => { shown("erase-sure", false); el("erase").focus(); });
press("erase-yes", () => {
  erase();
  shown("erase-sure", false);
  drawSet();
  drawFind();
  write(el("told"), say("erased"));
  el("set-title").focus();
});
redraws.push(drawSet);
