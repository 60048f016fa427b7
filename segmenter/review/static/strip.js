// The class in time: level of the sound, speech, held sounds, chapters. One strip for all of it, one for this minute.
import { clock, el } from "./common.js";
import { chosen, choose } from "./choice.js";
import { goTo, now, onTime } from "./player.js";
import { edit, onNews, store } from "./store.js";

const NEAR_MS = 40_000;
let levels = new Uint8Array();
let drag = null; // a border under the pointer: {from, to}
const ink = {};

function colours() {
  const style = getComputedStyle(document.documentElement);
  for (const name of ["paper", "sheet", "ink", "soft", "line", "do", "care"]) ink[name] = style.getPropertyValue(`--${name}`).trim();
}

function fit(canvas) {
  const ratio = window.devicePixelRatio || 1;
  const [wide, high] = [canvas.clientWidth, Number(canvas.getAttribute("height")) ];
  if (canvas.dataset.fit !== `${wide} ${ratio}`) {
    canvas.dataset.fit = `${wide} ${ratio}`;
    canvas.style.height = `${high}px`;
    canvas.dataset.high = high;
  }
  if (canvas.width !== Math.round(wide * ratio)) canvas.width = Math.round(wide * ratio);
  const pen = canvas.getContext("2d");
  const tall = Math.round(Number(canvas.dataset.high) * ratio);
  if (canvas.height !== tall) canvas.height = tall;
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.clearRect(0, 0, wide, Number(canvas.dataset.high));
  return [pen, wide, Number(canvas.dataset.high)];
}

function paint(canvas, from, to, near) {
  const [pen, wide, high] = fit(canvas);
  const x = (ms) => ((ms - from) / (to - from)) * wide;
  const seen = ([start, end]) => end >= from && start <= to;
  const base = high - (near ? 20 : 6);
  pen.fillStyle = ink.sheet;
  pen.fillRect(0, 0, wide, high);
  for (const row of store.chapters) {
    if (!seen([row.start, row.end])) continue;
    if (row.id === chosen.id) {
      pen.fillStyle = `color-mix(in srgb, ${ink.line} 22%, ${ink.sheet})`;
      pen.fillRect(x(row.start), 0, x(row.end) - x(row.start), high);
    }
    if (row.hidden) hatch(pen, x(row.start), x(row.end), high);
  }
  pen.fillStyle = ink.line;
  for (const span of store.marks.speech) if (seen(span)) pen.fillRect(x(span[0]), base, Math.max(1, x(span[1]) - x(span[0])), near ? 5 : 3);
  const top = near ? 20 : 4;
  pen.fillStyle = ink.soft;
  for (let px = 0; px < wide; px += 1) {
    const [a, b] = [Math.floor((from + (px / wide) * (to - from)) / 100), Math.ceil((from + ((px + 1) / wide) * (to - from)) / 100)];
    let most = 0;
    for (let n = Math.max(0, a); n < b && n < levels.length; n += 1) most = Math.max(most, levels[n]);
    const tall = (most / 255) * (base - top);
    if (tall > 0.5) pen.fillRect(px, base - tall, 1, tall);
  }
  pen.fillStyle = ink.ink;
  for (const row of store.chapters) {
    for (const [start, end] of row.holds) if (seen([start, end])) pen.fillRect(x(start), top - 4, Math.max(2, x(end) - x(start)), 4);
  }
  borders(pen, x, high, near, seen);
  pen.fillStyle = ink.care;
  for (const check of store.checks) {
    if (check.settled || check.level === "note" || check.start === null || !seen([check.start, check.start])) continue;
    const at = x(check.start);
    pen.beginPath();
    pen.moveTo(at, base - 1);
    pen.lineTo(at - 5, base + 5);
    pen.lineTo(at + 5, base + 5);
    pen.fill();
  }
  pen.fillStyle = ink.do;
  pen.fillRect(x(now()) - 1.5, 0, 3, high);
}

function hatch(pen, from, to, high) {
  pen.save();
  pen.beginPath();
  pen.rect(from, 0, to - from, high);
  pen.clip();
  pen.strokeStyle = ink.line;
  for (let px = from - high; px < to; px += 8) {
    pen.beginPath();
    pen.moveTo(px, high);
    pen.lineTo(px + high, 0);
    pen.stroke();
  }
  pen.restore();
}

function borders(pen, x, high, near, seen) {
  pen.font = '700 14px "Atkinson Hyperlegible", sans-serif';
  pen.textBaseline = "top";
  for (const row of store.chapters) {
    const start = drag && drag.from === row.start ? drag.to : row.start;
    if (row.start > 0) {
      pen.fillStyle = ink.ink;
      pen.fillRect(x(start) - 1, 0, near ? 2 : 1, high);
    }
    if (near && seen([row.start, row.end])) {
      const left = Math.max(x(start), 0) + 6;
      const room = Math.min(x(row.end), x.wide ?? 1e9) - left - 6;
      if (room > 24) {
        pen.save();
        pen.beginPath();
        pen.rect(left, high - 16, room, 16);
        pen.clip();
        pen.fillStyle = ink.ink;
        pen.fillText(row.title, left, high - 15);
        pen.restore();
      }
    }
    pen.fillStyle = ink.do;
    for (const [at] of row.stops) {
      if (!seen([at, at])) continue;
      pen.beginPath();
      pen.moveTo(x(at) - 6, 0);
      pen.lineTo(x(at) + 6, 0);
      pen.lineTo(x(at), 9);
      pen.fill();
    }
  }
}

// This minute holds still while the place moves through it, and turns like a page at its edge.
let view = [0, NEAR_MS];
function draw(at = now()) {
  const [from, to] = view;
  if (!drag && (at < from + 1000 || at > to - 2000)) {
    const start = Math.max(0, Math.min(at - NEAR_MS * 0.25, store.lesson.length - NEAR_MS));
    view = [start, start + NEAR_MS];
  }
  paint(el("near"), view[0], view[1], true);
  paint(el("whole"), 0, store.lesson.length, false);
}
let waiting = false;
export function redraw() {
  if (waiting) return;
  waiting = true;
  requestAnimationFrame(() => { waiting = false; draw(); });
}

const timeAt = (canvas, event, [from, to]) => {
  const box = canvas.getBoundingClientRect();
  return Math.round(from + ((event.clientX - box.left) / box.width) * (to - from));
};
function borderAt(event) {
  const canvas = el("near");
  const reach = (8 / canvas.clientWidth) * NEAR_MS;
  const at = timeAt(canvas, event, view);
  return store.chapters.find((row) => row.start > 0 && Math.abs(row.start - at) < reach);
}

export async function prepareStrip() {
  colours();
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { colours(); redraw(); });
  el("whole").addEventListener("click", (event) => goTo(timeAt(el("whole"), event, [0, store.lesson.length])));
  const near = el("near");
  near.addEventListener("pointermove", (event) => {
    near.style.cursor = drag || borderAt(event) ? "ew-resize" : "pointer";
    if (!drag) return;
    drag.to = Math.max(0, timeAt(near, event, view));
    redraw();
  });
  near.addEventListener("pointerdown", (event) => {
    const row = borderAt(event);
    if (!row) return goTo(timeAt(near, event, view));
    drag = { from: row.start, to: row.start };
    near.setPointerCapture(event.pointerId);
    choose(row.id);
    return undefined;
  });
  near.addEventListener("pointerup", () => {
    if (drag && Math.abs(drag.to - drag.from) >= 20) edit("move-boundary", drag.from, { to: drag.to / 1000 });
    drag = null;
    redraw();
  });
  new ResizeObserver(redraw).observe(near);
  onTime(redraw);
  onNews(redraw);
  chosen.follow.push(redraw);
  near.setAttribute("aria-description", `Times from ${clock(0)} to ${clock(store.lesson.length)}; use the buttons to move`);
  levels = new Uint8Array(await (await fetch("curve")).arrayBuffer());
  redraw();
}
