// Finds what was said. Quiz answers cannot be found before they were told.
const fold = (text) => text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();
let folded = null; // made at the first search, so that a long class opens at once

function findWords(query) {
  const wanted = fold(query).split(/\s+/).filter(Boolean);
  if (!wanted.length) return [];
  folded ??= [
    ...chapters.map((chapter) => ({ at: chapter.start, text: chapter.title, secret: null })),
    ...lesson.captions.map(([at, , text, , secret]) => ({ at, text: text.replace(/\n/g, " "), secret })),
  ].map((row) => ({ ...row, plain: fold(row.text) })).sort((one, other) => one.at - other.at);
  return folded.filter(({ plain, secret }) => isTold(secret) && wanted.every((word) => plain.includes(word)));
}

function showHits() {
  const query = el("q").value.trim();
  const hits = findWords(query);
  write(el("found"), !query ? "" : !hits.length ? say("no_hits", { q: query }) : many("hits", hits.length));
  el("hits").replaceChildren(...hits.slice(0, 60).map(({ at, text }) => {
    const hit = button("", () => openAt(at, true), { class: "hit" });
    hit.append(h("span", { class: "time", text: clock(at) }), spoken("span", text),
      spoken("span", chapters[chapterAt(at)].title, { class: "kin" }));
    return h("li", {}, hit);
  }));
}

el("search").addEventListener("submit", (event) => { event.preventDefault(); showHits(); });
el("q").addEventListener("input", showHits);
afterTelling.push(showHits);
redraws.push(showHits);
