// The list of exercises, and its filter by family.
let family = null;

function entry(index) {
  const chapter = chapters[index];
  const opener = button("", () => openChapter(index), { class: "entry", "data-open": chapter.id });
  opener.append(
    h("span", { class: "still" }, chapter.still ? h("img", { src: chapter.still, alt: "", loading: "lazy" }) : shape(chapter.family)),
    h("span", { class: "about" },
      spoken("span", chapter.title, { class: "name" }),
      factsLine(chapter),
      ...doseBlock(chapter),
      chapter.credit ? h("bdi", { class: "facts", text: chapter.credit }) : null,
      chapter.stops.length && media ? h("span", { class: "facts", text: many("with_stops", chapter.stops.length) }) : null));
  const pick = button("", () => togglePick(chapter.id), { class: "pick" });
  drawPick(pick, chapter.id);
  return h("li", { class: "row" }, opener, chapter.main ? pick : null);
}

function drawPick(node, id) {
  const yes = setIds().includes(id);
  node.textContent = say(yes ? "in_set" : "add_set");
  node.setAttribute("aria-pressed", String(yes));
  node.setAttribute("aria-label", `${node.textContent}: ${chapters[indexOf(id)].title}`);
}

function drawFind() {
  const families = [...new Set(mains.map((n) => chapters[n].family).filter(Boolean))];
  if (family && !families.includes(family)) family = null;
  shown("filter", families.length > 1);
  const filter = (key, text) => {
    const one = button("", () => {
      family = key;
      drawFind();
      write(el("filtered"), many("filtered", el("entries").children.length));
      document.querySelector("#filter [aria-pressed=true]").focus();
    }, { "aria-pressed": String(family === key) });
    if (key) one.append(shape(key));
    one.append(h("span", { text }));
    return one;
  };
  el("filter-buttons").replaceChildren(filter(null, say("all_kinds")),
    ...families.map((key) => filter(key, say(`family_${key}`))));
  const chosen = mains.filter((n) => !family || chapters[n].family === family);
  el("entries").replaceChildren(...chosen.map(entry));
  shown("entries", chosen.length);
  shown("none", !mains.length);
  shown("whole", chapters.length);
  write(el("whole"), say(media ? "whole" : "read_whole"));
  const rest = chapters.map((_, n) => n).filter((n) => !chapters[n].main);
  shown("others", rest.length);
  el("other-entries").replaceChildren(...rest.map(entry));
  drawResume();
}

function drawResume() {
  const at = kept("last", null);
  const there = media && at !== null && at < lesson.seconds - 5;
  shown("resume", there);
  if (there) write(el("resume"), say("resume", { title: chapters[chapterAt(at)].title, at: clock(at) }));
}

press("whole", () => openAt(0, true));
press("resume", () => openAt(kept("last", 0), true));
redraws.push(drawFind);
