"""Stopped and gone on with: never a worse best than before; a damaged journal is refused."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from synth.errors import InputError
from synth.layout import Layout, MadeFor
from synth.layout.made_for import Table
from synth.shrinking import Interrupted, kept_as_it_is, own_spec, shrink
from synth.shrinking.events import Event, Gained, MoveEnded
from synth.spec import BooleanFunction, Spec
from tests.shrinking.layouts import XOR

LOOSE = XOR.replace(size=(4, 2, 6))


class Stopping:
    """Stops, as the keyboard does, at an event of a kind."""

    def __init__(self, kind: type[Event]) -> None:
        self.kind = kind

    def event(self, event: Event) -> None:
        if isinstance(event, self.kind):
            raise KeyboardInterrupt


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    path = tmp_path / "xor.jsonl"
    shrink(LOOSE, pins="free", effort=1, resume=path)
    return path


@pytest.mark.parametrize("kind", [Gained, MoveEnded])
def test_a_stop_keeps_the_best_and_resuming_starts_from_it(
    kind: type[Event], tmp_path: Path
) -> None:
    path = tmp_path / "xor.jsonl"
    with pytest.raises(Interrupted) as stop:
        shrink(LOOSE, pins="free", effort=5_000, resume=path, reporter=Stopping(kind))
    reached = stop.value.shrunk
    assert reached.layout.volume < LOOSE.volume
    done = shrink(LOOSE, pins="free", effort=1, resume=path)
    assert done.layout.volume <= reached.layout.volume
    assert [gain.kind for gain in done.gains][: len(reached.gains)] == [
        gain.kind for gain in reached.gains
    ]


def test_killed_and_gone_on_with_it_is_never_worse_than_before(tmp_path: Path) -> None:
    """A kill that nothing can catch, right after a gain was told."""
    start, path = tmp_path / "loose.json", tmp_path / "xor.jsonl"
    LOOSE.save(start)
    script = "from synth.cli.main import main; import sys; sys.exit(main(sys.argv[1:]))"
    arguments = ["shrink", str(start), "--pins", "free", "--resume", str(path)]
    with subprocess.Popen(
        [sys.executable, "-c", script, *arguments], stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stderr is not None
        told = next(line for line in process.stderr if "(deletion)" in line)
        process.kill()
    assert " 4 x 2 x 4" in told or " 4 x 2 x 5" in told
    # A line that the kill cut short has no end.
    lines = [line for line in path.read_text().splitlines(keepends=True) if line.endswith("\n")]
    kept = [json.loads(line) for line in lines[1:]]
    volumes = [math.prod(gain["layout"]["size"]) for gain in kept]
    done = shrink(Layout.load(start), pins="free", effort=1, resume=path)
    assert done.layout.volume <= min(volumes) < LOOSE.volume


def test_a_line_that_a_kill_cut_short_is_passed_over(journal: Path) -> None:
    before = shrink(LOOSE, pins="free", effort=1, resume=journal)
    whole = journal.read_text()
    journal.write_text(whole + '{"seconds": 3.5, "kind": "c')
    done = shrink(LOOSE, pins="free", effort=1, resume=journal)
    assert done.layout.volume <= before.layout.volume
    assert journal.read_text().startswith(whole)


def changed(path: Path, number: int, **values: Any) -> None:
    lines = path.read_text().splitlines()
    lines[number] = json.dumps(json.loads(lines[number]) | values)
    path.write_text("".join(line + "\n" for line in lines))


DEFECTS: list[tuple[int, dict[str, Any], str]] = [
    (0, {"format": "gatefit-journal"}, "line 1.*no journal of a shrinking"),
    (0, {"version": 9}, "a journal of version 9"),
    (0, {"delay": 7}, "another question: its 'delay' differs"),
    (0, {"minimize": ["floor"]}, "another question: its 'minimize' differs"),
    (0, {"start": XOR.document()}, "another question: its 'start' differs"),
    (1, {"seconds": "soon"}, "line 2, seconds.*no number of seconds"),
    (1, {"kind": 5}, "line 2, kind"),
    (1, {"more": 1}, "line 2.*unknown key 'more'"),
    (1, {"layout": 5}, "line 2, layout.*no table"),
    (1, {"layout": XOR.document() | {"size": [0, 1, 1]}}, "line 2, layout"),
    (1, {"layout": XOR.document() | {"parts": []}}, "line 2, layout.*does not do what is asked"),
]


@pytest.mark.parametrize(("line", "values", "says"), DEFECTS)
def test_a_damaged_journal_is_refused_and_left_as_it_is(
    journal: Path, line: int, values: dict[str, Any], says: str
) -> None:
    changed(journal, line, **values)
    text = journal.read_text()
    with pytest.raises(InputError, match=says) as refused:
        shrink(LOOSE, pins="free", effort=1, resume=journal)
    assert refused.value.file == str(journal)
    assert refused.value.way_out
    assert journal.read_text() == text


@pytest.mark.parametrize("text", ["not a journal\n", "no end of line", "[1]\n", '"word"\n{}\n'])
def test_what_is_no_journal_is_refused(text: str, tmp_path: Path) -> None:
    path = tmp_path / "else.jsonl"
    path.write_text(text)
    with pytest.raises(InputError, match="no journal of a shrinking"):
        shrink(LOOSE, pins="free", effort=1, resume=path)
    with pytest.raises(InputError, match="cannot be written"):
        shrink(LOOSE, pins="free", effort=1, resume=tmp_path / "none" / "x.jsonl")


@pytest.mark.parametrize("asks", [False, True])
def test_a_journal_made_before_files_said_a_function_is_gone_on_with(
    asks: bool, tmp_path: Path
) -> None:
    """Its heading has the function that the layout had, without don't-cares."""
    path, rows = tmp_path / "xor.jsonl", ("00 0", "10 1", "01 1", "11 -")
    made = LOOSE.replace(made_for=MadeFor(Table(("b", "a"), ("q",), rows)))
    first = shrink(made, own_spec(made), pins="free", effort=1, resume=path)
    spec = kept_as_it_is(made) if asks else None
    assert spec is None or spec.function.inputs == ("a", "b")
    done = shrink(made, spec, pins="free", effort=1, resume=path)
    assert done.layout.volume <= first.layout.volume
    other = Spec(BooleanFunction(("a", "b"), {"q": "0-1-"}))
    with pytest.raises(InputError, match="its 'spec' differs"):
        shrink(made, other, pins="free", effort=1, resume=path)
