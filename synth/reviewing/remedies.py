"""Remedies: single changes that mend a fault, found by trying them in the simulator.

Every cell of the box is tried with everything that it may hold, the cells nearest to the faults and
to what is suspected first, as far as the effort reaches; besides, pins that break a rule in other
places, and the pitch. A change mends a fault if the fault is gone after it and none came that was
not there. Changes after which nothing is wrong at all come first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product

from synth.errors import InputError
from synth.layout import Layout, Pin
from synth.medium import AXES, LEVEL_DIRECTIONS, Cell, Joint, RuleId, Size
from synth.reviewing.change import Change, cell_changes, sound_around
from synth.reviewing.finding import Remedy
from synth.reviewing.subject import Effort, Key, Subject, keys_of
from synth.simulator.demands import demanded_stack
from synth.simulator.explaining.reasons import LIVE_PARTS
from synth.simulator.legality import legality
from synth.simulator.verdict import Verdict

MAX_REMEDIES = 5
"""Most remedies that a finding lists."""

_ILLEGAL = frozenset(
    {
        RuleId.SUPPORT,
        RuleId.HOST,
        RuleId.BUFFER_DELAY,
        RuleId.PIN_FACE,
        RuleId.PIN_SPACING,
    }
)
"""Rules of legality; where one is broken, nothing else is judged."""

_OF_PINS = frozenset({RuleId.PIN_FACE, RuleId.PIN_SPACING, RuleId.STACK_PIN, RuleId.PIN_ASK})
"""Rules whose faults a pin in another place may mend."""

_ALONE = frozenset({RuleId.FUNCTION, RuleId.FED_BACK})
"""Rules that the play of one copy shows broken, whatever time it has."""

Rank = tuple[bool, int, int, int, int, int]


def remedies_of(
    subject: Subject,
    effort: Effort,
    suspected: Sequence[Cell] = (),
    *,
    allowed: Collection[Cell] | None = None,
) -> tuple[Mapping[Key, tuple[Remedy, ...]], bool]:
    """For each fault of the verdict, by its key, the changes that mend it, the best first.

    Args:
        subject: the layout.
        effort: what may be tried.
        suspected: cells to look at first, besides those of the faults.
        allowed: look for one change that puts everything right, in these cells only, and no
            further; None: for all there are, anywhere.

    Returns:
        them, and whether every change was tried: the effort may have ended before.
    """
    before = keys_of(subject.verdict)
    found: dict[Key, list[tuple[Rank, Remedy]]] = defaultdict(list)
    complete = True
    for order, (distance, change) in enumerate(_candidates(subject, suspected)):
        if allowed is not None and not _within(change, allowed):
            continue
        changed = _sound(subject, change)
        if changed is None:
            continue
        if not effort.spend(subject.cost):
            complete = False
            break
        after = _tried(subject, changed, before, effort)
        if after is None:
            continue
        left = keys_of(after)
        if not subject.verdict.legal:  # Nothing was known before of what the layout does.
            left = frozenset(key for key in left if key[0] in _ILLEGAL)
        if not left <= before:
            continue
        unknown = sum(column.count("x") for column in (after.outputs or {}).values())
        rank = (not after.passes, len(left), unknown, _weight(subject, change), distance, order)
        remedy = Remedy(change, change.words(subject.layout), after.passes)
        for key in before - left:
            found[key].append((rank, remedy))
        if allowed is not None and after.passes:
            break
    mended = {
        key: tuple(remedy for _, remedy in sorted(ranked, key=lambda item: item[0])[:MAX_REMEDIES])
        for key, ranked in found.items()
    }
    return mended, complete


def _within(change: Change, allowed: Collection[Cell]) -> bool:
    """Whether a change is one of cells, and of none but the given ones."""
    return bool(change.cells) and all(cell in allowed for cell in change.cells)


def _weight(subject: Subject, change: Change) -> int:
    """How much a change takes from a layout: what carries signals was mostly put there for it.

    0: a part is turned, or something is put where nothing carried signals; 1: a part that carries
    signals is taken out; 2: another part takes its place.
    """
    before = subject.layout.cells
    lost = [
        block
        for cell, block in change.cells.items()
        if cell in before
        and before[cell].part in LIVE_PARTS
        and (block is None or block.part is not before[cell].part)
    ]
    return 0 if not lost else 1 if lost == [None] else 2


def _sound(subject: Subject, change: Change) -> Layout | None:
    """The layout after a change, or None if it is no layout or something new lacks its support."""
    try:
        changed = change.on(subject.layout)
    except InputError:  # A pin would lead into the box.
        return None
    if subject.verdict.legal and not sound_around(changed, change.cells.keys()):
        return None
    return changed


def _tried(
    subject: Subject, changed: Layout, before: frozenset[Key], effort: Effort
) -> Verdict | None:
    """The verdict on a changed layout; None as soon as it is clear that nothing is mended."""
    if not subject.verdict.legal:
        if len(legality(changed, subject.rules)) >= len(subject.verdict.faults):
            return None
        effort.judged(subject)
        return subject.judge(changed)
    alone = {key for key in before if key[0] in _ALONE}
    wrong = subject.wrong_alone(changed, None if alone else subject.asked_delay)
    if not wrong <= alone or (alone and wrong == alone):
        return None
    effort.judged(subject)
    after = subject.judge(changed)
    if after is not None and subject.spec is None and not _agrees(subject.verdict, after):
        return None
    return after


def _agrees(before: Verdict, after: Verdict) -> bool:
    """Whether every output value that was known is what it was."""
    if before.outputs is None or after.outputs is None:
        return False
    return all(
        known in ("x", now)
        for name, column in before.outputs.items()
        for known, now in zip(column, after.outputs[name], strict=True)
    )


def _candidates(subject: Subject, suspected: Sequence[Cell]) -> Iterator[tuple[int, Change]]:
    """Changes worth a trial, with how far from a fault each is: pins, pitch, then cells."""
    yield from ((0, change) for change in _stated(subject))
    yield from ((0, change) for change in _joints(subject))
    yield from _moved_pins(subject)
    first = sorted({*suspected, *(fault.at for fault in subject.verdict.faults)})
    cells = [(_nearest(cell, first), cell) for cell in _cells(subject)]
    for distance, cell in sorted(cells):
        for change in cell_changes(subject.layout, cell, subject.rules):
            yield distance, change


def _cells(subject: Subject) -> Iterator[Cell]:
    """The cells that may change: of an illegal layout only those around its faults."""
    layout = subject.layout
    if subject.verdict.legal:
        yield from _box(layout.size)
        return
    near = {
        way.step(fault.at) if way else fault.at
        for fault in subject.verdict.faults
        for way in (None, *LEVEL_DIRECTIONS)
    }
    near |= {(x, y, z - 1) for x, y, z in near}
    yield from (cell for cell in sorted(near) if layout.inside(cell))


def _box(size: Size) -> Iterator[Cell]:
    length, width, height = size
    yield from product(range(length), range(width), range(height))


def _nearest(cell: Cell, others: list[Cell]) -> int:
    return min(sum(abs(one - two) for one, two in zip(cell, at, strict=True)) for at in others)


def _stated(subject: Subject) -> Iterator[Change]:
    """Other pitches for the stack, where the stated one is at fault."""
    rules = {fault.rule for fault in subject.verdict.faults}
    stated = subject.layout.stack
    if stated is not None and RuleId.STACK_PITCH in rules:
        size = subject.layout.size[AXES.index(stated.axis)]
        yield Change(stack=replace(stated, pitch=size))
    if subject.spec is not None and RuleId.STACK_ASK in rules:
        yield Change(stack=demanded_stack(subject.layout, subject.spec))


def _faulty_pins(subject: Subject, rules: frozenset[RuleId]) -> list[Pin]:
    faults = [fault for fault in subject.verdict.faults if fault.rule in rules]
    if any(fault.rule is RuleId.PIN_SPACING for fault in faults):
        return list(subject.layout.pins)  # Two are too close; the fault names one.
    at = {fault.at for fault in faults}
    return [pin for pin in subject.layout.pins if pin.at in at]


def _joints(subject: Subject) -> Iterator[Change]:
    """Pins at fault with the other joint, where nothing else is asked."""
    for pin in _faulty_pins(subject, frozenset({RuleId.FED_BACK, RuleId.PIN_ASK})):
        asked = None if subject.spec is None else subject.spec.pins[pin.name].joint
        other = Joint.BUFFER if pin.joint is Joint.WIRE else Joint.WIRE
        if asked in (None, other):
            yield Change(pins=(replace(pin, joint=other),))


def _moved_pins(subject: Subject) -> Iterator[tuple[int, Change]]:
    """Pins at fault in other places at the edge of the box, the nearest first."""
    layout = subject.layout
    edge = [
        (cell, face)
        for cell in _box(layout.size)
        for face in LEVEL_DIRECTIONS
        if not layout.inside(face.step(cell))
    ]
    for pin in _faulty_pins(subject, _OF_PINS):
        ranked = sorted(
            (_nearest(cell, [pin.at]) + (face is not pin.face), cell, face) for cell, face in edge
        )
        for distance, cell, face in ranked:
            if (cell, face) != (pin.at, pin.face):
                yield distance, Change(pins=(replace(pin, at=cell, face=face),))
