"""The table of options: held to what the search knows, and to the commands made from it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from synth import defaults
from synth.cli.main import cli
from synth.cli.shared.option import GROUPS
from synth.cli.shared.options import OPTIONS, options_of, row
from synth.cli.shared.rows.common import AXES, FACES, INSULATORS, JOINTS
from synth.encoding import ACCELERATIONS
from synth.machine import default_workers
from synth.medium import AXES as MEDIUM_AXES
from synth.medium import LEVEL_DIRECTIONS, Joint
from synth.questions.measures import MEASURES, parse_measures
from synth.search.frontier.axes import parse_axes
from synth.search.workers.settings import Settings
from synth.search.workers.solvers import SOLVERS
from synth.search.workers.tidy import SUPPORTS
from tests.cli.completing import completions
from tests.cli.conftest import Run


def commands(group: click.Group = cli, path: str = "") -> Iterator[tuple[str, click.Command]]:
    for name, command in group.commands.items():
        if isinstance(command, click.Group):
            yield from commands(command, f"{path}{name} ")
        else:
            yield f"{path}{name}", command


COMMANDS = dict(commands())
TAKING = sorted({command for option in OPTIONS for command in option.commands})


@pytest.mark.parametrize("command", TAKING)
def test_a_command_has_the_options_of_its_rows(command: str) -> None:
    rows = options_of(command)
    names = [option.name for option in rows]
    assert len(names) == len(set(names)), "a name stands twice for one command"
    made = {parameter.opts[-1]: parameter for parameter in COMMANDS[command].params}
    for option in rows:
        parameter = made[option.name]
        assert isinstance(parameter, click.Option)
        assert parameter.help == option.help
        assert option.group in GROUPS


def test_help_shows_the_groups_in_their_order(gatefit: Run) -> None:
    page = gatefit("solve", "--help").out
    places = [page.index(f"\n{group}:\n") for group in GROUPS]
    assert places == sorted(places)
    assert "\nOptions:\n" not in page


def test_defaults_of_the_table_are_those_of_the_search() -> None:
    settings = Settings.checked()
    assert settings.solver == defaults.SOLVER
    assert Settings.checked(proving=True).solver == defaults.PROVING_SOLVER
    assert (settings.seed, settings.prefer) == (defaults.SEED, defaults.PREFER)
    assert settings.workers == default_workers() <= defaults.MOST_WORKERS
    assert row("--seed").fallback == settings.seed
    assert row("--prefer").fallback == settings.prefer
    assert parse_measures(row("--minimize").default.split(",")) == defaults.MEASURES
    assert parse_axes(row("--axes").default.split(",")) == defaults.AXES


@pytest.mark.parametrize(("name", "offered"), [("solve", True), ("census", False)])
def test_only_what_takes_the_delay_of_links_offers_it(name: str, offered: bool) -> None:
    (option,) = [one for one in COMMANDS[name].params if "--minimize" in one.opts]
    assert isinstance(option, click.Option)
    assert ("link" in str(option.help)) is offered
    (option,) = [one for one in COMMANDS["library find"].params if "--minimize" in one.opts]
    assert isinstance(option, click.Option)
    assert "link" not in str(option.help)


def test_choices_of_the_table_are_those_of_the_search() -> None:
    assert set(INSULATORS) == set(SUPPORTS)
    assert set(FACES) == set(map(str, LEVEL_DIRECTIONS))
    assert set(JOINTS) == set(map(str, Joint))
    assert tuple(AXES) == tuple(MEDIUM_AXES)
    for option, names in (
        ("--without", ACCELERATIONS),
        ("--minimize", MEASURES),
        ("--prefer", INSULATORS),
        ("--joint", JOINTS),
        ("--stack", AXES),
        ("--input-face", FACES),
    ):
        for name in names:
            assert name in row(option).meaning, (option, name)
    assert {defaults.SOLVER, defaults.PROVING_SOLVER} <= set(SOLVERS)


@pytest.mark.parametrize("name", COMMANDS)
def test_help_fits_and_output_has_its_short_form(name: str, gatefit: Run) -> None:
    ended = gatefit(*name.split(), "--help")
    assert ended.code == 0
    assert max(map(len, ended.out.split("\n"))) <= 80
    for parameter in COMMANDS[name].params:
        if "--output" in parameter.opts:
            assert "-o" in parameter.opts
        assert parameter.metavar != "DIR", "a folder is called FOLDER everywhere"


CLIPPED = r"\bunsaid\b|\bpart(ed)? (them )?by\b|\bso (long|many|few)\b|\banew\b|\bof themselves\b"
"""Words that only their author takes for plain English."""


@pytest.mark.parametrize("name", COMMANDS)
def test_help_is_plain(name: str, gatefit: Run) -> None:
    page = " ".join(gatefit(*name.split(), "--help").out.split())
    assert not re.search(CLIPPED, page, re.IGNORECASE)


@pytest.mark.parametrize(
    ("words", "incomplete", "expected"),
    [
        (["solve", "--joint"], "", {"wire", "buffer"}),
        (["frontier", "--stack"], "", {"x", "y", "z"}),
        (["solve", "--input-face"], "", {"-x", "+x", "-y", "+y"}),
        (["solve", "--minimize"], "delay,vo", {"delay,volume"}),
        (["frontier", "--axes"], "parts,fl", {"parts,floor"}),
        (["solve", "--prefer"], "l", {"ledge"}),
        (["solve", "--without"], "sym", {"symmetry"}),
        (["export", "x.json", "--as"], "v", {"vcd", "verilog"}),
        (["plan", "x.json", "--as"], "", {"text", "html"}),
        (["check", "x.json", "--function"], "half", {"half-adder", "half-adder-stack"}),
        (["view", "x.json", "--function"], "half", {"half-adder", "half-adder-stack"}),
        (["library", "list", "--status"], "imp", {"impossible"}),
    ],
)
def test_values_are_completed(words: list[str], incomplete: str, expected: set[str]) -> None:
    assert completions(words, incomplete) == expected


def test_files_are_completed_by_their_ending(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "in").mkdir()
    for name in ("a.json", "a.svg", "s.sqlite", "r.toml", ".hidden.json", "in/b.json"):
        (tmp_path / name).touch()
    assert completions(["check"], "") == {"a.json", "in/"}
    assert completions(["check"], "in/") == {"in/b.json"}
    assert completions(["library", "list", "--store"], "") == {"s.sqlite", "in/"}
    assert completions(["solve", "--rules"], "r") == {"r.toml"}
    # With no such file here, the shell offers all it has.
    assert completions(["view"], "z") == {"z"}
