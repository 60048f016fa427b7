// The recording: play, step, and who wants to know where it is.
import { clock, el } from "./common.js";
import { store } from "./store.js";

export const media = el("media");
const followers = [];
export const onTime = (act) => followers.push(act);
let own = 0; // the place, where there is no recording to keep it

export const now = () => (store.media ? Math.round(media.currentTime * 1000) : own);

export function goTo(ms, { play = false } = {}) {
  const at = Math.max(0, Math.min(ms, store.lesson.length));
  own = at;
  if (store.media) {
    media.currentTime = at / 1000;
    if (play) media.play().catch(() => {});
  }
  draw(at);
}
export const step = (seconds) => goTo(now() + seconds * 1000);
export function toggle() {
  if (!store.media) return;
  if (media.paused) media.play().catch(() => {});
  else media.pause();
}

function draw(at = now()) {
  el("clock").textContent = `${clock(at, true)} of ${clock(store.lesson.length)}`;
  el("place").value = at / 1000;
  el("place").setAttribute("aria-valuetext", clock(at));
  for (const act of followers) act(at);
}

export function prepare() {
  el("place").max = store.lesson.length / 1000;
  el("place").addEventListener("input", () => goTo(el("place").value * 1000));
  for (const each of document.querySelectorAll("[data-step]")) {
    each.addEventListener("click", () => step(Number(each.dataset.step)));
    const value = Number(each.dataset.step);
    each.setAttribute("aria-label", `${Math.abs(value)} second${Math.abs(value) === 1 ? "" : "s"} ${value < 0 ? "back" : "on"}`);
  }
  el("play").addEventListener("click", toggle);
  if (!store.media) {
    el("no-media").hidden = false;
    media.hidden = true;
    el("play").disabled = true;
  } else {
    media.src = "media";
    const frame = () => {
      draw();
      if (!media.paused) requestAnimationFrame(frame);
    };
    media.addEventListener("play", () => { el("play").textContent = "Pause"; requestAnimationFrame(frame); });
    media.addEventListener("pause", () => { el("play").textContent = "Play"; draw(); });
    media.addEventListener("seeked", () => draw());
    media.addEventListener("click", toggle);
    media.addEventListener("error", () => { el("no-media").hidden = false; });
  }
  draw();
}
