"""Verdicts as text."""

from __future__ import annotations

from synth.layout import Layout, Pin, Stack
from synth.medium import Direction, Role, RuleId
from synth.simulator.verdict import Fault, Verdict
from synth.views.text.verdict import MAX_TABLE_ROWS, table_text, verdict_text
from tests.views.golden import check_golden


def gate(inputs: tuple[str, ...], outputs: tuple[str, ...]) -> Layout:
    """An empty box with these pins: the text looks at nothing else."""
    height = 2 * max(len(inputs), len(outputs))
    pins = [
        Pin(name, Role.INPUT, (0, 0, 2 * at), Direction.NX) for at, name in enumerate(inputs)
    ] + [Pin(name, Role.OUTPUT, (0, 0, 2 * at), Direction.PX) for at, name in enumerate(outputs)]
    return Layout(size=(1, 1, height), cells={}, pins=tuple(pins))


def test_passing_verdict() -> None:
    verdict = Verdict(True, True, 2, True, {"sum": "0110", "c": "0001"})
    text = verdict_text(
        verdict,
        gate(("a", "bit"), ("sum", "c")),
        asked={"sum": "0110", "c": "000-"},
        stack=Stack("y", 2),
    )
    check_golden("verdict_passes", text)


def test_failing_verdict() -> None:
    verdict = Verdict(
        True,
        False,
        None,
        False,
        {"q": "01x1"},
        (
            Fault(RuleId.FUNCTION, (0, 0, 0), "q reads x for a=1 b=0, asked is 1"),
            Fault(RuleId.FED_BACK, (0, 0, 2), "input a stays fed back"),
            Fault(RuleId.FUNCTION, (0, 0, 0), "q reads 1 for a=1 b=1, asked is 0"),
        ),
    )
    text = verdict_text(verdict, gate(("a", "b"), ("q",)), asked={"q": "0110"}, stack=Stack("y", 2))
    check_golden("verdict_fails", text)


def test_illegal_verdict() -> None:
    verdict = Verdict(
        False,
        None,
        None,
        None,
        None,
        (Fault(RuleId.SUPPORT, (1, 0, 1), "the wire stands on nothing"),),
    )
    check_golden("verdict_illegal", verdict_text(verdict, gate(("a",), ("q",))))


def test_verdict_without_a_function_says_what_is_computed() -> None:
    verdict = Verdict(True, None, 1, None, {"q": "0010"})
    text = verdict_text(verdict, gate(("a", "b"), ("q",)))
    assert "computes  q = a & ~b" in text
    assert "1 tick" in text
    assert "  function" not in text


def test_long_tables_are_not_drawn() -> None:
    names = tuple("abcdefg")
    column = "01" * MAX_TABLE_ROWS
    text = verdict_text(Verdict(True, None, 0, None, {"q": column}), gate(names, ("q",)))
    assert "128 rows, too long to print" in text
    assert "computes  q = g" in text


def test_table_of_constants_has_one_row() -> None:
    assert table_text({"q": "1"}, ()) == "Truth table\n  | q\n  | 1"
