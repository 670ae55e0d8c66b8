"""Every ``--help`` runs, teaches by examples, and names what the tables of the search offer."""

from __future__ import annotations

import gc
import inspect
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import click
import pytest

import synth.cli.main as cli_module
from synth.cli.main import cli
from synth.machine import NEW_OBJECTS
from synth.questions.measures import MEASURES
from synth.search.workers.solvers import DEFAULT_SOLVER, PLACING_SOLVER, PROVING_SOLVER, SOLVERS
from synth.spec.targets import target_names
from tests.cli.completing import completions
from tests.cli.conftest import Run

COMMANDS = sorted(cli.commands)


@pytest.mark.parametrize("command", [[], *([name] for name in COMMANDS)], ids=str)
def test_help_runs_and_has_examples(command: list[str], gatefit: Run) -> None:
    ended = gatefit(*command, "--help")
    assert ended.code == 0
    assert ended.err == ""
    assert "Examples:" in ended.out
    assert max(map(len, ended.out.split("\n"))) <= 80


def examples() -> list[str]:
    texts = [cli.help or "", *(command.help or "" for command in cli.commands.values())]
    lines = [line for text in texts for line in inspect.cleandoc(text).split("\n")]
    return sorted({line.strip() for line in lines if line.startswith(("  gatefit ", "  eval "))})


@pytest.mark.parametrize("example", examples())
def test_examples_can_be_parsed(example: str) -> None:
    """Options and arguments of every example exist; names of targets in it do, too."""
    example = re.sub(r'^eval "\$\((.*)\)"$', r"\1", example)
    for part in example.split(" | gatefit "):
        words = shlex.split(part.partition(" > ")[0].partition(" >> ")[0])
        words = words if words[0] == "gatefit" else ["gatefit", *words]
        command = cli.commands[words[1]]
        with click.Context(cli, info_name="gatefit") as parent:
            context = command.make_context(words[1], words[2:], parent=parent)
        source = context.params.get("spec_source")
        if source and "=" not in source and not source.endswith(".toml"):
            assert source in target_names()


def test_there_are_examples_of_every_command() -> None:
    assert {name for name in COMMANDS for line in examples() if f"gatefit {name}" in line} == set(
        COMMANDS
    )


def test_no_command_says_what_to_try_first_and_how_to_get_help(gatefit: Run) -> None:
    ended = gatefit()
    assert ended.code == 0
    tried = [line.split("  ")[1] for line in ended.out.split("\n") if line.startswith("  gatefit")]
    assert len(tried) == 3
    for command in tried:
        name, *words = shlex.split(command)[1:]
        with click.Context(cli, info_name="gatefit") as parent:
            cli.commands[name].make_context(name, words, parent=parent)
    assert "gatefit --help" in ended.out
    assert max(map(len, ended.out.split("\n"))) <= 80


def test_solve_help_names_every_measure_and_choice(gatefit: Run) -> None:
    page = " ".join(gatefit("solve", "--help").out.split())
    for measure in MEASURES:
        assert measure in page
    for word in ("ledge, clear or solid", "wire or buffer", "x, y or z"):
        assert word in page
    assert f"[default: {DEFAULT_SOLVER}; {PROVING_SOLVER} with --certificate]" in page


def test_the_solvers_that_serve_where_none_is_named_can_do_what_they_are_for() -> None:
    assert SOLVERS[DEFAULT_SOLVER].budget
    assert SOLVERS[PLACING_SOLVER].budget
    assert SOLVERS[PROVING_SOLVER].proof


def test_version(gatefit: Run) -> None:
    assert re.fullmatch(r"gatefit \d+\.\d+\.\d+\n", gatefit("--version").out)


def test_help_loads_nothing_heavy() -> None:
    """Help must come at once, so solvers and numpy stay out until a command needs them."""
    script = (
        "import sys; from synth.cli.main import main; main(['solve', '--help']);"
        "sys.exit(', '.join({'numpy', 'pysat', 'networkx', 'sympy'} & set(sys.modules)) or 0)"
    )
    ended = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert ended.returncode == 0, ended.stderr


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_script(shell: str, gatefit: Run) -> None:
    ended = gatefit("completion", shell)
    assert ended.code == 0
    assert "_GATEFIT_COMPLETE" in ended.out


def test_completion_offers_commands_targets_solvers_and_measures() -> None:
    assert completions([], "so") == {"solve"}
    name = target_names()[0]
    assert name in completions(["solve"], name[:3])
    assert completions(["solve", "--solver"], "cadical19") == {"cadical195"}
    assert completions(["solve", "--minimize"], "vo") == {"volume"}


@pytest.mark.skipif(shutil.which("bash") is None, reason="needs bash")
def test_bash_completes_by_the_script(gatefit: Run, tmp_path: Path) -> None:
    """The script and the command behind it work together, as a shell uses them."""
    program = tmp_path / "gatefit"
    root = Path(cli_module.__file__).parents[2]
    program.write_text(
        f'#!/bin/sh\nPYTHONPATH="{root}" exec "{sys.executable}" -m synth.cli.main "$@"\n'
    )
    program.chmod(0o755)
    (tmp_path / "completion.sh").write_text(gatefit("completion", "bash").out)
    script = (
        f'PATH="{tmp_path}:$PATH"; source completion.sh; COMP_WORDS=(gatefit targ); COMP_CWORD=1; '
        '_gatefit_completion gatefit; echo "${COMPREPLY[@]}"'
    )
    ended = subprocess.run(["bash", "-c", script], capture_output=True, text=True, cwd=tmp_path)
    assert ended.stdout.strip() == "targets", ended.stderr


def test_the_command_looks_for_garbage_seldom(gatefit: Run) -> None:
    before = gc.get_threshold()
    gc.set_threshold(NEW_OBJECTS // 2)
    try:
        assert gatefit("--version").code == 0
        assert gc.get_threshold()[0] == NEW_OBJECTS
    finally:
        gc.set_threshold(*before)
