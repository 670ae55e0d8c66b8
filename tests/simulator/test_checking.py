"""The verdict against a specification: function, delay, limits, pins, cells, stacking asked."""

from __future__ import annotations

import pytest

from synth.errors import InputError
from synth.layout import Layout, Stack
from synth.medium import LEDGE, SOLID, WIRE, Direction, Joint, RuleId
from synth.simulator import Verdict, check, passing
from synth.spec import BooleanFunction, Limits, PinDemand, Spec, StackDemand
from tests.simulator.build import STANDING, box, enters, hung, leaves
from tests.simulator.test_facts import does_not_imply

GATE = does_not_imply()
BUFFERED = {"b": PinDemand(joint=Joint.BUFFER)}


def spec(column: str, inputs: tuple[str, ...] = ("a", "b"), **more: object) -> Spec:
    options = {"pins": BUFFERED} | more
    return Spec(BooleanFunction(inputs, {"q": column}), **options)  # type: ignore[arg-type]


def rules(verdict: Verdict) -> list[RuleId]:
    return [fault.rule for fault in verdict.faults]


def test_a_layout_that_is_right() -> None:
    verdict = check(GATE, spec("0010"))
    assert verdict.passes
    assert verdict.document() == {
        "format": "gatefit-verdict",
        "version": 1,
        "legal": True,
        "function": True,
        "delay": 2,
        "stacks": None,
        "outputs": {"q": "0010"},
        "faults": [],
    }


def test_the_table_is_read_in_the_layouts_order_of_inputs() -> None:
    verdict = check(GATE, spec("0100", ("b", "a")))
    assert verdict.passes
    assert verdict.outputs == {"q": "0010"}


def test_wrong_outputs_name_pin_assignment_and_what_was_read() -> None:
    verdict = check(GATE, spec("0111"))
    assert (verdict.function, verdict.delay, verdict.outputs) == (False, None, {"q": "0010"})
    assert [fault.document() for fault in verdict.faults] == [
        {
            "rule": "function",
            "at": [2, 0, 1],
            "text": f"output 'q' at a={a} b=1 reads 0, not 1",
        }
        for a in (0, 1)
    ]


def test_a_dont_care_need_not_settle() -> None:
    unknown = oscillator()
    assert check(unknown).outputs == {"q": "x0"}
    joints = dict.fromkeys("aq", PinDemand(joint=Joint.BUFFER))
    found = check(unknown, spec("-0", ("a",), pins=joints))
    assert (found.function, found.delay, found.outputs) == (True, 1, {"q": "x0"})
    found = check(unknown, spec("00", ("a",), pins=joints))
    assert (found.function, found.delay) == (False, None)
    assert found.faults[0].text == "output 'q' at a=0 reads x, not 0"


def oscillator() -> Layout:
    """An inverter whose wire leads back onto its host, which the input a drives as well."""
    cells = {
        (1, 0, 1): SOLID,
        (2, 0, 1): hung("-x"),
        (2, 1, 0): SOLID,
        (2, 1, 1): WIRE,
        (1, 1, 1): SOLID,
        (1, 1, 2): WIRE,
        (1, 0, 2): WIRE,
    }
    pins = enters("a", (1, 0, 1), "-y", "buffer"), leaves("q", (2, 0, 1), "+x", "buffer")
    return box((3, 2, 3), cells, *pins)


def test_a_delay_that_is_not_met() -> None:
    assert check(GATE, spec("0010"), delay=2).passes
    verdict = check(GATE, spec("0010"), delay=1)
    assert (verdict.function, verdict.delay, rules(verdict)) == (True, 2, [RuleId.DELAY])
    assert verdict.faults[0].text == "1 tick asked; its own delay is 2"
    assert rules(check(GATE, spec("0010", limits=Limits(delay=1)))) == [RuleId.DELAY]
    assert check(GATE, spec("0010", limits=Limits(delay=1)), delay=2).passes
    assert rules(check(GATE, delay=0)) == [RuleId.DELAY]
    assert rules(check(oscillator(), delay=9)) == [RuleId.DELAY]
    with pytest.raises(InputError, match="a delay of -1 ticks; use 0 or more"):
        check(GATE, delay=-1)


def test_pins_must_be_those_of_the_specification() -> None:
    asked = Spec(BooleanFunction(("a", "q"), {"b": "0000", "r": "0000"}))
    with pytest.raises(InputError) as caught:
        check(GATE, asked)
    text = str(caught.value)
    assert "no output 'r'" in text
    assert "'b' is an input and should be an output" in text
    assert "'q' is an output and should be an input" in text
    assert text.endswith("inputs are a, q, outputs b, r")
    with pytest.raises(InputError, match="surplus input 'b'"):
        check(GATE, spec("00", ("a",), pins={}))


@pytest.mark.parametrize(
    ("name", "value"),
    [("length", 3), ("width", 1), ("height", 2), ("volume", 6), ("floor", 3), ("parts", 4)],
)
def test_limits(name: str, value: int) -> None:
    assert check(GATE, spec("0010", limits=Limits(**{name: value}))).passes
    if value > 1:
        verdict = check(GATE, spec("0010", limits=Limits(**{name: value - 1})))
        assert rules(verdict) == [RuleId.LIMIT]
        assert verdict.faults[0].text == f"{name} is {value}, more than the {value - 1} asked"


def test_asks_of_pins() -> None:
    asked = {
        "a": PinDemand(faces=(Direction.PX,)),
        "b": PinDemand(joint=Joint.WIRE),
        "q": PinDemand(at=(0, 0, 0)),
    }
    verdict = check(GATE, spec("0010", pins=asked))
    assert rules(verdict) == [RuleId.PIN_ASK] * 3
    assert [fault.text for fault in verdict.faults] == [
        "pin 'a' faces -x, not +x",
        "pin 'b' has the joint buffer, not wire",
        "pin 'q' is at [2, 0, 1], not at [0, 0, 0]",
    ]
    assert verdict.legal


def test_asks_of_cells() -> None:
    limits = Limits(length=3, width=1, height=2)
    kept = spec("0010", limits=limits, empty=frozenset({(0, 0, 1)}), fixed={(0, 0, 0): SOLID})
    assert check(GATE, kept).passes
    broken = spec(
        "0010",
        limits=limits,
        empty=frozenset({(1, 0, 0)}),
        fixed={(0, 0, 0): LEDGE, (0, 0, 1): SOLID},
    )
    verdict = check(GATE, broken)
    assert rules(verdict) == [RuleId.CELL_ASK] * 3
    assert [fault.at for fault in verdict.faults] == [(1, 0, 0), (0, 0, 0), (0, 0, 1)]
    larger = spec("0010", limits=Limits(length=4, width=1, height=2), empty=frozenset({(3, 0, 0)}))
    assert rules(check(GATE, larger)) == [RuleId.CELL_ASK]


def test_what_a_specification_leaves_open_is_free() -> None:
    """Ground, and the joint of a pin of which none is asked."""
    layout = box(
        (1, 1, 1),
        {(0, 0, 0): WIRE},
        enters("a", (0, 0, 0), "-x"),
        leaves("q", (0, 0, 0), "+x"),
        ground=True,
    )
    assert check(layout, spec("01", ("a",))).passes
    assert check(layout, spec("01", ("a",), ground=True)).passes
    outside = layout.replace(pins=(*layout.inputs, leaves("q", (0, 0, 0), "+x", Joint.BUFFER)))
    assert check(outside, spec("01", ("a",))).passes


def test_a_stacking_other_than_the_one_asked() -> None:
    layout = box(
        (1, 2, 2),
        {(0, 0, 0): SOLID, (0, 0, 1): STANDING},
        enters("a", (0, 0, 0), "-x"),
        leaves("q", (0, 0, 1), "+x"),
        stack=Stack("y", 2),
    )
    asked = spec("10", ("a",), stack=StackDemand("y"))
    assert check(layout, asked).passes
    verdict = check(layout.replace(stack=Stack("y", 3)), asked)
    assert (verdict.stacks, rules(verdict)) == (True, [RuleId.STACK_ASK])
    assert "along y at pitch 3, not along y at pitch 2" in verdict.faults[0].text


@pytest.mark.parametrize("stack", [None, StackDemand("y")])
@pytest.mark.parametrize("delay", [None, 1, 2])
def test_passing_agrees_with_the_whole_check(stack: StackDemand | None, delay: int | None) -> None:
    """On every layout that lacks a part, on too small a box, and on the one that is right."""
    asked = spec("0010", stack=stack, limits=Limits(volume=GATE.volume))
    others = [GATE.with_cells({cell: None}) for cell in GATE.cells]
    taller = GATE.replace(size=(GATE.length, GATE.width, GATE.height + 1))
    passed = 0
    for layout in (GATE, taller, *others):
        verdict = check(layout, asked, delay=delay)
        found = passing(layout, asked, delay=delay)
        assert found == (verdict if verdict.passes else None)
        passed += verdict.passes
    assert passed == (0 if delay == 1 else passed)
