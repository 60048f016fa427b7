"""README tells of every command and option, and its two commands are what CI and the example run."""

from pathlib import Path

import click
import pytest

from segmenter import __version__
from segmenter.cli import main

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
COMMANDS = [(name, command) for name, command in main.commands.items()]


@pytest.mark.parametrize(("name", "command"), COMMANDS, ids=[name for name, _ in COMMANDS])
def test_readme_names_every_command_and_option(name: str, command: click.Command) -> None:
    assert f"segmenter {name}" in README
    for option in command.params:
        if isinstance(option, click.Option):
            assert option.help
            assert max(option.opts, key=len) in README or option.opts[0] in README, option.opts


def test_the_first_command_builds_the_example() -> None:
    line = next(line for line in README.splitlines() if "segmenter build examples/" in line)
    media = line.split("build ")[1].split()[0]
    assert (ROOT / media).is_file()


def test_newest_change_is_this_version() -> None:
    changes = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert next(line for line in changes.splitlines() if line.startswith("## ")) == f"## {__version__}"
