// What the viewer may choose. Each input names the choice it sets.
const settings = {
  speed: (value) => { if (media) media.defaultPlaybackRate = media.playbackRate = Number(value); },
  volume: (value) => { if (media) media.volume = Number(value); },
  auto: () => { if (media) { arm(media.currentTime); drawNow(media.currentTime); } },
  pace: () => { if (media) drawNow(media.currentTime); },
  look: drawLook,
  "caption-place": () => { if (media) placeCaption(); },
  "caption-size": () => { if (media) placeCaption(); },
  "caption-back": () => { if (media) placeCaption(); },
};

const darkDevice = window.matchMedia("(prefers-color-scheme: dark)");
function drawLook() {
  const look = choice("look", "device");
  document.documentElement.dataset.look = look === "device" ? (darkDevice.matches ? "dark" : "light") : look;
}
darkDevice.addEventListener("change", drawLook);

function prepareSettings() {
  document.querySelectorAll("[data-choice]").forEach((input) => {
    const key = input.dataset.choice;
    const isBox = input.type === "checkbox";
    const now = choice(key, null);
    if (isBox) input.checked = now ?? input.checked;
    else if (now !== null) input.checked = input.value === String(now);
    input.addEventListener("change", () => {
      choose(key, isBox ? input.checked : input.value);
      // The same choice may be offered in two places.
      document.querySelectorAll(`[data-choice="${key}"]`).forEach((other) => {
        if (other !== input) other.checked = isBox ? input.checked : other.value === input.value;
      });
      settings[key]?.(input.value);
    });
  });
  for (const key of ["speed"]) settings[key](choice(key, "1"));
  drawLook();
}

function drawTexts() {
  document.documentElement.lang = language;
  document.querySelectorAll("[data-t]").forEach((node) => write(node, say(node.dataset.t)));
  document.querySelectorAll("[data-t-label]").forEach((node) => node.setAttribute("aria-label", say(node.dataset.tLabel)));
  document.querySelectorAll("#languages button").forEach((each) =>
    each.setAttribute("aria-pressed", String(each.lang === language)));
}

function setLanguage(code) {
  language = code;
  drawTexts();
  redraws.forEach((action) => action());
}

function prepareLanguages() {
  const own = choice("language", null);
  if (own in languages) language = own;
  el("languages").replaceChildren(...Object.entries(languages).map(([code, name]) =>
    button(name, () => { choose("language", code); setLanguage(code); }, { lang: code })));
}
