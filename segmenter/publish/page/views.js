// Which of the two views is open: the list, or one place in the class. The address says it too.
function view(name) {
  document.body.dataset.view = name;
  el("watch").hidden = name !== "watch";
  el("besides").hidden = name !== "watch";
}

let written = null;
function address(hash) {
  written = hash;
  if (location.hash !== hash) location.hash = hash;
}

function openChapter(index, play = true) {
  view("watch");
  address(`#chapter=${encodeURIComponent(lesson.chapters[index].id)}`);
  goChapter(index, play);
  land();
}

function openAt(seconds, play) {
  view("watch");
  address(`#t=${Math.round(seconds * 1000) / 1000}`);
  go(seconds, play);
  land();
}

function land() {
  window.scrollTo(0, 0);
  el("now-title").focus({ preventScroll: true });
}

function openList() {
  view("find");
  address("#list");
  if (media) media.pause();
  window.scrollTo(0, 0);
  el("find-title").focus({ preventScroll: true });
}

// A link from elsewhere opens the place and waits: sound never starts by itself.
function readAddress() {
  if (location.hash === written) return;
  written = location.hash;
  const wanted = new URLSearchParams(location.hash.slice(1));
  const index = lesson.chapters.findIndex((chapter) => chapter.id === wanted.get("chapter"));
  const at = Number.parseFloat(wanted.get("t"));
  if (index >= 0) openChapter(index, false);
  else if (at >= 0 && lesson.chapters.length) openAt(Math.min(at, lesson.seconds), false);
  else {
    view("find");
    if (media) media.pause();
  }
}

document.querySelectorAll("[data-open]").forEach((button) => button.addEventListener("click", () =>
  openChapter(lesson.chapters.findIndex((chapter) => chapter.id === button.dataset.open))));
document.querySelectorAll(".to-list").forEach((button) => button.addEventListener("click", openList));
press("before", () => step(-1));
press("after", () => step(1));
press("print", () => window.print());
if (media) prepareMedia();
window.addEventListener("hashchange", readAddress);
view("find");
readAddress();
document.body.dataset.ready = "yes";
