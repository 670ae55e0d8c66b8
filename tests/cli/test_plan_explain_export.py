"""``gatefit plan``, ``explain``, ``export``, and ``show`` with power and colours."""

from __future__ import annotations

import re
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from synth.exports.lines import csv_text
from synth.simulator import trace
from synth.views.plan import plan_of
from synth.views.plan_html import plan_html
from synth.views.text.layers import layers_text, layout_text, painted
from synth.views.text.plan import plan_text
from tests.cli.conftest import NOT_GATE, Run
from tests.views.layouts import INVERTER_CHAIN


def test_plan_as_text_and_as_page(gatefit: Run, not_gate: str, tmp_path: Path) -> None:
    plan = plan_of(NOT_GATE)
    assert gatefit("plan", not_gate).out == plan_text(plan) + "\n"
    ended = gatefit("plan", not_gate, "-o", "plan.html")
    assert ended.out == "plan.html: 3 steps, 3 parts\n"
    assert (tmp_path / "plan.html").read_text(encoding="utf-8") == plan_html(plan)
    assert gatefit("plan", not_gate, "--as", "html").out == plan_html(plan)
    gatefit("plan", not_gate, "-o", "plan.txt")
    assert (tmp_path / "plan.txt").read_text(encoding="utf-8") == plan_text(plan) + "\n"


def test_what_is_not_legal_is_neither_planned_nor_explained(
    gatefit: Run, unsupported: str, tmp_path: Path
) -> None:
    verilog = ["export", unsupported, "--as", "verilog", "-o", "x"]
    for command in (["plan", unsupported, "-o", "x"], ["explain", unsupported, "-o", "x"], verilog):
        ended = gatefit(*command)
        assert ended.code == 2
        assert "rule support at [1, 0, 0]" in ended.err
        assert ended.err.count("\n") == 1
        assert not (tmp_path / "x").exists()


def test_explain_in_words_as_drawing_and_as_graph(gatefit: Run, not_gate: str) -> None:
    words = gatefit("explain", not_gate, "--inputs", "a=1").out
    assert "q = ~a" in words
    assert "Why, for a=1" in words
    assert "inverter (1,0,1) is off: a powers its host" in words
    assert "Why" not in gatefit("explain", not_gate).out
    ElementTree.fromstring(gatefit("explain", not_gate, "--as", "svg").out.encode())
    assert gatefit("explain", not_gate, "-o", "n.dot").code == 0
    assert Path("n.dot").read_text(encoding="utf-8").startswith("digraph")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("a", "cannot read 'a'"),
        ("a=2", "cannot read 'a=2'"),
        ("b=1", "no input 'b'"),
        ("a=1,a=0", "given twice"),
        ("", "no value for 'a'"),
    ],
)
def test_inputs_that_cannot_be_used(text: str, message: str, gatefit: Run, not_gate: str) -> None:
    for command in ("explain", "show"):
        ended = gatefit(command, not_gate, "--inputs", text)
        assert ended.code == 2
        assert message in ended.err
        assert "a=0" in ended.err


@pytest.mark.parametrize("kind", ["svg", "png", "gltf", "vcd", "verilog", "csv", "lines"])
def test_every_kind_goes_to_a_file(kind: str, gatefit: Run, not_gate: str, tmp_path: Path) -> None:
    ended = gatefit("export", not_gate, "--as", kind, "-o", "out")
    assert (ended.code, ended.err) == (0, "")
    assert (tmp_path / "out").stat().st_size > 20


def test_exports_go_to_standard_output_as_well(gatefit: Run, not_gate: str) -> None:
    assert gatefit("export", not_gate, "--as", "csv").out == csv_text(NOT_GATE)
    verilog = gatefit("export", not_gate, "--as", "verilog").out
    assert "not #1 g_inverter_1_0_1 (inverter_1_0_1, a);" in verilog


def test_a_dump_plays_what_is_driven(gatefit: Run, not_gate: str) -> None:
    ended = gatefit("export", not_gate, "--as", "vcd", "--drive", "a=01", "--ticks", "5")
    assert ended.code == 0
    assert re.findall(r"^#(\d+)", ended.out, re.MULTILINE)[-1] == "5"
    played = trace(NOT_GATE, {"a": "01"}, 5)["outputs"]["q"]
    changes = [tick for tick in range(1, 5) if played[tick] != played[tick - 1]]
    assert all(f"#{tick}\n" in ended.out for tick in changes)


def test_lines_in_the_words_of_another_world(gatefit: Run, not_gate: str, tmp_path: Path) -> None:
    (tmp_path / "names.toml").write_text(
        '[parts]\nsolid = "brick"\n[orientations]\n"-y" = "south"\n', encoding="utf-8"
    )
    ended = gatefit(
        "export", not_gate, "--as", "lines", "--names", "names.toml",
        "--template", "{number}: {part} {orientation} at x={x} y={y} z={z}",
        "--origin", "12,0,3", "--turn", "90",
    )  # fmt: skip
    assert ended.out.splitlines() == [
        "1: clear  at x=12 y=0 z=3",
        "2: brick  at x=12 y=0 z=4",
        "3: inverter south at x=12 y=1 z=4",
    ]
    assert ended.err == ""


def test_a_mirror_image_is_warned_of(gatefit: Run, not_gate: str) -> None:
    ended = gatefit("export", not_gate, "--as", "lines", "--template", "{part} {x} {z} {y}")
    assert ended.out.startswith("clear 0 0 0\n")
    assert "the order x z y of the template gives a mirror image" in ended.err


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--as", "csv", "--turn", "90"], "--turn has no effect on 'csv'"),
        (["--as", "lines", "--drive", "a=0"], "--drive has no effect on 'lines'"),
        (["--as", "lines", "--origin", "1,2"], "cannot read '1,2'"),
        (["--as", "lines", "--template", "{q}"], "no placeholder '{q}'"),
        (["--as", "vcd", "--drive", "b=1"], "no input 'b'"),
        (["--as", "lines", "--names", "none.toml"], "no such file"),
        (["--as", "nothing"], "'nothing'"),
        ([], "--as"),
    ],
)
def test_exports_that_cannot_be_made(
    options: list[str], message: str, gatefit: Run, not_gate: str
) -> None:
    ended = gatefit("export", not_gate, *options, "-o", "out")
    assert ended.code == 2
    assert message in ended.err
    assert not Path("out").exists()


def test_show_marks_what_has_power_at_a_tick(gatefit: Run, not_gate: str) -> None:
    on = gatefit("show", not_gate, "--inputs", "a=0").out
    assert on.startswith("Settled: a=0 q=1\nThe inputs change at tick 0; ")
    assert "~<*" in on
    off = gatefit("show", not_gate, "--inputs", "a=1").out
    assert "##*" in off
    assert "~<*" not in off
    # At tick 0 every inverter is off, whatever its host.
    assert "~<*" not in gatefit("show", not_gate, "--inputs", "a=0", "--tick", "0").out
    assert gatefit("show", not_gate, "--tick", "1").code == 2


def test_colours_only_repeat_what_the_characters_say() -> None:
    plain = layers_text(INVERTER_CHAIN)
    coloured = painted(plain)
    assert coloured != plain
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == plain


def test_colour_where_the_terminal_has_it_and_nobody_minds(
    gatefit: Run, not_gate: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    import synth.cli.show as show

    assert "\x1b" not in gatefit("show", not_gate).out

    class Terminal:
        def isatty(self) -> bool:
            return True

    with monkeypatch.context() as patched:
        patched.setattr(sys, "stdout", Terminal())
        patched.setenv("TERM", "xterm")
        patched.delenv("NO_COLOR", raising=False)
        patched.setenv("COLUMNS", "33")
        assert show._colours()
        assert show._width(None) == 33
        patched.setenv("NO_COLOR", "1")
        assert not show._colours()
    assert max(map(len, layout_text(NOT_GATE, width=33).split("\n\n")[0].split("\n"))) <= 33
