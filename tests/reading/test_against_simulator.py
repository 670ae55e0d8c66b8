"""The simulator and the plain reading, written apart from the same text, find the same."""

from __future__ import annotations

from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from synth.layout import Layout, Stack
from synth.medium import CLEAR, DEFAULT_RULES, SOLID, WIRE, Direction, RuleId, Rules, inverter
from synth.simulator import check, trace
from synth.simulator import settle as settle_all
from synth.spec import BooleanFunction, Spec
from tests.reading.plain import assignments, play, read, settle, verdict
from tests.reading.random_layouts import (
    any_layouts,
    changed_layouts,
    legal_layouts,
    random_drive,
)

PART_RULES = {RuleId.SUPPORT, RuleId.HOST, RuleId.BUFFER_DELAY}
LEGALITY = PART_RULES | {RuleId.PIN_FACE, RuleId.PIN_SPACING}
STATIC_STACKING = {
    RuleId.STACK_LINK,
    RuleId.STACK_INVERTER,
    RuleId.STACK_SUPPORT,
    RuleId.STACK_BUFFER,
}

randoms = st.randoms(use_true_random=False)
rule_tables = st.builds(Rules, reach=st.integers(1, 5)) | st.just(DEFAULT_RULES)


def same_verdict(
    layout: Layout,
    rules: Rules = DEFAULT_RULES,
    function: BooleanFunction | None = None,
    asked: int | None = None,
) -> None:
    """Asserts that both find the same of a layout."""
    columns = None if function is None else function.outputs
    spec = None if function is None else Spec(function)
    plain = verdict(layout, columns, rules, asked=asked)
    found = check(layout, spec, delay=asked, rules=rules)
    assert found.legal == plain.legal
    assert (None if found.outputs is None else dict(found.outputs)) == plain.outputs
    assert (found.function, found.delay) == (plain.function, plain.delay)
    assert found.fed_back == plain.fed_back
    assert found.stacks == plain.stacks
    faults = {(fault.rule, fault.at) for fault in found.faults}
    broken = {fault.rule for fault in found.faults}
    if not plain.legal:
        assert {(rule, at) for rule, at in faults if rule in PART_RULES} == {
            (rule, at) for rule, at in plain.reasons if rule in PART_RULES
        }
        assert broken & LEGALITY == {rule for rule, _ in plain.reasons}
    elif layout.stack is not None:
        wanted = {rule for rule, _ in plain.reasons}
        if not wanted & {RuleId.STACK_PIN, RuleId.STACK_GROUND, RuleId.STACK_PITCH}:
            # Otherwise the plain reading sets no copies side by side.
            assert broken & STATIC_STACKING == wanted & STATIC_STACKING
        if not wanted - {RuleId.STACK_FUNCTION}:
            assert (RuleId.STACK_FUNCTION in broken) == (RuleId.STACK_FUNCTION in wanted)


def overlaps(layout: Layout) -> bool:
    """Whether copies at the pitch asked would overlap.

    Section 7 refuses that; whether pins of copies that cannot be are also too close in the sense
    of section 6, so that the layout is illegal besides, the text leaves open.
    """
    if layout.stack is None:
        return False
    return layout.stack.pitch < layout.size["xyz".index(layout.stack.axis)]


@settings(max_examples=200)
@given(legal_layouts(), randoms, st.integers(12, 20), rule_tables)
def test_same_trace(layout: Layout, rng: Random, ticks: int, rules: Rules) -> None:
    drive = random_drive(rng, layout, ticks)
    assert trace(layout, drive, ticks, rules=rules) == play(layout, drive, ticks, rules)


@settings(max_examples=150)
@given(legal_layouts(), rule_tables)
def test_same_verdict(layout: Layout, rules: Rules) -> None:
    same_verdict(layout, rules)


@settings(max_examples=80)
@given(legal_layouts(), randoms)
def test_same_verdict_on_a_function_asked(layout: Layout, rng: Random) -> None:
    found = verdict(layout).outputs
    assert found is not None
    # Most often what the layout gives, so that some are met; with don't-cares and errors.
    columns = {
        name: "".join(rng.choice((bit, bit, bit, "-", "0")) for bit in column).replace("x", "-")
        for name, column in found.items()
    }
    inputs = tuple(pin.name for pin in layout.inputs)
    same_verdict(layout, function=BooleanFunction(inputs, columns))


@settings(max_examples=80)
@given(legal_layouts())
def test_same_reading_at_every_tick(layout: Layout) -> None:
    settled = settle_all(layout)
    for row, bits in enumerate(assignments(layout)):
        for tick, reading in enumerate(settle(layout, bits)):
            for name, value in reading.outputs.items():
                surely = settled.surely_reads(name, tick) >> row & 1
                possibly = settled.possibly_reads(name, tick) >> row & 1
                assert value == ("1" if surely else "x" if possibly else "0")
            for pin in layout.inputs:
                fed_back = settled.fed_back(pin.name, tick) >> row & 1
                assert bool(fed_back) == (pin.name in reading.fed_back)


@settings(max_examples=120)
@given(legal_layouts((3, 3, 3), stack=True, inputs=2), st.none() | st.integers(0, 4))
def test_same_verdict_on_stacks(layout: Layout, asked: int | None) -> None:
    same_verdict(layout, asked=asked)


@settings(max_examples=150)
@given(changed_layouts(legal_layouts()) | any_layouts())
def test_same_verdict_on_layouts_that_may_be_illegal(layout: Layout) -> None:
    if overlaps(layout):
        assert check(layout).stacks is not True
        assert not check(layout).passes
        layout = layout.replace(stack=None)
    same_verdict(layout)


@settings(max_examples=100)
@given(legal_layouts() | legal_layouts(stack=True))
def test_both_read_the_same_documents(layout: Layout) -> None:
    assert read(layout.document()) == layout == Layout.from_document(layout.document())


def test_same_verdict_on_an_inverter_above_the_wire_of_another_copy() -> None:
    """Section 7: "no inverter of one copy has a wire of another ... below it": rare at random."""
    layout = Layout(
        (2, 1, 3),
        {
            (0, 0, 0): inverter(Direction.PX),
            (1, 0, 0): SOLID,
            (0, 0, 1): CLEAR,
            (0, 0, 2): WIRE,
        },
        stack=Stack("z", 3),
    )
    assert verdict(layout).reasons == ((RuleId.STACK_INVERTER, (0, 0, 0)),)
    same_verdict(layout)
    same_verdict(layout.replace(stack=Stack("z", 4)))
