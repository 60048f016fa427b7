// Keeps choices and ticks on this device only. A page on a stick may be refused even that:
// then everything lasts for this visit.
const visit = new Map();
const nameOf = (key, own) => (own ? `class-page.${lesson.key}.${key}` : `class-page.${key}`);

function keep(key, value, own = true) {
  visit.set(nameOf(key, own), value);
  try {
    localStorage.setItem(nameOf(key, own), JSON.stringify(value));
  } catch { /* kept for this visit */ }
}

function kept(key, otherwise, own = true) {
  const name = nameOf(key, own);
  if (visit.has(name)) return visit.get(name);
  try {
    const found = localStorage.getItem(name);
    return found === null ? otherwise : JSON.parse(found);
  } catch {
    return otherwise;
  }
}

// A choice of the viewer, the same in every lesson on this device.
const choice = (key, otherwise) => kept(key, otherwise, false);
const choose = (key, value) => keep(key, value, false);

function today() {
  const now = new Date();
  const two = (n) => String(n).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

const ticks = () => kept("ticks", {});

function tick(id, yes = true) {
  const all = ticks();
  const day = new Set(all[today()] ?? []);
  if (yes) day.add(id);
  else day.delete(id);
  all[today()] = [...day];
  if (!day.size) delete all[today()];
  keep("ticks", all);
}
const ticked = (id) => (ticks()[today()] ?? []).includes(id);

const setIds = () => kept("set", []).filter((id) => indexOf(id) >= 0);

function erase() {
  const start = nameOf("", true);
  for (const key of [...visit.keys()].filter((each) => each.startsWith(start))) visit.delete(key);
  try {
    const keys = Array.from({ length: localStorage.length }, (_, n) => localStorage.key(n));
    for (const key of keys.filter((each) => each.startsWith(start))) localStorage.removeItem(key);
  } catch { /* nothing was kept */ }
}
