// Doses in words a person can type: "5", "5 to 10", "at least 8", "up to 3".
export const UNITS = [
  ["reps", "times"], ["hold_s", "hold, seconds"], ["sets", "rounds"], ["rest_s", "rest between, seconds"],
  ["per_day", "times a day"], ["days_per_week", "days a week"],
];
const WHOLE = new Set(["reps", "sets", "per_day", "days_per_week"]);

export function rangeText(range) {
  if (!range) return "";
  const [low, high] = range;
  if (low !== null && high !== null) return low === high ? `${low}` : `${low} to ${high}`;
  return low !== null ? `at least ${low}` : `up to ${high}`;
}

// Returns [low, high], null for nothing, or throws with what is wrong.
export function readRange(text, field) {
  const plain = text.trim().toLowerCase().replaceAll(",", ".");
  if (!plain) return null;
  const number = "(\\d+(?:\\.\\d+)?)";
  const both = new RegExp(`^${number}(?:\\s*(?:to|-|–)\\s*${number})?$`).exec(plain);
  const least = new RegExp(`^(?:at least|from|min\\.?)\\s*${number}$|^${number}\\s*(?:\\+|or more)$`).exec(plain);
  const most = new RegExp(`^(?:at most|up to|max\\.?)\\s*${number}$`).exec(plain);
  let range = null;
  if (both) range = [Number(both[1]), Number(both[2] ?? both[1])];
  else if (least) range = [Number(least[1] ?? least[2]), null];
  else if (most) range = [null, Number(most[1])];
  if (!range) throw new Error(`“${text}” is no amount. Write 5, or 5 to 10, or at least 5`);
  if (range[0] !== null && range[1] !== null && range[0] > range[1]) range.reverse();
  if (WHOLE.has(field) && range.some((n) => n !== null && !Number.isInteger(n))) throw new Error(`“${text}” should be a whole number`);
  if (field === "days_per_week" && range.some((n) => n > 7)) throw new Error("A week has seven days");
  return range;
}
