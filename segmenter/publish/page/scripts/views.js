// Which view is open. The address says it too, so that it can be shared and the way back works.
const VIEWS = { find: "#list", watch: null, set: "#set", paper: "#print" };

function view(name) {
  document.body.dataset.view = name;
  for (const each of Object.keys(VIEWS)) shown(each, each === name);
  document.querySelectorAll("nav a").forEach((link) => {
    if (link.hash === VIEWS[name]) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  });
  document.title = name === "watch" && present >= 0 ? `${chapters[present].title} – ${lesson.title}` : lesson.title;
}

let written = null;
function address(hash) {
  written = hash;
  if (location.hash !== hash) location.hash = hash;
}

function land(id) {
  window.scrollTo(0, 0);
  el(id).focus({ preventScroll: true });
}

function openChapter(index, playNow = true, inSet = false) {
  if (!inSet) playing = null;
  goTo(chapters[index].start, playNow);
  view("watch");
  address(`#chapter=${encodeURIComponent(chapters[index].id)}`);
  land("now-title");
}

function openAt(seconds, playNow) {
  playing = null;
  goTo(seconds, playNow);
  view("watch");
  address(`#t=${Math.round(seconds * 1000) / 1000}`);
  land("now-title");
}

function openView(name) {
  if (name !== "watch") playing = null;
  if (media) media.pause();
  ({ find: drawFind, set: drawSet, paper: drawPaper })[name]();
  write(el("set-said"), "");
  view(name);
  address(VIEWS[name]);
  land(`${name}-title`);
}

// A link from elsewhere opens the place and waits: sound never starts by itself.
function readAddress() {
  if (location.hash === written) return;
  written = location.hash;
  const wanted = new URLSearchParams(location.hash.slice(1));
  const index = indexOf(wanted.get("chapter"));
  const at = Number.parseFloat(wanted.get("t"));
  const other = Object.keys(VIEWS).find((name) => VIEWS[name] === location.hash);
  if (panel.open) panel.close();
  if (think.open) think.close();
  if (index >= 0) openChapter(index, false);
  else if (at >= 0 && chapters.length) openAt(Math.min(at, lesson.seconds), false);
  else if (other) openView(other);
  else {
    if (media) media.pause();
    view("find");
  }
}

prepareLanguages();
drawTexts();
prepareSettings();
if (media) {
  prepareMedia();
  drawStrip();
  drawPlay();
}
drawFind();
drawSet();
document.querySelectorAll("nav a").forEach((link) => link.addEventListener("click", (event) => {
  event.preventDefault();
  openView(Object.keys(VIEWS).find((name) => VIEWS[name] === link.hash));
}));
window.addEventListener("hashchange", readAddress);
view("find");
el("app").hidden = false;
readAddress();
document.body.dataset.ready = "yes";
