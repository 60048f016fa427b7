// Lessons, the queue as it moves, and a place to drop a recording.
import { ask, button, clock, counted, el, facts, h, tell } from "./common.js";

const STATES = {
  draft: "Draft: to be checked", checked: "Checked, not published", published: "Published",
  broken: "Cannot be read", empty: "Not finished",
};
const WORDS = /\.(vtt|srt|txt|json)$/i;

function problem(text) {
  el("add-problem").hidden = !text;
  el("add-problem").textContent = text ?? "";
}

// Drawn anew only where something changed, so that a button keeps its focus while numbers run.
const drawn = new Map();
function refresh(list, rows, key, make) {
  const wanted = rows.map((row) => {
    const name = `${list.id} ${row[key]}`;
    const text = JSON.stringify(row);
    const kept = drawn.get(name);
    if (kept?.text === text) return kept.node;
    const node = make(row, kept?.node);
    drawn.set(name, { text, node });
    return node;
  });
  if (wanted.length !== list.children.length || wanted.some((node, n) => list.children[n] !== node)) {
    const focus = document.activeElement;
    list.replaceChildren(...wanted);
    if (focus?.isConnected) focus.focus();
  }
}

function jobNode(job, old) {
  const ids = [job.id, job.state].join(" ");
  if (old && old.dataset.ids === ids) {
    fillJob(old, job);
    return old;
  }
  const node = h("li", { class: `job ${job.state}`, "data-ids": ids, "data-job": job.id });
  const act = (name, text) => button(text, () => ask(`/job/${job.id}/${name}`, {}).catch((e) => problem(e.message)),
    { "aria-label": `${text}: ${job.lesson}` });
  const acts = h("div", { class: "line" });
  if (job.state === "waiting" || job.state === "working") acts.append(act("cancel", "Stop"));
  if (job.state === "failed" || job.state === "cancelled") acts.append(act("retry", "Try again"));
  if (job.state === "done") acts.append(h("a", { class: "act", href: `/lesson/${encodeURIComponent(job.lesson)}/`, text: "Check the lesson" }));
  if (job.state !== "waiting" && job.state !== "working") acts.append(act("dismiss", "Take off this list"));
  node.append(h("h3", { text: job.lesson }), h("p", { class: "say" }), h("ol", { class: "stages" }), acts);
  fillJob(node, job);
  if (old && job.state === "done") tell(`${job.lesson} is ready to be checked`);
  if (old && job.state === "failed") tell(`${job.lesson} could not be built`);
  return node;
}

function fillJob(node, job) {
  const say = node.querySelector(".say");
  say.textContent = {
    waiting: "Waits for its turn.", cancelled: "Stopped. What was finished is kept.",
    done: "Ready to be checked.", failed: `This did not work: ${job.problem}.`, working: job.found || "",
  }[job.state];
  say.classList.toggle("care", job.state === "failed");
  const stages = node.querySelector(".stages");
  stages.hidden = job.state !== "working";
  job.stages.forEach(([words, share], n) => {
    let row = stages.children[n];
    if (!row) {
      row = h("li", {}, h("span", { id: `s${job.id}${n}`, text: words }),
        h("progress", { max: 1, "aria-labelledby": `s${job.id}${n}` }), h("span", { class: "time" }));
      stages.append(row);
    }
    row.className = share >= 1 ? "over" : words === job.now ? "here" : "";
    row.children[1].value = share;
    row.children[2].textContent = share >= 1 ? "done" : words === job.now ? `${Math.floor(share * 100)} %` : "";
  });
}

function lessonNode(card) {
  const link = h("a", { href: `/lesson/${encodeURIComponent(card.name)}/`, text: card.title });
  const facts_ = card.state === "empty" || card.state === "broken" ? [] : [
    clock(card.seconds * 1000), counted(card.exercises, "exercise"),
    card.state === "published" || !card.checks ? null : `${card.checks} to look at`,
    card.changes ? `${counted(card.changes, "change")} by you` : null,
  ];
  return h("li", { class: `card ${card.state}` },
    h("h3", {}, card.state === "empty" || card.state === "broken" ? card.title : link),
    h("p", { class: "state", text: STATES[card.state] }),
    h("p", { class: "facts", text: facts_.filter(Boolean).join(" · ") }));
}

function draw(news) {
  refresh(el("job-list"), news.jobs, "id", jobNode);
  el("jobs").hidden = !news.jobs.length;
  const busy = new Set(news.jobs.filter((job) => job.state !== "done").map((job) => job.lesson));
  const lessons = news.lessons.filter((card) => !(card.state === "empty" && busy.has(card.name)));
  refresh(el("lesson-list"), lessons, "name", lessonNode);
  el("empty").hidden = lessons.length > 0;
  el("find-form").hidden = lessons.length === 0;
  el("remembered").hidden = !news.remembered.length;
  el("remembered-list").replaceChildren(...news.remembered.map(([was, text]) => h("li", { class: "line" },
    h("span", { text: `“${was}” becomes “${text}”` }),
    button("Forget it", () => ask("/forget", { was }), { "aria-label": `Forget it: ${was}` }))));
}

function upload(file) {
  return new Promise((resolve, reject) => {
    const sending = new XMLHttpRequest(); // fetch cannot tell how far an upload is
    sending.open("POST", `/upload?name=${encodeURIComponent(file.name)}`);
    sending.upload.addEventListener("progress", (event) => {
      el("upload-bar").value = event.total ? event.loaded / event.total : 0;
      el("upload-words").textContent = `Copying ${file.name}: ${Math.floor((100 * event.loaded) / (event.total || 1))} %`;
    });
    sending.addEventListener("load", () => {
      const answer = JSON.parse(sending.responseText || "{}");
      if (sending.status === 200) resolve(answer.kept);
      else reject(new Error(answer.problem ?? "the file could not be taken in"));
    });
    sending.addEventListener("error", () => reject(new Error("the desk does not answer. Start it again and add the file once more")));
    sending.send(file);
  });
}

async function take(files) {
  problem(null);
  const list = [...files];
  const words = list.filter((file) => WORDS.test(file.name));
  const recordings = list.filter((file) => !WORDS.test(file.name));
  if (!recordings.length) return problem("There is no recording among these files. Add the recording together with its words.");
  if (words.length && recordings.length > 1) return problem("Add one recording at a time when you bring its words along.");
  el("upload").hidden = false;
  try {
    const kept = words.length ? await upload(words[0]) : null;
    for (const file of recordings) {
      const recording = await upload(file);
      el("upload-words").textContent = `Looking at ${file.name}`;
      const { lesson } = await ask("/add", { kept: recording, name: file.name, transcript: kept, transcriptName: words[0]?.name });
      tell(`${lesson} was added`);
    }
  } catch (error) {
    problem(`This did not work: ${error.message}.`);
  }
  el("upload").hidden = true;
  el("file").value = "";
  return undefined;
}

el("file").addEventListener("change", () => take(el("file").files));
for (const kind of ["dragenter", "dragover"]) {
  document.addEventListener(kind, (event) => { event.preventDefault(); document.body.classList.add("over"); });
}
for (const kind of ["dragleave", "drop"]) {
  document.addEventListener(kind, (event) => {
    event.preventDefault();
    if (kind === "drop" || !event.relatedTarget) document.body.classList.remove("over");
  });
}
document.addEventListener("drop", (event) => { if (event.dataTransfer.files.length) take(event.dataTransfer.files); });
el("path-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  problem(null);
  try {
    await ask("/add", { path: el("path").value });
    el("path").value = "";
  } catch (error) {
    problem(`This did not work: ${error.message}.`);
  }
});

// One moment: where it leads is the review screen, which starts there.
function momentNode(moment) {
  const at = moment.at;
  const link = h("a", { href: `/lesson/${encodeURIComponent(moment.folder)}/#t=${at}`, text: `${moment.chapter} at ${clock(at * 1000)}` });
  return h("li", { class: "card found" }, h("h3", {}, link),
    moment.kind === "chapter" ? null : h("p", { text: `“${moment.text}”` }),
    h("p", { class: "facts", text: [moment.lesson, moment.date, moment.hidden ? "hidden from viewers" : null].filter(Boolean).join(" · ") }));
}

function showFound(moments) {
  el("find-list").hidden = !moments;
  el("find-clear").hidden = !moments;
  el("lesson-list").hidden = Boolean(moments);
  el("find-list").replaceChildren(...(moments ?? []).map(momentNode));
  el("find-told").textContent = !moments ? "" : moments.length ? counted(moments.length, "moment") : "Nothing fits. Try fewer or other words.";
}

el("find-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const text = el("find").value.trim();
  if (!text) return showFound(null);
  try {
    showFound((await ask("/find", { text })).moments);
  } catch (error) {
    el("find-told").textContent = `This did not work: ${error.message}.`;
  }
  return undefined;
});
el("find-clear").addEventListener("click", () => { el("find").value = ""; showFound(null); el("find").focus(); });

draw(facts);
new EventSource("/news").addEventListener("message", (event) => draw(JSON.parse(event.data)));
document.body.dataset.ready = "yes";
