"""The command line over many lessons: parse, call, print."""

from __future__ import annotations

import json
from pathlib import Path

import click

from segmenter.times import counted


def _library(folder: Path | None) -> Path:
    return folder or Path.home() / "Lessons"


@click.command()
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object, for scripts.")
@click.argument("folder", type=click.Path(path_type=Path), required=False)
def library(folder: Path | None, as_json: bool) -> None:
    """Bring the index of the lessons in FOLDER up to date, and tell what changed.

    FOLDER is "Lessons" in your home if you name none; lessons within other folders are found too. The index can
    be deleted at any time: it holds nothing but what stands in the lessons.

    Example: segmenter library lessons
    """
    from segmenter.library.index import refresh
    from segmenter.understand.catalogue import load_catalogue

    told = refresh(_library(folder), load_catalogue())
    if as_json:
        click.echo(json.dumps(vars(told), ensure_ascii=False, indent=2))
        return
    for name, problem in told.unreadable.items():
        click.echo(f"Left out: {name}: {problem}", err=True)
    changes = f"{len(told.added)} new, {len(told.changed)} changed, {len(told.gone)} gone"
    click.echo(f"{counted(told.total - len(told.unreadable), 'lesson')} in the index: {changes}")


@click.command()
@click.option("--most", type=click.IntRange(1, 1000), default=30, show_default=True, help="Moments at most.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON list, for scripts.")
@click.argument("text")
@click.argument("folder", type=click.Path(path_type=Path), required=False)
def find(text: str, folder: Path | None, most: int, as_json: bool) -> None:
    """Find moments in the lessons of FOLDER by words: what was said, exercises, doses, cautions.

    Example: segmenter find "chin tuck left" lessons
    """
    from segmenter.library.index import refresh
    from segmenter.library.search import search
    from segmenter.understand.catalogue import load_catalogue

    place = _library(folder)
    refresh(place, load_catalogue())
    moments = search(place, text, most)
    if as_json:
        click.echo(json.dumps([moment.facts(place) for moment in moments], ensure_ascii=False, indent=2))
        return
    for moment in moments:
        click.echo(moment.line())
        click.echo(f"    {moment.link(place)}")
    click.echo(counted(len(moments), "moment") if moments else "Nothing fits. Try fewer or other words.", err=True)


@click.command()
@click.option("--since", help="Tell what was not covered since this date, such as 2026-03-01.")
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Folder for the page and tables.")
@click.argument("folder", type=click.Path(path_type=Path), required=False)
def coverage(folder: Path | None, since: str | None, output: Path | None) -> None:
    """Tell what the lessons in FOLDER covered: exercises by month, quiz items used before, doses over time.

    Writes coverage.html, .csv and .svg into FOLDER/coverage, or where -o says.

    Example: segmenter coverage lessons --since 2026-03-01
    """
    from segmenter.library.coverage import coverage as covered
    from segmenter.library.coverage_files import write_coverage
    from segmenter.library.dates import day_of
    from segmenter.library.index import refresh
    from segmenter.understand.catalogue import load_catalogue

    place, catalogue = _library(folder), load_catalogue()
    day = day_of(since) if since else None
    refresh(place, catalogue)
    made = covered(place, catalogue, day)
    files = write_coverage(made, output or place / "coverage")
    for name, months in made.by_month("family").items():
        times = sum(cell["classes"] for cell in months.values())
        click.echo(f"{name:24} {counted(times, 'time'):>10}, last in {max(months)}")
    for one in made.families_resting:
        if one.last:
            click.echo(f"Not since {one.last}: {one.name}")
    click.echo(f"The page: {files[0]}")


@click.command()
@click.option("-o", "--output", type=click.Path(path_type=Path), required=True, help="Folder of the new lesson.")
@click.option("--video", is_flag=True, help="Make one recording of the pieces too; without it: text and timers.")
@click.option("--quiet", is_flag=True, help="Print only errors.")
@click.argument("title")
@click.argument("sources", nargs=-1, required=True)
def compose(title: str, sources: tuple[str, ...], output: Path, video: bool, quiet: bool) -> None:
    """Make a new lesson TITLE out of chapters of others.

    Each of SOURCES is a lesson folder, alone for all its exercises, or with the numbers of chapters after a "#".
    The sources keep their files, and are named in the new lesson.

    Example: segmenter compose "Monday set" lessons/january#3,5 lessons/april#2 -o lessons/monday --video
    """
    from segmenter.library.compose import compose as make
    from segmenter.library.compose import told
    from segmenter.library.pieces import take
    from segmenter.progress import FILM_STAGES
    from segmenter.progress_view import watching

    parts = [source.rpartition("#") if "#" in source else (source, "", "") for source in sources]
    chosen = [take(Path(folder), numbers) for folder, _, numbers in parts]
    with watching(quiet=quiet or not video, stages=FILM_STAGES) as watch:
        made = make(title, chosen, output, video=video, watch=watch)
    if not quiet:
        click.echo(f"{told(made)}: {output / 'index.html'}")


COMMANDS = (library, find, coverage, compose)
