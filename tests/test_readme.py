"""What the README shows is run: every command, every snippet, the output it prints.

Commands run in the order of the page, in one folder, so that what one writes the next may read.
The environment of the first command is made by ``.ci/run``; here it is the one that runs the
tests.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
PYTHON = (ROOT / "docs" / "python.md").read_text(encoding="utf-8")
COMMANDS_PAGE = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")


def blocks_of(page: str) -> list[tuple[str, str]]:
    """The kind and the text of every block of a page."""
    return re.findall(r"^```(\w+)\n(.*?)^```", page, re.DOTALL | re.MULTILINE)


BLOCKS = blocks_of(README)
COMMANDS = [line for kind, text in BLOCKS if kind == "sh" for line in text.splitlines()]
INSTALL, TESTS, *OTHERS = COMMANDS


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An empty folder in which ``gatefit`` and ``.venv/bin/gatefit`` are this checkout."""
    programs = tmp_path / ".venv" / "bin"
    programs.mkdir(parents=True)
    program = programs / "gatefit"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m synth.cli.main "$@"\n')
    program.chmod(0o755)
    return tmp_path


def run(command: str, folder: Path) -> subprocess.CompletedProcess[str]:
    environment = {
        **os.environ,
        "PATH": f"{folder / '.venv' / 'bin'}{os.pathsep}{os.environ['PATH']}",
        "PYTHONPATH": str(ROOT),
    }
    return subprocess.run(
        ["/bin/sh", "-c", command], cwd=folder, env=environment, capture_output=True, text=True
    )


def test_first_command_installs_and_does_the_main_job(folder: Path) -> None:
    install, _, job = INSTALL.rpartition(" && ")
    assert install == "python3 -m venv .venv && .venv/bin/pip install -q -e ."
    if "GATEFIT_FIRST_COMMAND" in os.environ:
        # ``.ci/run`` has just run it whole, and goes no further where it fails.
        printed = Path(os.environ["GATEFIT_FIRST_COMMAND"]).read_text(encoding="utf-8")
    else:
        ended = run(job, folder)
        assert ended.returncode == 0, ended.stderr
        printed = ended.stdout
    assert "Verdict: passes" in printed
    assert "stacks    yes, along y at pitch 2" in printed
    assert "computes  q = a ^ b" in printed
    assert "delay     2 ticks" in printed or "delay     1 tick" in printed


def test_ci_runs_the_commands_of_the_readme() -> None:
    """``.ci/run`` takes both from the page, so that neither can drift."""
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert "README.md" in script
    assert INSTALL not in script
    assert TESTS == (".venv/bin/pip install -q -e '.[dev]' && .venv/bin/python -m pytest -n 2")


def quicker(command: str) -> str:
    """The same command on a smaller gate, for the one whose proofs take minutes to check, in
    smaller boxes for the one that takes a minute, with more ticks and less time for the one that
    takes five, and with less time for those that take all they get.

    ``python -m benchmarks.certificate_cost`` makes and audits the certificate on the page.
    """
    if command.startswith("gatefit census"):
        return command.replace("--length 4 --width 2 --height 5", "--length 1 --width 2 --height 4")
    if "--time-limit 300" in command:
        return command.replace("--delay 4 --time-limit 300", "--delay 8 --time-limit 2")
    if "--time-limit 5" in command:
        return command.replace("--time-limit 5", "--time-limit 2")
    if "--certificate" not in command:
        return command
    assert '"q = a ^ b"' in command
    return command.replace('"q = a ^ b"', '"q = a & ~b"')


def test_the_answer_on_the_page_is_what_is_printed(folder: Path) -> None:
    place = BLOCKS.index(("sh", 'gatefit solve "q = ~a" --delay 1\n'))
    kind, shown = BLOCKS[place + 1]
    assert kind == "text"
    assert run(BLOCKS[place][1], folder).stdout.split() == shown.split()


def is_run_again(command: str) -> bool:
    """Whether the page has the same command with ``--output``, which prints the same as well."""
    return any(other.startswith(f"{command} --output") for other in OTHERS)


def test_all_other_commands_run(folder: Path) -> None:
    assert len(OTHERS) > 10
    for command in map(quicker, OTHERS):
        if is_run_again(command):
            continue
        ended = run(command, folder)
        good = (0, 3) if "--time-limit" in command else (0,)
        assert ended.returncode in good, f"{command}\n{ended.stdout}\n{ended.stderr}"
        assert ended.stdout
        assert "Traceback" not in ended.stderr


def test_python_snippets_run(folder: Path) -> None:
    """On the README, then on the page about Python, which goes on from its files."""
    snippets = [text for kind, text in [*BLOCKS, *blocks_of(PYTHON)] if kind == "python"]
    assert len(snippets) >= 2
    for snippet in snippets:
        (folder / "snippet.py").write_text(snippet, encoding="utf-8")
        ended = run(f'"{sys.executable}" -W error snippet.py', folder)
        assert ended.returncode == 0, f"{snippet}\n{ended.stderr}"
        assert ended.stdout


def test_specification_file_on_the_page_can_be_read(folder: Path) -> None:
    (toml,) = (text for kind, text in BLOCKS if kind == "toml")
    (folder / "my_gate.toml").write_text(toml, encoding="utf-8")
    ended = run("gatefit solve my_gate.toml --quiet", folder)
    assert ended.returncode == 0, ended.stderr


def test_output_on_the_page_is_what_is_printed(folder: Path) -> None:
    """But for the drawing: which of several smallest layouts is found is the solver's choice."""
    (page,) = (text for kind, text in BLOCKS if kind == "text")
    (command,) = (line for line in OTHERS if line == 'gatefit solve "q = ~a" --delay 1')
    printed = run(command, folder).stdout
    shown_drawing, shown_rest = split_drawing(page)
    drawing, rest = split_drawing(printed)
    assert shown_rest == rest
    assert len(shown_drawing) == len(drawing)


def split_drawing(page: str) -> tuple[list[str], str]:
    """The layers and pins; and legend, size, verdict and answer."""
    sections = page.strip().split("\n\n")
    drawing = [text for text in sections if text.startswith(("z = ", "Pins"))]
    return drawing, "\n\n".join(text for text in sections if text not in drawing)


def test_every_option_of_solve_is_on_the_page() -> None:
    from synth.cli.main import cli

    for parameter in cli.commands["solve"].params:
        for option in parameter.opts:
            if option.startswith("--"):
                assert option in COMMANDS_PAGE, f"docs/commands.md does not mention {option}"


def test_public_names_are_on_the_page() -> None:
    import synth

    for name in synth.__all__:
        assert re.search(rf"\b{name}\b", PYTHON), f"docs/python.md does not mention synth.{name}"
        assert getattr(synth, name) is not None
    with pytest.raises(AttributeError, match="nothing_like_it"):
        synth.nothing_like_it  # noqa: B018


def test_the_readme_is_read_to_its_end() -> None:
    assert len(README.splitlines()) < 250


def test_every_link_of_the_pages_leads_somewhere() -> None:
    for page in (ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))):
        for target in re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
            assert (page.parent / target).exists(), f"{page.name} links to {target}"
