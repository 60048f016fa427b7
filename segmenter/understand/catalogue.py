"""The catalogue of exercises: what each is called, sounds like, usually asks for, and warns of.

Read from ``models/catalogue/*.yaml``, one file a family, each a list of exercises. A clinic's
own file has the same form: an exercise with a known id replaces ours, any other is added.
Usual doses stand beside what was said in class, for a person to compare; they never fill a blank.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

# PyYAML rather than ruamel.yaml: its C parser reads the whole catalogue in a tenth of the time and
# still knows the line of every value.
import yaml  # type: ignore[import-untyped, unused-ignore]
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints, ValidationError

from segmenter.errors import CatalogueError
from segmenter.lesson import CountRange, Family, SecondsRange
from segmenter.resources import shipped

Held = Literal["voiced", "glide", "silent", "breath", "reps", "timed", "sequence", "answer"]
"""How an exercise is done: an audible sustained sound, a pitch glide, a silent hold, a counted
breath, repetitions, a timed stretch, one movement after another, or a prompt with an answer."""
Sides = Literal["none", "each", "both"]

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)  # the C parser is missing from some builds
_ADVICE = "Correct the lines named and load it again"

Text = Annotated[str, StringConstraints(strict=True, strip_whitespace=True, min_length=1)]


def _lower(phrase: str) -> str:
    if phrase != phrase.lower():
        raise ValueError("write spoken phrases in lower case")
    return phrase


Phrase = Annotated[Text, AfterValidator(_lower)]
Id = Annotated[str, StringConstraints(strict=True, pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Usual(_Part):
    """The dose usual in print or in practice, as printed. What the source does not say is None.

    `text` says it in words; `minutes` is time on task where repetitions are not counted.
    """

    text: Text
    source: Text
    reps: CountRange | None = None
    hold_s: SecondsRange | None = None
    sets: CountRange | None = None
    rest_s: SecondsRange | None = None
    per_day: CountRange | None = None
    days_per_week: CountRange | None = None
    weeks: CountRange | None = None
    minutes: SecondsRange | None = None


class UsualCaution(_Part):
    """A warning that usually goes with an exercise, in the second person, with where it comes from."""

    text: Text
    source: Text


class Exercise(_Part):
    """One exercise.

    Parameters
    ----------
    id : str
        Small letters, digits and hyphens; the name other files use.
    name, plain : str
        What clinicians call it, and what anybody would.
    says, weak, misheard : tuple of str
        Ways it is said aloud; everyday words that only count beside other evidence; ways a
        recogniser is likely to write it.
    """

    id: Id
    name: Text
    plain: Text
    family: Family
    held: Held
    sides: Sides
    says: Annotated[tuple[Phrase, ...], Field(min_length=1)]
    weak: tuple[Phrase, ...] = ()
    misheard: tuple[Phrase, ...] = ()
    purpose: Text | None = None
    usual: Usual
    cautions: tuple[UsualCaution, ...] = ()


class Catalogue(_Part):
    """All exercises known, in the order of the files."""

    model_config = ConfigDict(frozen=True, extra="forbid", ignored_types=(cached_property,))

    exercises: tuple[Exercise, ...]

    @cached_property
    def _places(self) -> dict[str, Exercise]:
        return {exercise.id: exercise for exercise in self.exercises}

    def by_id(self, id: str) -> Exercise:
        """Return the exercise called `id`.

        Raises
        ------
        KeyError
            If there is none.
        """
        return self._places[id]

    def __contains__(self, id: object) -> bool:
        return id in self._places


def load_catalogue(extra: Path | None = None) -> Catalogue:
    """Read the catalogue that comes with the program, and a clinic's own file over it.

    Parameters
    ----------
    extra : Path or None
        A YAML file in the form of ours; its exercises replace ours by id, or are added.

    Raises
    ------
    CatalogueError
        If a file cannot be read or has faults; every fault of every file is named with its line.
    """
    ours = _shipped()
    if extra is None:
        return ours
    found = {exercise.id: exercise for exercise in ours.exercises}
    found |= {exercise.id: exercise for exercise in read_exercises([extra])}
    return Catalogue(exercises=tuple(found.values()))


@lru_cache(maxsize=1)
def _shipped() -> Catalogue:
    files = sorted(shipped("catalogue").glob("*.yaml"))
    return Catalogue(exercises=tuple(read_exercises(files)))


def read_exercises(files: Iterable[Path]) -> list[Exercise]:
    """Read exercises from YAML files, in order; ids must differ across all of them.

    Raises
    ------
    CatalogueError
        With all faults of all files, one a line: file, line, what is wrong.
    """
    exercises: list[Exercise] = []
    faults: list[str] = []
    first_seen: dict[str, str] = {}
    for file in files:
        for exercise, where in _read_file(file, faults):
            if exercise.id in first_seen:
                faults.append(f"{where}: id {exercise.id!r} is already used at {first_seen[exercise.id]}")
            else:
                first_seen[exercise.id] = where
                exercises.append(exercise)
    if faults:
        raise CatalogueError("\n".join(faults), None, _ADVICE)
    return exercises


def _read_file(file: Path, faults: list[str]) -> Iterator[tuple[Exercise, str]]:
    try:
        loader = _Loader(file.read_text(encoding="utf-8"))
        root = loader.get_single_node()
    except yaml.MarkedYAMLError as error:
        line = error.problem_mark.line + 1 if error.problem_mark else 1
        faults.append(f"{file}, line {line}: this is not YAML: {error.problem or error.context}")
        return
    except (OSError, UnicodeDecodeError, yaml.YAMLError) as error:
        faults.append(f"{file}: cannot be read: {error}")
        return
    if not isinstance(root, yaml.SequenceNode):
        faults.append(f"{file}, line 1: expected a list of exercises, each starting with '- id:'")
        return
    faults.extend(f"{file}, line {line}: {what}" for line, what in _repeated_keys(root))
    for node in root.value:
        where = f"{file}, line {node.start_mark.line + 1}"
        try:
            yield Exercise.model_validate(loader.construct_object(node, deep=True)), where
        except ValidationError as error:
            faults.extend(f"{file}, line {line}: {what}" for line, what in _explained(error, node))
        except yaml.YAMLError as error:
            faults.append(f"{where}: {error}")


def _repeated_keys(node: Any) -> Iterator[tuple[int, str]]:
    # YAML keeps the last of two equal keys without a word: half of what was written would be lost.
    if isinstance(node, yaml.MappingNode):
        seen: set[str] = set()
        for key, value in node.value:
            if key.value in seen:
                yield key.start_mark.line + 1, f"{key.value!r} is written twice"
            seen.add(key.value)
            yield from _repeated_keys(value)
    elif isinstance(node, yaml.SequenceNode):
        for item in node.value:
            yield from _repeated_keys(item)


def _explained(error: ValidationError, node: Any) -> Iterator[tuple[int, str]]:
    for fault in error.errors(include_url=False):
        path = ".".join(str(step) for step in fault["loc"]) or "exercise"
        line = _line(node, fault["loc"])
        match fault["type"]:
            case "missing":
                yield line, f"{path} is missing"
            case "extra_forbidden":
                yield line, f"{path} is not a field of the catalogue"
            case "literal_error" if fault["loc"] == ("family",):
                yield line, f"unknown family {fault['input']!r}; known are {', '.join(get_args(Family))}"
            case "string_type":
                yield line, f"{path} should be text; put {fault['input']!r} in quotes"
            case _:
                yield line, f"{path}: {fault['msg'].removeprefix('Value error, ')}"


def _line(node: Any, path: tuple[int | str, ...]) -> int:
    """Return the line of the value at `path`, or of the nearest thing above it that is there."""
    line: int = node.start_mark.line + 1
    for step in path:
        if isinstance(node, yaml.MappingNode):
            pairs = [(key, value) for key, value in node.value if key.value == step]
            if not pairs:
                break
            key, node = pairs[-1]
            line = key.start_mark.line + 1
        elif isinstance(node, yaml.SequenceNode) and isinstance(step, int) and step < len(node.value):
            node = node.value[step]
            line = node.start_mark.line + 1
        else:
            break
    return line
