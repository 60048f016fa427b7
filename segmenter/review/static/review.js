// The review screen: puts the parts together.
import { el } from "./common.js";
import { prepareChecks } from "./checks.js";
import { fillExercises } from "./form.js";
import { prepareKeys } from "./keys.js";
import { preparePaper } from "./paper.js";
import { goTo, prepare } from "./player.js";
import { preparePublish } from "./publish.js";
import { edit, listen, onNews, store, takeIn, typed } from "./store.js";
import { prepareStrip } from "./strip.js";
import { prepareWords } from "./words.js";

const title = el("lesson-title");
title.value = store.lesson.title;
const changedElsewhere = typed("lesson", title, (text, chain) => edit("title-lesson", 0, { title: text }, chain));
onNews(() => {
  el("heading").textContent = store.lesson.title;
  document.title = `${store.lesson.title}: check the lesson`;
  if (document.activeElement !== title) changedElsewhere(store.lesson.title);
});

fillExercises();
prepare();
preparePaper();
prepareChecks();
prepareWords();
prepareKeys();
preparePublish(() => takeIn({}));
prepareStrip();
listen();
// A found moment leads here with its time.
const from = /^#t=(\d+(?:\.\d+)?)$/.exec(location.hash);
if (from) goTo(Number(from[1]) * 1000);
document.body.dataset.ready = "yes";
