"""The command line over many lessons: parse, call, print."""

from __future__ import annotations

import json
from pathlib import Path

import click

from segmenter.settings import Device
from segmenter.times import counted


def _library(folder: Path | None) -> Path:
    return folder or Path.home() / "Lessons"


@click.command(short_help="Bring the index of your lessons up to date.")
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


@click.command(short_help="Find moments in your lessons by words.")
@click.option("--most", type=click.IntRange(1, 1000), default=30, show_default=True, help="Moments at most.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON list, for scripts.")
@click.argument("text")
@click.argument("folder", type=click.Path(path_type=Path), required=False)
def find(text: str, folder: Path | None, most: int, as_json: bool) -> None:
    """Find moments in the lessons of FOLDER by words: what was said, exercises, doses, cautions.

    Example: segmenter find "chin tuck left" lessons
    """
    from segmenter.library.search import find as find_moments
    from segmenter.understand.catalogue import load_catalogue

    place = _library(folder)
    moments = find_moments(place, text, load_catalogue(), most)
    if as_json:
        click.echo(json.dumps([moment.facts(place) for moment in moments], ensure_ascii=False, indent=2))
        return
    for moment in moments:
        click.echo(moment.line())
        click.echo(f"    {moment.link(place)}")
    click.echo(counted(len(moments), "moment") if moments else "Nothing fits. Try fewer or other words.", err=True)


@click.command(short_help="Tell what your lessons covered, and when.")
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


@click.command(short_help="Make a new lesson out of chapters of others.")
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


@click.command(short_help="Build the lessons of many recordings.")
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Default: SOURCE/lessons.")
@click.option(
    "--workers", type=click.IntRange(1, 256), default=1, show_default=True, help="Recordings side by side."
)
@click.option("--cluster", help="Address of a Dask scheduler whose workers share your folders.")
@click.option(
    "--resource", "resources", multiple=True, help="What a job needs of a cluster's worker: gpu=1, memory=4."
)
@click.option(
    "--places", help="Address for the lessons (as fsspec has it), where -o is for record and summary alone."
)
@click.option(
    "--device",
    type=click.Choice(["auto", "cpu", "cuda"]),
    default="auto",
    show_default=True,
    help="Where speech is recognised; cuda is a graphics processor.",
)
@click.option("--speech-model", default="base", show_default=True, help="As in build.")
@click.option("--language", help="Language spoken in all of them; as in build.")
@click.option("--quiet", is_flag=True, help="Print only errors.")
@click.argument("source")
def batch(
    source: str,
    output: Path | None,
    workers: int,
    cluster: str | None,
    resources: tuple[str, ...],
    places: str | None,
    device: Device,
    speech_model: str,
    language: str | None,
    quiet: bool,
) -> None:
    """Build the lessons of all recordings in SOURCE: a folder, an address, or a list of paths, one a line.

    One bad recording does not stop the rest. Run the same command again after a fault: only what is missing is
    done. Writes batch.html and batch.csv beside the lessons. Exit status 1 when a recording could not be built.

    Example: segmenter batch recordings -o lessons --workers 2
    """
    from segmenter.library.batch import STAGE, run_batch
    from segmenter.library.cluster import needed, run_on_cluster
    from segmenter.library.jobs import find_jobs
    from segmenter.library.places import is_address
    from segmenter.library.record import PAGE
    from segmenter.progress_view import watching
    from segmenter.settings import BuildSettings

    jobs = find_jobs(source)
    here = Path("lessons") if is_address(source) else Path(source if Path(source).is_dir() else ".") / "lessons"
    folder = output or here
    settings = BuildSettings(speech_model=speech_model, language=language, device=device)
    with watching(quiet=quiet, stages={STAGE: "Building lessons"}) as watch:
        if cluster is None:
            ended = run_batch(jobs, folder, settings, workers=workers, watch=watch, places=places)
        else:
            wanted = needed(resources)
            ended = run_on_cluster(jobs, folder, settings, cluster, resources=wanted, watch=watch, places=places)
    failed = [one for one in ended if one.state == "failed"]
    for one in failed:
        click.echo(f"{one.job.recording}: {one.problem}", err=True)
    if not quiet:
        click.echo(f"{counted(len(ended) - len(failed), 'lesson')}: {folder / PAGE}")
    if failed:
        raise click.exceptions.Exit(1)


COMMANDS = (library, find, coverage, compose, batch)
