"""The page of all commands is what the commands say."""

from __future__ import annotations

import os
from pathlib import Path

import click

from synth.cli.main import cli
from synth.cli.pages import page

PAGE = Path(__file__).parents[2] / "docs" / "commands.md"


def test_the_page_is_made_from_the_commands() -> None:
    """After a change of a command: GATEFIT_UPDATE_GOLDEN=1, then read the difference."""
    if os.environ.get("GATEFIT_UPDATE_GOLDEN"):
        PAGE.write_text(page(), encoding="utf-8")
    assert PAGE.read_text(encoding="utf-8") == page()


def test_every_command_and_option_is_on_it() -> None:
    sections = dict(part.split("\n", 1) for part in page().split("\n## ")[1:])

    def look(group: click.Group, path: str) -> int:
        seen = 0
        for name, command in group.commands.items():
            if isinstance(command, click.Group):
                seen += look(command, f"{path} {name}")
                continue
            section = sections[f"{path} {name}"]
            seen += 1
            assert "\nExamples:\n" in section
            assert "\nExit codes:\n" in section
            for parameter in command.params:
                if isinstance(parameter, click.Option):
                    assert (parameter.opts[-1] in section) != parameter.hidden, parameter.opts
        return seen

    assert look(cli, "gatefit") == len(sections)


def test_tables_are_whole() -> None:
    """A bar in a text would end its cell."""
    rows = [line.replace("\\|", "") for line in page().split("\n") if line.startswith("| `")]
    assert len(rows) > 100
    assert {row.count("|") for row in rows} == {4}
