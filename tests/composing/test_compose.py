"""Compositions are right, keep limits, and say what they do not keep."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from random import Random

import pytest

from synth.composing import Composition, compose
from synth.composing.compose import Draft, judged
from synth.composing.composition import Unkept
from synth.composing.constructions import CONSTRUCTIONS
from synth.medium import DEFAULT_RULES, LEDGE, SOLID, Part, Rules
from synth.simulator import check
from synth.spec import Limits, Spec
from tests.composing.specs import (
    LIMITS,
    RULES,
    function_of,
    random_function,
    random_spec,
)
from tests.reading.plain import verdict


def asserted_right(composed: Composition, rules: Rules = DEFAULT_RULES) -> None:
    """Asserts that the layout passes everything that is asked."""
    assert composed.layout is not None, composed.describe()
    judgement = check(composed.layout, composed.spec, rules=rules)
    assert judgement.passes, judgement.faults
    assert composed.verdict is not None
    assert judgement.delay == composed.verdict.delay
    assert not composed.unkept


def test_every_function_of_up_to_two_inputs_under_every_other_limit() -> None:
    for inputs in range(3):
        for column in map("".join, product("01", repeat=1 << inputs)):
            for limits in LIMITS[int(column, 2) % 2 :: 2]:
                spec = Spec(function_of(inputs, column))
                asserted_right(
                    compose(
                        Spec.parse("q = 1'b0", **limits).replace(
                            function=spec.function, pins=_asked(spec, limits)
                        )
                    )
                )


def _asked(spec: Spec, limits: dict[str, object]) -> dict[str, object]:
    """What ``limits`` ask of pins, of every pin of another function."""
    model = Spec.parse("q = a", **limits)
    return {
        name: model.pins["a" if name in spec.function.inputs else "q"] for name in spec.pin_names
    }


@pytest.mark.parametrize("part", range(4))
def test_every_function_of_three_inputs_under_limits_in_turn(part: int) -> None:
    for number in range(part, 256, 4):
        limits = LIMITS[(number // 4) % len(LIMITS)]
        rules = RULES[(number // 7) % len(RULES)]
        spec = Spec(function_of(3, format(number, "08b")))
        model = Spec.parse("q = a", **limits)
        spec = model.replace(function=spec.function, pins=_asked(spec, limits))
        asserted_right(compose(spec, rules=rules), rules)


@pytest.mark.parametrize("seed", range(100))
def test_random_functions_under_random_limits(seed: int) -> None:
    rng = Random(seed)
    inputs = 6 if seed % 20 == 0 else rng.choice((4, 4, 4, 5))
    outputs = 1 if inputs > 4 else rng.choice((1, 2, 3))
    function = random_function(rng, inputs, outputs, rng.choice(("01", "01-", "0001")))
    asserted_right(compose(random_spec(rng, function)))


@pytest.mark.parametrize("seed", range(12))
def test_the_plain_reading_finds_the_same(seed: int) -> None:
    rng = Random(seed)
    function = random_function(rng, rng.choice((2, 2, 3)), 1 + seed % 2, "01-")
    axis = ("y", None, "x", "z")[seed % 4]
    spec = Spec.parse("q = a", stack=axis, joint=("buffer", "wire")[seed % 2])
    spec = spec.replace(function=function, pins=_asked(Spec(function), {"joint": "buffer"}))
    composed = compose(spec)
    asserted_right(composed)
    layout = composed.layout
    assert layout is not None
    delay = composed.verdict.delay if composed.verdict else None
    columns = {name: function.outputs[name] for name in function.outputs}
    plain = verdict(layout, columns, DEFAULT_RULES, asked=delay)
    assert plain.legal
    assert plain.function
    assert plain.delay == delay
    assert plain.stacks == (None if axis is None else True)


def test_an_input_that_nothing_reads_has_its_pin() -> None:
    for joint, stack in product(("wire", "buffer"), (None, "y", "z")):
        spec = Spec.parse("q = b", inputs=["a", "b", "c"], joint=joint, stack=stack)
        asserted_right(compose(spec))


def test_constants_and_outputs_equal_to_an_input() -> None:
    text = "p = 1'b1; q = 1'b0; r = a; s = a; t = ~a; u = ~a"
    for limits in LIMITS:
        asserted_right(compose(Spec.parse(text, **limits)))


def test_eight_inputs() -> None:
    asserted_right(compose(Spec.parse("q = a&b&c&d | e&f&g&h", stack="y", joint="buffer")))
    parity = Spec.parse("q = a ^ b ^ c ^ d ^ e ^ f ^ g ^ h", stack="y", joint="buffer")
    asserted_right(compose(parity))


def test_pins_on_cells_asked() -> None:
    pins = {"a": (0, 1, 2), "b": (0, 1, 10), "q": (20, 1, 20)}
    spec = Spec.parse("q = a ^ b", stack="y", width=2, joint="wire")
    asked = {name: replace(ask, at=pins[name]) for name, ask in spec.pins.items()}
    asserted_right(compose(spec.replace(pins=asked)))
    spec = Spec.parse("q = a & b | c", stack="x", length=2, joint="buffer")
    asked = {**spec.pins, "c": replace(spec.pins["c"], at=(0, 0, 3))}
    asserted_right(compose(spec.replace(pins=asked)))


def test_cells_asked_to_be_empty_or_fixed() -> None:
    spec = Spec.parse("q = a ^ b", stack="y", joint="buffer", length=14, width=6, height=15)
    empty = frozenset(product(range(14), range(6), range(2)))
    fixed = {(13, 5, 14): SOLID, (3, 4, 0): LEDGE}
    asserted_right(compose(spec.replace(empty=empty - set(fixed), fixed=fixed)))
    everywhere = frozenset(product(range(14), range(6), range(15)))
    composed = compose(spec.replace(empty=everywhere))
    assert composed.layout is None
    assert [item.limit for item in composed.unkept] == ["cells"]


def test_a_delay_that_cannot_be_kept_is_said_with_the_nearest() -> None:
    spec = Spec.parse("q = a & b | a & c | b & c", stack="y", joint="buffer", delay=1)
    composed = compose(spec)
    assert composed.layout is None
    (unkept,) = composed.unkept
    assert unkept.limit == "delay"
    assert unkept.nearest is not None
    assert composed.nearest is not None
    assert composed.nearest.measure("delay") == unkept.nearest
    assert str(unkept) == f"within {unkept.nearest} ticks: yes; within 1 tick: not yet"
    links = Unkept("link_delay", 2, 3)
    assert str(links) == "within 3 ticks of link delay: yes; within 2 ticks of link delay: not yet"
    again = Spec.parse("q = a & b | a & c | b & c", stack="y", joint="buffer", delay=unkept.nearest)
    asserted_right(compose(again))


def test_a_size_that_cannot_be_kept_is_said() -> None:
    composed = compose(Spec.parse("q = a ^ b", length=1, width=1, height=1))
    assert composed.layout is None
    assert {item.limit for item in composed.unkept} <= {"length", "width", "height"}
    assert composed.unkept


def test_a_pitch_that_cannot_be_kept_is_said_with_the_nearest() -> None:
    spec = Spec.parse("q = a ^ b", stack="x", pitch=1, joint="buffer")
    composed = compose(spec)
    assert composed.layout is None
    (unkept,) = composed.unkept
    assert unkept.limit == "pitch"
    assert unkept.nearest is not None
    asserted_right(
        compose(Spec.parse("q = a ^ b", stack="x", pitch=unkept.nearest, joint="buffer"))
    )


def test_the_measure_asked_counts() -> None:
    spec = Spec.parse("q = a ^ b ^ c", stack="y", joint="buffer")
    quick = compose(spec, measures=("delay",))
    low = compose(spec, measures=("height",))
    narrow = compose(spec, measures=("width",))
    for composed in (quick, low, narrow):
        asserted_right(composed)
    assert quick.layout
    assert low.layout
    assert narrow.layout
    assert quick.verdict
    assert narrow.verdict
    assert quick.verdict.delay <= narrow.verdict.delay
    assert low.layout.height <= narrow.layout.height
    assert narrow.layout.width == 2


def test_the_same_question_has_the_same_answer() -> None:
    spec = Spec.parse("s = a ^ b ^ c; co = a & b | c & (a | b)", stack="y", width=2)
    assert compose(spec).layout == compose(spec).layout


def test_a_known_layout_competes() -> None:
    spec = Spec.parse("q = a & b", stack="y", joint="buffer")
    own = compose(spec)
    assert own.layout is not None
    wrong = compose(Spec.parse("q = a | b", stack="y", joint="buffer")).layout
    assert wrong is not None
    composed = compose(spec, known=[wrong, own.layout], constructions=())
    assert composed.layout == own.layout
    assert composed.best is not None
    assert composed.best.construction == "known"


def test_judging_rejects_whatever_is_broken() -> None:
    """Each part that matters is taken out, or turned: what then is wrong is never returned."""
    spec = Spec.parse("q = a ^ b", stack="y", width=2, joint="buffer")
    layout = compose(spec).layout
    assert layout is not None
    rejected = 0
    for cell, block in layout.cells.items():
        broken = layout.with_cells({cell: None})
        attempt = judged(Draft("broken", "", broken), spec, DEFAULT_RULES)
        assert attempt.right == check(broken, spec).passes
        rejected += not attempt.right
        if block.part is Part.INVERTER:
            assert not attempt.right
        composed = compose(spec, known=[broken], constructions=())
        assert (composed.layout is None) == (not attempt.right)
    assert rejected > 10


def test_a_time_limit_leaves_the_first_right_layout() -> None:
    spec = Spec.parse("q = a ^ b ^ c", stack="y", joint="buffer")
    composed = compose(spec, time_limit_s=0)
    asserted_right(composed)
    assert any("late" in attempt.reason for attempt in composed.attempts)


def test_limits_that_are_firm_count_before_those_that_were_assumed() -> None:
    spec = Spec.parse("q = a ^ b ^ c", width=2, length=12, height=8, stack="y", joint="buffer")
    composed = compose(spec, firm=Limits(width=2))
    assert composed.layout is None
    assert composed.nearest is not None
    assert composed.nearest.layout is not None
    assert composed.nearest.layout.width == 2
    plain = compose(spec)
    assert plain.nearest is not None
    assert len(plain.unkept) < len(composed.unkept)


def test_a_quick_layout_is_judged_although_a_slow_one_breaks_less() -> None:
    text = "q = a & b & c | ~a & ~b & ~c"
    slow = compose(Spec.parse(text, length=1, height=1, width=1)).nearest
    assert slow is not None
    quickest = compose(Spec.parse(text), measures=("delay",)).best
    assert quickest is not None
    delay = quickest.measure("delay")
    assert delay is not None
    hasty = compose(Spec.parse(text, length=1, height=1, width=1, delay=delay))
    assert hasty.nearest is not None
    assert hasty.nearest.measure("delay") == delay


@pytest.mark.parametrize("text", ["q = a ^ b ^ c", "q = a; r = ~(a & b); s = 1'b1", "q = 1'b0"])
@pytest.mark.parametrize("stack", [None, "y"])
def test_ground_saves_the_lowest_ledges(text: str, stack: str | None) -> None:
    ground, floating = (
        # Without rows of slices: those that are kept need no ground.
        compose(
            Spec.parse(text, inputs=["a", "b", "c"], ground=ground, stack=stack),
            constructions=list(CONSTRUCTIONS),
        )
        for ground in (True, False)
    )
    asserted_right(ground)
    assert ground.layout is not None
    assert floating.layout is not None
    assert ground.layout.ground
    assert ground.layout.volume <= floating.layout.volume
    if text == "q = a ^ b ^ c":
        assert ground.layout.height == floating.layout.height - 1
