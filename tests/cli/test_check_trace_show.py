"""``gatefit check``, ``trace``, ``show`` and ``targets`` on small layouts."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from synth.layout import Layout, MadeFor
from synth.layout.documents import layout_text as document_text
from synth.layout.made_for import Table
from synth.medium import CLEAR, SOLID
from synth.questions.in_force import stated
from synth.simulator import check, trace
from synth.simulator.made_for import spec_made_for
from synth.spec.targets import describe, load_target, target_names
from synth.views.text.layers import layout_text
from synth.views.text.purpose import purpose_text, purpose_words
from tests.cli.conftest import NOT_GATE, UNSUPPORTED, Run
from tests.stored import stored_layout
from tests.views.golden import check_golden


def test_show_draws_the_layout(gatefit: Run, not_gate: str) -> None:
    ended = gatefit("show", not_gate)
    assert (ended.code, ended.out) == (0, layout_text(NOT_GATE) + "\n")


def test_layouts_come_from_standard_input(gatefit: Run, not_gate: str) -> None:
    stdin = document_text(NOT_GATE)
    for command in (["show"], ["check"], ["trace"]):
        rest = ["--drive", "a=01"] if command == ["trace"] else []
        assert gatefit(*command, "-", *rest, stdin=stdin) == gatefit(*command, not_gate, *rest)


def test_outcome_documents_stand_for_their_layout(gatefit: Run, tmp_path: Path) -> None:
    found = {"format": "gatefit-outcome", "version": 1, "layout": NOT_GATE.document()}
    assert gatefit("show", "-", stdin=json.dumps(found)).out == layout_text(NOT_GATE) + "\n"
    ended = gatefit("show", "-", stdin=json.dumps(found | {"layout": None}))
    assert ended.code == 2
    assert "has no layout" in ended.err


def test_check_tells_which_function_it_is(gatefit: Run, not_gate: str) -> None:
    ended = gatefit("check", not_gate)
    assert ended.code == 0
    check_golden("check_not_gate", ended.out.rstrip("\n"))


@pytest.mark.parametrize(
    ("options", "code"),
    [
        (["--function", "q = ~a"], 0),
        (["--function", "q = a"], 1),
        (["--spec", "q = ~a", "--delay", "1"], 0),
        (["--spec", "q = ~a", "--delay", "0"], 1),
        (["--delay", "0"], 1),
        (["--spec", "spec.toml"], 0),
    ],
)
@pytest.mark.parametrize("as_json", [False, True])
def test_check_passes_or_fails(
    options: list[str], code: int, as_json: bool, gatefit: Run, not_gate: str, tmp_path: Path
) -> None:
    (tmp_path / "spec.toml").write_text('[outputs]\nq = "~a"\n[limits]\nvolume = 4\n')
    ended = gatefit("check", not_gate, *options, *(["--json"] if as_json else []))
    assert ended.code == code
    if as_json:
        assert ended.document["format"] == "gatefit-verdict"
        assert (ended.document["faults"] == []) == (code == 0)
    else:
        assert f"Verdict: {'FAILS' if code else 'passes'}" in ended.out


def test_check_of_an_illegal_layout_names_rule_and_cell(gatefit: Run, unsupported: str) -> None:
    ended = gatefit("check", unsupported)
    assert ended.code == 1
    assert "support at [1, 0, 0]" in ended.out


def test_check_with_inputs_in_another_order(gatefit: Run, tmp_path: Path) -> None:
    """The columns asked are compared row by row in the layout's own order of inputs."""
    found = json.dumps(stored_layout("and_not").document())
    ended = gatefit("check", "-", "--function", "q = ~b & a", stdin=found)
    assert ended.code == 0
    wrong = gatefit("check", "-", "--function", "q = b & ~a", stdin=found)
    assert wrong.code == 1
    assert "0 1 | 0   asked: q = 1" in wrong.out
    assert "1 0 | 1   asked: q = 0" in wrong.out


def test_rules_may_be_replaced(gatefit: Run, tmp_path: Path, not_gate: str) -> None:
    (tmp_path / "rules.toml").write_text("reach = 2\n")
    assert gatefit("check", not_gate, "--rules", "rules.toml").code == 0


def test_trace_prints_the_document(gatefit: Run, not_gate: str) -> None:
    ended = gatefit("trace", not_gate, "--drive", "a=0011", "--ticks", "6")
    assert ended.code == 0
    assert ended.document == trace(NOT_GATE, {"a": "0011"}, 6)
    assert ended.document["outputs"] == {"q": "011000"}


def test_trace_to_a_file_shows_the_words(gatefit: Run, not_gate: str, tmp_path: Path) -> None:
    ended = gatefit("trace", not_gate, "--drive", "a=0011", "--output", "t.json")
    assert ended.out.splitlines()[-1].split() == ["q", "output", "011000000000"]
    document = json.loads((tmp_path / "t.json").read_text())
    assert document == trace(NOT_GATE, {"a": "0011"}, 12)


def test_targets_are_listed_with_what_each_fixes(gatefit: Run) -> None:
    lines = gatefit("targets").out.splitlines()
    assert len(lines) == 2 * len(target_names())
    for line, fixes, name in zip(lines[::2], lines[1::2], target_names(), strict=True):
        assert line.split("  ")[0] == name
        assert line.endswith(describe(name))
        spec = load_target(name)
        assert fixes.strip() == f"fixes: {', '.join(stated(spec))}"
        assert ("stacking along y" in fixes) == name.endswith("-stack")


def test_layout_survives_solve_show_and_back(gatefit: Run, tmp_path: Path) -> None:
    limits = ("--length", "1", "--width", "2", "--height", "2", "--delay", "1")
    gatefit("solve", "q = a | b", *limits, "--output", "or.json", "--quiet")
    layout = Layout.load(tmp_path / "or.json")
    shown = gatefit("show", "or.json").out
    assert shown.startswith(layout_text(layout) + "\n")
    assert shown.endswith("Made for q = a | b within 1 tick. It passes.\n")


@pytest.fixture
def damaged(tmp_path: Path) -> str:
    """A NOT that lost its inverter, as its builder might."""
    layout = NOT_GATE.replace(
        cells={(0, 0, 0): CLEAR, (0, 0, 1): SOLID}, made_for=MadeFor("q = ~a", 1)
    )
    layout.save(tmp_path / "damaged.json")
    return "damaged.json"


def test_a_damaged_layout_fails_as_what_it_was_made_for(gatefit: Run, damaged: str) -> None:
    ended = gatefit("check", damaged)
    assert ended.code == 1
    assert re.search(r"made for +q = ~a within 1 tick\n", ended.out)
    assert re.search(r"computes +q = 1'b0\n", ended.out)
    assert gatefit("check", damaged, "--json").document["function"] is False


def test_what_is_asked_comes_before_what_it_was_made_for(gatefit: Run, damaged: str) -> None:
    assert gatefit("check", damaged, "--function", "q = a & ~a").code == 0
    NOT_GATE.replace(made_for=MadeFor("q = ~a", 1)).save("good.json")
    assert gatefit("check", "good.json").code == 0
    assert gatefit("check", "good.json", "--delay", "0").code == 1


@pytest.mark.parametrize("command", ["show", "explain"])
def test_show_and_explain_say_that_it_fails(command: str, gatefit: Run, damaged: str) -> None:
    ended = gatefit(command, damaged)
    assert ended.code == 0
    assert "Made for q = ~a within 1 tick. It FAILS: it computes q = 1'b0." in ended.out
    NOT_GATE.replace(made_for=MadeFor("q = ~a", 1)).save("good.json")
    assert "Made for q = ~a within 1 tick. It passes." in gatefit(command, "good.json").out


def test_a_purpose_that_its_pins_cannot_have_names_the_file(gatefit: Run) -> None:
    NOT_GATE.replace(made_for=MadeFor("q = ~b", 1)).save("odd.json")
    ended = gatefit("check", "odd.json")
    assert ended.code == 2
    assert "odd.json" in ended.err
    assert "function" in ended.err


def test_reasons_in_words() -> None:
    layout = NOT_GATE.replace(made_for=MadeFor("q = ~a", 0))
    late = check(layout, spec_made_for(layout))
    assert purpose_text(layout, late).endswith("It FAILS: the function is right, but takes 1 tick.")
    illegal = UNSUPPORTED.replace(made_for=MadeFor("q = ~a"))
    assert "not legal" in purpose_text(illegal, check(illegal, spec_made_for(illegal)))
    table = MadeFor(Table(("a",), ("q", "r"), ("0 1-", "1 -0")), 2)
    assert purpose_words(table) == "q: table 1-; r: table -0 within 2 ticks"
    rows = tuple(f"{row:08b} {row.bit_count() % 3 % 2}" for row in reversed(range(256)))
    long = MadeFor(Table(tuple("abcdefgh"), ("q",), rows))
    assert purpose_words(long) == "q = a function of 8 inputs, 86 ones of 256"


def test_show_and_trace_count_as_the_convention_says(gatefit: Run) -> None:
    xor = Layout.load(Path(__file__).parents[1] / "data" / "xor2.json")
    xor.save("xor.json")
    said = "The inputs change at tick 0; the outputs are right at tick 2."
    inputs = ",".join(f"{pin.name}=1" for pin in xor.inputs)
    settled = gatefit("show", "xor.json", "--inputs", inputs).out
    assert settled.startswith("Settled: ")
    assert said in settled
    at_two = gatefit("show", "xor.json", "--inputs", inputs, "--tick", "2").out
    assert at_two.startswith("Tick 2: ")
    (output,) = xor.outputs
    read = rf"{output.name}=(\d)"
    first, second = (re.search(read, text) for text in (settled, at_two))
    assert first is not None
    assert second is not None
    assert first[1] == second[1] == "0"
    drives = [f"--drive={pin.name}=01" for pin in xor.inputs]
    played = gatefit("trace", "xor.json", *drives, "--output", "t.json").out
    assert "starts at tick 0" in played
    assert "right 2 ticks after a change" in " ".join(played.split())
    assert len(json.loads(Path("t.json").read_text())["ticks"]) == 12
