"""How well mis-heard trade terms and counts are repaired, and whether right words are left alone.

``python -m tests.evaluation.repair [--write]`` speaks sentences with two synthetic voices, recognises
them with the packaged base weights and counts what is right before and after the repair. What was
recognised is kept, so that only the first run is slow. Terms are parted in two by a hash: one half was
looked at while the rules were written, the other was not.
"""

from __future__ import annotations

import argparse
import difflib
import hashlib
import json
import sys
import tempfile
import wave
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import platformdirs

from segmenter.hearing import hear
from segmenter.lesson import Word
from segmenter.progress import unwatched
from segmenter.settings import BuildSettings
from segmenter.understand.catalogue import Catalogue, load_catalogue
from segmenter.understand.repair import repair
from segmenter.understand.repair_words import split
from segmenter.understand.scripts import Counted, Said, Script, read_scripts
from tests.evaluation.readme import put
from tests.evaluation.repair_voices import RATE, Voice, espeak, joe

ROOT = Path(__file__).parents[2]
REAL = ROOT.parent / "shared" / "data" / "real"
KEPT = Path(platformdirs.user_cache_dir("segmenter")) / "evaluation" / "repair"
GAP_S = 1.3
BATCH = 30

CARRIERS = (
    "Next up is the {}.",
    "Now we come to {}, so get yourself ready.",
    "This one is called {}.",
    "Let's do {} together.",
    "We finish this part with {}.",
    "Remember last week, when we did {}?",
    "Back to {}, one more time.",
    "Some of you asked me about {}.",
)
COUNTED = (
    "In, two, three, four. Out, two, three, four, five, six.",
    "In two three, out two three four five six seven eight.",
    "And in, two, three, four, hold, two, three, four, out, two, three, four, five, six.",
    "One, two, three, four, five, six, seven, eight, nine, ten.",
    "Five, four, three, two, one, and relax.",
    "Ten, nine, eight, seven, six, five, four, three, two, one.",
    "Hold it there, two, three, four, five, and let go.",
    "Squeeze, two, three, four, five, six, and rest.",
    "Lift, two, three, four, and lower, two, three, four.",
    "Breathe in, two, three, four, and out, two, three, four, five, six, seven, eight.",
    "One two three four five six seven eight.",
    "And one, and two, and three, and four, and five, and six.",
    "Press and hold, two, three, four, five, six, seven, eight.",
    "Six, seven, eight, nine, ten, well done.",
    "Do that four more times.",
    "Two more times on this side.",
    "Repeat it for four breaths.",
    "Hold for four seconds, and do it eight times.",
    "I would like you to do eight more.",
    "Do two sets of eight, then rest for two minutes.",
)
LIKE = (
    "Bring your right ear down to your right shoulder.",
    "Pause me here and do three more.",
    "Right ear to the shoulder, and hold.",
    "Tilt your left ear towards your left shoulder.",
    "Now pause me, and do the other side.",
    "Take a breath and say ah.",
)

_DIGITS = "zero one two three four five six seven eight nine ten".split()  # noqa: SIM905
NAMES = {str(value): name for value, name in enumerate(_DIGITS)} | {
    "30": "thirty",
}
VALUES = frozenset(NAMES.values())
WRITTEN_WRONG = frozenset(
    {
        "pay sing", "die a fragmatic", "first", "coastal", "till", "sits", "heal", "rest", "player", "tender",
        "person", "surgical", "over particulation", "expert ration", "effort filled", "talk", "fest", "pears",
        "a motion", "psycho", "super", "shake her", "hah hah hah", "expense", "pro trusions", "butter cup", "space",
        "f or full", "masaka", "stands", "are", "re traction", "flex shun", "public",
    }
)  # fmt: skip
"""Trade terms that the scripted classes mis-spell on purpose, as a recogniser would."""


@dataclass(frozen=True)
class Spoken:
    """One sentence to speak; `term` is the phrase that must come out right, None for numbers."""

    text: str
    term: str | None
    voice: str

    @property
    def looked_at(self) -> bool:
        """Whether it belongs to the half that was looked at."""
        return hashlib.sha256((self.term or self.text).encode()).digest()[0] % 2 == 0


def sentences(catalogue: Catalogue) -> list[Spoken]:
    """Return what is spoken: a term of every exercise and every count, one voice each or both."""
    spoken: list[Spoken] = []
    for number, exercise in enumerate(catalogue.exercises):
        terms = [exercise.name.lower(), *exercise.says]
        fitting = [term for term in terms if len(term) >= 2 and len(term.split()) <= 5]
        chosen = fitting[0] if number % 3 else fitting[min(len(fitting) - 1, 1 + number % 4)]
        text = CARRIERS[number % len(CARRIERS)].format(chosen)
        spoken.append(Spoken(text, chosen, ("joe", "espeak")[number % 3 == 2]))
    for text in (*COUNTED, *LIKE):
        spoken += [Spoken(text, None, "joe"), Spoken(text, None, "espeak")]
    return spoken


def recognised(spoken: Sequence[Spoken]) -> list[tuple[Word, ...]]:
    """Return the words heard for each sentence; those of an earlier run are taken from the user's cache."""
    voices: dict[str, Callable[[], Voice]] = {"joe": joe, "espeak": espeak}
    words: dict[Spoken, tuple[Word, ...]] = {}
    for name, make in voices.items():
        own = [one for one in spoken if one.voice == name]
        speak: Voice | None = None
        for first in range(0, len(own), BATCH):
            batch = own[first : first + BATCH]
            key = hashlib.sha256("|".join([name, *(one.text for one in batch)]).encode()).hexdigest()[:24]
            kept = KEPT / f"{key}.json"
            if not kept.exists():
                speak = speak or make()
                _keep(kept, _heard(batch, speak))
            for one, row in zip(batch, json.loads(kept.read_text(encoding="utf-8")), strict=True):
                words[one] = tuple(Word.model_validate_json(json.dumps(word)) for word in row)
    return [words[one] for one in spoken]


def _keep(path: Path, rows: list[list[Word]]) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps([[json.loads(w.model_dump_json()) for w in row] for row in rows]), encoding="utf-8")


def _heard(batch: Sequence[Spoken], speak: Voice) -> list[list[Word]]:
    parts, spans, at = [np.zeros(RATE // 2)], [], RATE // 2
    for one in batch:
        sound = speak(one.text)
        spans.append((at * 1000 // RATE, (at + len(sound)) * 1000 // RATE))
        parts += [sound, np.zeros(round(GAP_S * RATE))]
        at += len(sound) + round(GAP_S * RATE)
    noise = np.random.default_rng(3).standard_normal(at) * 4e-4
    samples = np.clip(np.concatenate(parts)[:at] + noise[: sum(map(len, parts))], -1, 1)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "spoken.wav"
        with wave.open(str(path), "wb") as sound_file:
            sound_file.setnchannels(1)
            sound_file.setsampwidth(2)
            sound_file.setframerate(RATE)
            sound_file.writeframes((samples * 32767).astype("<i2").tobytes())
        heard = hear(path, None, Path(folder), BuildSettings(language="en", threads=1), unwatched)
    rows: list[list[Word]] = [[] for _ in batch]
    for word in heard.words:
        middle = (word.start_ms + word.end_ms) / 2
        nearest = min(range(len(spans)), key=lambda i: max(spans[i][0] - middle, middle - spans[i][1], 0.0))
        rows[nearest].append(word)
    return rows


def as_classes(
    spoken: Sequence[Spoken], heard: Sequence[tuple[Word, ...]], catalogue: Catalogue
) -> list[tuple[Word, ...]]:
    """Return the words of each sentence after the repair; a voice's sentences stand in one class, as spoken."""
    after: dict[Spoken, tuple[Word, ...]] = {}
    for voice in {one.voice for one in spoken}:
        rows = [(one, words) for one, words in zip(spoken, heard, strict=True) if one.voice == voice]
        moved: list[Word] = []
        ends: list[int] = []
        for _, words in rows:
            start = ends[-1] + 2_000 if ends else 0
            first = words[0].start_ms if words else 0
            moved += [_moved(word, start - first) for word in words]
            ends.append(moved[-1].end_ms if words else start)
        repaired = repair(moved, catalogue).words
        for (one, _), start, end in zip(rows, [-1, *ends[:-1]], ends, strict=True):
            after[one] = tuple(word for word in repaired if start < word.end_ms <= end)
    return [after[one] for one in spoken]


def _moved(word: Word, by_ms: int) -> Word:
    return word.model_copy(update={"start_ms": word.start_ms + by_ms, "end_ms": word.end_ms + by_ms})


def score(
    spoken: Sequence[Spoken], heard: Sequence[tuple[Word, ...]], repaired: Sequence[tuple[Word, ...]]
) -> Counter[str]:
    """Count what is right before and after the repair."""
    seen: Counter[str] = Counter()
    for one, words, after in zip(spoken, heard, repaired, strict=True):
        half = "looked at" if one.looked_at else "held out"
        if one.term is not None:
            seen[f"terms, {half}: all"] += 1
            seen[f"terms, {half}: before"] += has_term(one.term, words)
            seen[f"terms, {half}: after"] += has_term(one.term, after)
        wanted = numbers_in(split(one.text))
        if one.term is None and wanted:
            seen[f"numbers, {half}: all"] += len(wanted)
            seen[f"numbers, {half}: before"] += same(wanted, numbers_in(_tokens(words)))
            seen[f"numbers, {half}: after"] += same(wanted, numbers_in(_tokens(after)))
        seen["right words"] += sum(_right(one.text, words))
        # Words that were right and are no longer there.
        seen["right words changed"] += max(0, sum(_right(one.text, words)) - sum(_right(one.text, after)))
    return seen


def has_term(term: str, words: Sequence[Word]) -> bool:
    """Tell whether a term stands among the words as it was spoken; hyphens and British spelling are free."""
    return _joined(split(term)) in _joined(_tokens(words))


def _joined(tokens: Sequence[str]) -> str:
    text = "".join(NAMES.get(token, token) for token in tokens)
    return text.replace("isation", "ization").replace("oeuvre", "euver").replace("'", "")


def _tokens(words: Sequence[Word]) -> list[str]:
    return [token for word in words for token in split(word.text)]


def numbers_in(tokens: Sequence[str]) -> list[str]:
    """Return the numbers of a text, and the "in" and "out" that stand for one in a count, in order."""
    plain = [NAMES.get(token, token) for token in tokens]
    follows = [*plain[1:], ""]
    return [
        token
        for token, following in zip(plain, follows, strict=True)
        if token in VALUES or (token in {"in", "out"} and following == "two")
    ]


def same(wanted: Sequence[str], found: Sequence[str]) -> int:
    """Return how many of `wanted` stand in `found`, in order."""
    matcher = difflib.SequenceMatcher(None, wanted, found, autojunk=False)
    return sum(block.size for block in matcher.get_matching_blocks())


def _right(text: str, words: Sequence[Word]) -> list[bool]:
    """Which words were heard as spoken."""
    spoken, right = split(text), [False] * len(words)
    heard = [_joined(split(word.text)) for word in words]
    matcher = difflib.SequenceMatcher(None, [_joined([token]) for token in spoken], heard, autojunk=False)
    for block in matcher.get_matching_blocks():
        right[block.b : block.b + block.size] = [True] * block.size
    return right


def correct_texts() -> Iterator[tuple[str, list[Word]]]:
    """Yield texts that were written or typed by hand, and so are right: nothing may change in them."""
    for script in read_scripts(ROOT / "tests" / "evaluation" / "classes" / "tuned"):
        yield "scripted classes (tuned)", laid(_said(script))
    for script in read_scripts(ROOT / "models" / "training" / "classes"):
        yield "scripted classes (training)", laid(_said(script))
    for path in sorted(REAL.glob("*.txt")):
        yield "real readings and talk", laid(path.read_text(encoding="utf-8").split())


def _said(script: Script) -> list[str]:
    words: list[str] = []
    for item in script.items:
        match item:
            case Said():
                words += item.text.split()
            case Counted():
                words += [word for group in item.groups for word in group.split()]
    return words


def laid(texts: Sequence[str]) -> list[Word]:
    """Return words at an even pace."""
    return [Word(text=text, start_ms=at * 400, end_ms=at * 400 + 320) for at, text in enumerate(texts)]


def unwanted(catalogue: Catalogue) -> tuple[Counter[str], Counter[str], list[str]]:
    """Return the words and the needless changes a group of correct texts, and each such change."""
    words: Counter[str] = Counter()
    changes: Counter[str] = Counter()
    lines: list[str] = []
    for group, text in correct_texts():
        words[group] += len(text)
        changes[group] += 0
        for change in repair(text, catalogue).changes:
            heard = " ".join(word.text for word in text[change.first : change.last])
            if " ".join(split(heard)) in WRITTEN_WRONG:
                continue
            changes[group] += 1
            lines.append(f"{heard} -> {' '.join(change.texts)}: {change.why}")
    return words, changes, lines


def table(seen: Counter[str], words: Counter[str], changes: Counter[str]) -> str:
    """Return the measured table."""
    rows = [
        "| spoken and recognised | of | right as heard | right after the repair |",
        "| --- | ---: | ---: | ---: |",
    ]
    for name in ("terms, looked at", "terms, held out", "numbers, looked at", "numbers, held out"):
        every = seen[f"{name}: all"]
        share = [
            f"{n} ({100 * n / max(1, every):.1f} %)" for n in (seen[f"{name}: {w}"] for w in ("before", "after"))
        ]
        rows.append(f"| {name} | {every} | {share[0]} | {share[1]} |")
    rows += ["", "| right words that were changed | of | changed |", "| --- | ---: | ---: |"]
    rows.append(f"| the sentences above | {seen['right words']} | {seen['right words changed']} |")
    rows += [f"| {group} | {words[group]} | {changes[group]} |" for group in sorted(words)]
    return "\n".join(rows)


def main(arguments: Sequence[str]) -> None:
    """Measure, print, and with ``--write`` put the table into README."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--write", action="store_true", help="put the table into README.md")
    parser.add_argument("--show", action="store_true", help="print what was heard, looked-at half only")
    options = parser.parse_args(arguments)
    catalogue = load_catalogue()
    spoken = sentences(catalogue)
    heard = recognised(spoken)
    words, changes, lines = unwanted(catalogue)
    repaired = as_classes(spoken, heard, catalogue)
    text = table(score(spoken, heard, repaired), words, changes)
    print(text)
    for line in lines:
        print("needless:", line)
    if options.show:
        _show(spoken, heard, repaired)
    if options.write:
        put(ROOT / "README.md", "repair", text)


def _show(
    spoken: Sequence[Spoken], heard: Sequence[tuple[Word, ...]], repaired: Sequence[tuple[Word, ...]]
) -> None:
    for one, words, after in zip(spoken, heard, repaired, strict=True):
        if one.looked_at and _joined(split(one.text)) != _joined(_tokens(words)):
            unsure = [f"{w.text}({w.probability:.1f})" if (w.probability or 1) < 0.6 else w.text for w in words]
            print(f"{one.text}\n    {' '.join(unsure)}\n    {' '.join(w.text for w in after)}")


if __name__ == "__main__":
    main(sys.argv[1:])
