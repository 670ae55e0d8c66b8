"""``gatefit check``, ``trace``, ``show`` and ``targets`` on small layouts."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from synth.layout import Layout
from synth.layout.documents import layout_text as document_text
from synth.questions.in_force import stated
from synth.simulator import trace
from synth.spec.targets import describe, load_target, target_names
from synth.views.text.layers import layout_text
from tests.cli.conftest import NOT_GATE, Run
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
    assert "holds no layout" in ended.err


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
    found = gatefit("solve", "q = a & ~b", "--quiet", "--json").document["layout"]
    ended = gatefit("check", "-", "--function", "q = ~b & a", stdin=json.dumps(found))
    assert ended.code == 0
    wrong = gatefit("check", "-", "--function", "q = b & ~a", stdin=json.dumps(found))
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
    gatefit("solve", "q = a | b", "--output", "or.json", "--quiet")
    layout = Layout.load(tmp_path / "or.json")
    assert gatefit("show", "or.json").out == layout_text(layout) + "\n"
