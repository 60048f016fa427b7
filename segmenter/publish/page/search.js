// Finds what was said. Quiz answers cannot be found before they were told.
const fold = (text) => text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();

function findWords(query) {
  const wanted = fold(query).split(/\s+/).filter(Boolean);
  if (!wanted.length) return [];
  const titles = lesson.chapters.map((chapter) => [chapter.start, chapter.title]);
  const lines = lesson.captions.filter((row) => isTold(row[4])).map((row) => [row[0], row[2].replace(/\n/g, " ")]);
  return [...titles, ...lines].filter(([, text]) => wanted.every((word) => fold(text).includes(word)))
    .sort((a, b) => a[0] - b[0]);
}

function showHits() {
  const query = el("q").value.trim();
  const hits = findWords(query);
  el("found").textContent = !query ? "" : !hits.length ? say("no_hits", { q: query })
    : say(hits.length === 1 ? "hit" : "hits", { n: hits.length });
  el("hits").replaceChildren(...hits.slice(0, 60).map(([at, text]) => {
    const item = make("li");
    const button = make("button", "", "hit");
    button.type = "button";
    button.append(make("span", clock(at), "time"), make("span", text),
      make("span", lesson.chapters[chapterAt(at)].title, "kin"));
    button.addEventListener("click", () => openAt(at, true));
    item.append(button);
    return item;
  }));
}

el("search").addEventListener("submit", (event) => { event.preventDefault(); showHits(); });
el("q").addEventListener("input", showHits);
afterTelling.push(showHits);
