// Publishing: what is still open, which files, and where they are.
import { ask, counted, el } from "./common.js";
import { all } from "./checks.js";
import { edit, store } from "./store.js";

const dialog = el("publish");

export function openPublish() {
  const [stops, looks] = ["stop", "look"].map((level) => all().filter((c) => !c.settled && c.level === level).length);
  const words = [stops && `${counted(stops, "thing")} should be settled before it goes out`, looks && `${counted(looks, "thing")} to look at ${looks === 1 ? "is" : "are"} still open`].filter(Boolean);
  el("publish-open-checks").textContent = words.length ? `${words.join(", and ")}. You can publish all the same.` : "Everything was looked at.";
  el("publish-open-checks").classList.toggle("care", stops > 0);
  el("publish-form").hidden = false;
  el("publish-done").hidden = true;
  el("checked").checked = store.state === "checked" || store.state === "published";
  dialog.showModal();
  el("publish-go").focus();
}

function tellPlace(ready, folder) {
  el("folder-said").textContent = ready ? `Hand on this folder: ${folder}`
    : `It is in ${folder}. That folder holds your own files too (draft, edits, checks, sheets): hand on none of those.`;
}

async function go(event) {
  event.preventDefault();
  el("publish-go").disabled = true;
  el("publish-go").textContent = "Writing…";
  try {
    if (el("checked").checked && store.state === "draft") await edit("mark-checked", 0, { draft: store.draft });
    const files = [...document.querySelectorAll("[name=file]:checked")].map((box) => box.value);
    const handOn = el("hand-on").checked;
    const done = await ask("publish", { files, handOn });
    el("publish-form").hidden = true;
    el("publish-done").hidden = false;
    el("publish-said").textContent = "The lesson is published.";
    tellPlace(handOn && !done.stale, done.folder);
    el("open-page").focus();
    if (done.stale) {
      el("publish-said").textContent = "The lesson is published. Chapters and captions inside the recording's copy are being brought up to date …";
      tellPlace(handOn, (await ask("publish", { files, handOn, media: true })).folder);
      el("publish-said").textContent = "The lesson is published, and the recording's copy is up to date.";
    }
    if (done.oldFilm) el("publish-said").textContent += " The film for the television is from before your last changes, so nothing points to it. Make it again: segmenter follow-along, and the folder.";
  } catch (error) {
    el("publish-open-checks").textContent = `This did not work: ${error.message}.`;
    el("publish-open-checks").classList.add("care");
  }
  el("publish-go").disabled = false;
  el("publish-go").textContent = "Publish now";
  const news = await ask("since?seen=" + encodeURIComponent(store.version)).catch(() => null);
  if (news) {
    store.state = news.state;
    refresh();
  }
}
let refresh = () => {};

export function preparePublish(drawn) {
  refresh = drawn;
  el("publish-open").addEventListener("click", openPublish);
  el("publish-form").addEventListener("submit", go);
  el("show-folder").addEventListener("click", async () => {
    const { shown, folder } = await ask("show-folder", {});
    if (!shown) el("folder-said").textContent = `It is here: ${folder}`;
  });
  for (const each of document.querySelectorAll("[data-close]")) each.addEventListener("click", () => each.closest("dialog").close());
}
