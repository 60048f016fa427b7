"""The command line: parse, call, print."""

from __future__ import annotations

import json
import sys
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from segmenter import __version__
from segmenter.cli_library import COMMANDS
from segmenter.errors import SegmenterError
from segmenter.files import folder_error
from segmenter.publish.page.texts import LANGUAGES
from segmenter.settings import BuildSettings
from segmenter.times import counted

if TYPE_CHECKING:
    from segmenter.pipeline import Built


class _Plainly(click.Group):
    """Turns every error raised on purpose into one line and exit status 1."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except SegmenterError as error:
            message = " ".join(str(error).split())
            raise click.ClickException(message) from error
        except BrokenPipeError:
            raise  # whoever read the output has left; click knows
        except OSError as error:
            told = folder_error(error, Path(error.filename or "."))
            raise click.ClickException(" ".join(str(told).split())) from error
        except MemoryError as error:
            raise click.ClickException(
                "there is not enough memory. Close other programs and run the same command again: it goes on"
            ) from error


@click.group(cls=_Plainly, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="segmenter")
def main() -> None:
    """Turn a recorded exercise class into a lesson that people can follow at home."""


for command in COMMANDS:
    main.add_command(command)


@main.command(short_help="Build a lesson from a recording or a transcript.")
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), help="Lesson folder; default NAME-lesson beside it."
)
@click.option("--transcript", type=click.Path(path_type=Path), help="Use these captions or timed words instead.")
@click.option("--speech-model", default="base", show_default=True, help="base, tiny, a folder, or a model's name.")
@click.option("--language", help="Language spoken, such as en; found out if not given.")
@click.option("--title", help="Title of the lesson; default from the file name.")
@click.option("--catalogue", type=click.Path(path_type=Path), help="A file with exercises of your own.")
@click.option("--plan", type=click.Path(path_type=Path), help="What you meant to do, one exercise a line: a hint.")
@click.option("--improve-sound", is_flag=True, help="Bring the voice to a good level and take rumble off.")
@click.option(
    "--page-language",
    type=click.Choice(list(LANGUAGES)),
    help="Language of the lesson page's own words; default as spoken.",
)
@click.option("--web", is_flag=True, help="Add a copy for browsers, if they would not play the recording.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Size of the home sheet."
)
@click.option("--address", help="Web address of the lesson, for codes on the home sheet that open the moment.")
@click.option("--threads", default=0, show_default="up to 4", help="Processor threads for the speech model.")
@click.option("--quiet", is_flag=True, help="Print only errors.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object when done, for scripts.")
@click.argument("recording", type=click.Path(path_type=Path), required=False)
def build(
    recording: Path | None,
    output: Path | None,
    transcript: Path | None,
    speech_model: str,
    language: str | None,
    title: str | None,
    catalogue: Path | None,
    plan: Path | None,
    improve_sound: bool,
    page_language: str | None,
    web: bool,
    paper: Literal["a4", "letter"],
    address: str | None,
    threads: int,
    quiet: bool,
    as_json: bool,
) -> None:
    """Build a lesson folder from RECORDING.

    Example: segmenter build class.mp4 -o lesson
    """
    from segmenter.pipeline import build as build_lesson
    from segmenter.progress_view import watching

    source = recording or transcript
    if source is None:
        raise click.UsageError("Give a RECORDING, or a transcript with --transcript.")
    folder = output or source.with_name(f"{source.stem}-lesson")
    settings = BuildSettings(
        speech_model, language, title, threads, catalogue, plan, improve_sound, page_language, web, paper, address
    )
    with watching(quiet=quiet or as_json) as watch:
        built = build_lesson(recording, folder, settings, transcript=transcript, watch=watch)
    _say_damage(folder)
    if as_json:
        click.echo(json.dumps(_facts(built), indent=2))
    elif not quiet:
        _say(built)


@main.command(short_help="Check captions and chapters against published rules.")
@click.option("--faults", is_flag=True, help="Report only what readers choke on, not what is hard to read.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object, for scripts.")
@click.argument("path", type=click.Path(path_type=Path))
def check(path: Path, faults: bool, as_json: bool) -> None:
    """Check captions and chapters in PATH, a file or a folder, against published rules.

    Prints every broken rule with file, line, time and source. Exit status 1 when one is broken.

    Example: segmenter check captions.vtt
    """
    from segmenter.inspect.check import check_path

    files, findings = check_path(path)
    found = [finding for finding in findings if not faults or finding.rule.level == "fault"]
    if as_json:
        rows = {"files": [str(file) for file in files], "broken": [finding.facts() for finding in found]}
        click.echo(json.dumps(rows, ensure_ascii=False, indent=2))
    else:
        for finding in found:
            click.echo(finding.text())
        for code, times in Counter(finding.rule.code for finding in found).most_common():
            click.echo(f"{times:6}  {code}", err=True)
        click.echo(f"{counted(len(files), 'file')} checked: {counted(len(found), 'broken rule')}", err=True)
    if found:
        raise click.exceptions.Exit(1)


@main.command("follow-along", short_help="Make the class as a film with practice time put in.")
@click.option(
    "--pace",
    type=click.Choice(["gentle", "usual", "quick"]),
    default="usual",
    show_default=True,
    help="Length of rests and waits. Holds stay as asked.",
)
@click.option("--reps", type=click.IntRange(min=1), help="At most so many repetitions at a stop.")
@click.option("--only", help="Chapters to take, by number, such as 2,4,5.")
@click.option(
    "--wait",
    type=click.IntRange(10, 600),
    default=60,
    show_default=True,
    help="Seconds to wait where no time to practise was said.",
)
@click.option(
    "--rest",
    type=click.IntRange(0, 120),
    default=5,
    show_default=True,
    help="Seconds between holds where no rest was said.",
)
@click.option(
    "--think", type=click.IntRange(0, 120), default=10, show_default=True, help="Seconds before a quiz answer."
)
@click.option("--cards", is_flag=True, help="Add a card before each exercise, and one with cautions at the end.")
@click.option("--cut-opening", is_flag=True, help="Leave out what comes before the first exercise.")
@click.option("--quiet", is_flag=True, help="Print only errors.")
@click.argument("folder", type=click.Path(path_type=Path))
def follow_along_command(
    folder: Path,
    pace: Literal["gentle", "usual", "quick"],
    reps: int | None,
    only: str | None,
    wait: int,
    rest: int,
    think: int,
    cards: bool,
    cut_opening: bool,
    quiet: bool,
) -> None:
    """Make follow-along.mp4 in a lesson FOLDER: the class with the practice time put in.

    Where viewers are sent off to practise, the picture stands still and counts with them; where no time was said
    it waits. For a television, where no page can stop by itself.

    Example: segmenter follow-along lesson --pace gentle
    """
    from segmenter.progress import FILM_STAGES
    from segmenter.progress_view import watching
    from segmenter.publish.follow.film import follow_along
    from segmenter.publish.follow.settings import FollowSettings
    from segmenter.publishing import rewrite_texts

    chosen = tuple(part for part in (only or "").replace(",", " ").split())
    settings = FollowSettings(pace, reps, chosen, wait, rest, think, cards, cut_opening)

    def say(sentence: str) -> None:
        if not quiet:
            click.echo(sentence, err=True)

    with watching(quiet=quiet, stages=FILM_STAGES) as watch:
        film = follow_along(folder, settings, watch, say)
        rewrite_texts(folder)
    if not quiet:
        if film.reused:
            click.echo(f"{counted(film.reused, 'piece')} of an earlier run could be used.", err=True)
        click.echo(f"The film: {film.path}")


@main.command(short_help="Write the lesson again with your changes.")
@click.option("--quiet", is_flag=True, help="Print only errors.")
@click.option("--texts", is_flag=True, help="Leave the recording's copy and the pictures as they are.")
@click.option(
    "--hand-on/--no-hand-on",
    default=None,
    help="Put what viewers may have into FOLDER/for-viewers as well; kept for the next time.",
)
@click.argument("folder", type=click.Path(path_type=Path))
def publish(folder: Path, quiet: bool, texts: bool, hand_on: bool | None) -> None:
    """Lay your changes over the draft in FOLDER again, and write the lesson.

    The recording's copy is made anew only when chapters or captions inside it changed.

    Example: segmenter publish lesson --hand-on
    """
    from segmenter.made import read_made
    from segmenter.publish.hand_on import FOLDER
    from segmenter.publishing import republish

    made = read_made(folder)
    if hand_on is not None:
        made = made.model_copy(update={"hand_on": hand_on})
    done = republish(folder, made, media=not texts)
    _say_damage(folder)
    if quiet:
        return
    click.echo(f"{counted(len(done.files), 'file')} changed" if done.files else "Nothing changed")
    for misfit in done.misfits:
        click.echo(f"A change has no place any more: {misfit.why}")
    if done.old_film:
        click.echo(
            f"The film is from before your last changes, so nothing points to it: segmenter follow-along {folder}"
        )
    click.echo(f"The lesson: {folder / 'index.html'}")
    if made.hand_on:
        click.echo(f"To hand on: {folder / FOLDER}")


@main.command(short_help="Print what people changed about a lesson.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON list, for scripts.")
@click.argument("folder", type=click.Path(path_type=Path))
def changes(folder: Path, as_json: bool) -> None:
    """Print what people changed about the lesson in FOLDER, oldest first.

    Example: segmenter changes lesson
    """
    from segmenter.publishing import changes_of

    rows = changes_of(folder)
    if as_json:
        click.echo(json.dumps([row.facts() for row in rows], ensure_ascii=False, indent=2))
    else:
        for row in rows:
            click.echo(row.text())
        click.echo(f"{counted(len(rows), 'change')}", err=True)


@main.command(short_help="Erase a lesson; your recording stays.")
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.argument("folder", type=click.Path(path_type=Path))
def forget(folder: Path, yes: bool) -> None:
    """Erase the lesson in FOLDER, and all that this program keeps of its class. Your recording stays.

    Example: segmenter forget lesson
    """
    from segmenter.forgetting import forget as erase

    if not yes:
        click.confirm(f"Erase the lesson in {folder}, with every change that people made to it?", abort=True)
    click.echo(erase(folder).text())


@main.command(short_help="Add, correct and publish lessons in your browser.")
@click.option("--port", default=8357, show_default=True, help="Where it listens; another free one if taken.")
@click.option("--speech-model", default="base", show_default=True, help="For recordings you add; as in build.")
@click.option("--no-browser", is_flag=True, help="Print the link, and open nothing.")
@click.argument("folder", type=click.Path(path_type=Path), required=False)
def desk(folder: Path | None, port: int, speech_model: str, no_browser: bool) -> None:
    """Open the review desk: add recordings, correct their lessons, publish them.

    It shows the lessons in FOLDER (default: a folder "Lessons" in your home) in your browser and listens on
    this computer only. Leave it with Ctrl+C.

    Example: segmenter desk lessons
    """
    from segmenter.review.serving import serve

    serve(folder or Path.home() / "Lessons", port, browser=not no_browser, speech_model=speech_model)


@main.command()
def schema() -> None:
    """Print the JSON Schema of lesson.json."""
    from segmenter.lesson import json_schema

    click.echo(json_schema())


def _say_damage(folder: Path) -> None:
    from segmenter.edits.damage import damaged

    for path in damaged(folder):
        click.echo(
            f"Your file of changes was damaged: those before the damage count, and all of it is kept as {path}. "
            "Look through the lesson, make again what is missing, then move that file away.",
            err=True,
        )


def _facts(built: Built) -> dict[str, Any]:
    lesson = built.lesson
    return {
        "folder": str(built.folder),
        "title": lesson.title,
        "seconds": lesson.recording.seconds,
        "exercises": [c.title for c in lesson.chapters if c.kind == "exercise"],
        "practice_stops": sum(len(c.practice) for c in lesson.chapters),
        "checks": {level: sum(c.level == level for c in lesson.checks) for level in ("stop", "look", "note")},
        "files": [file.name for file in built.files],
    }


def _say(built: Built) -> None:
    lesson = built.lesson
    exercises = [chapter.title for chapter in lesson.chapters if chapter.kind == "exercise"]
    looks = sum(check.level != "note" for check in lesson.checks)
    click.echo(f"{counted(len(exercises), 'exercise')}: {'; '.join(exercises) or 'none found'}")
    click.echo(f"{counted(looks, 'thing')} to look at before it goes out: {built.folder / 'checks.html'}")
    click.echo(f"The lesson: {built.folder / 'index.html'}")


if __name__ == "__main__":
    sys.exit(main())
