"""The limits of a question that can be relaxed: every limit that was in force, one by one."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from synth.medium import Joint, Role
from synth.spec import PinDemand, Spec, StackDemand
from synth.words import listed

STEPS = 3
"""How far a number is relaxed: by 1, 2, ... cells or ticks."""

SIZES = ("height", "length", "width", "floor", "volume")
"""The limits that decide which boxes there are."""


@dataclass(frozen=True)
class Step:
    """One way to relax a limit.

    Attributes:
        words: what is asked instead: ``delay 3 instead of 2``.
        change: gives the specification with that change.
    """

    words: str
    change: Callable[[Spec], Spec]


@dataclass(frozen=True)
class LetOut:
    """A limit and the ways to relax it, the smallest first.

    Attributes:
        name: the limit as it was asked: ``delay 2``, ``the faces of the inputs``.
        steps: the ways to relax it; at least one.
        never: what did not help if no step did: ``delay up to 5``.
        boxes_only: whether it only decides which boxes and delays there are, so that an answer
            about one of them holds with and without this limit.
    """

    name: str
    steps: tuple[Step, ...]
    never: str
    boxes_only: bool = False


def limits_to_let_out(spec: Spec) -> list[LetOut]:
    """Every limit of a specification that can be relaxed, in the order in which they are tried.

    Another place for a pin or another joint leaves the formula as large as it was and is decided
    soonest; then comes a tick more, then larger boxes.
    """
    named = bool(spec.empty or spec.fixed)
    found = [*_faces(spec), *_pin_cells(spec), *_joints(spec), *_ground(spec)]
    found += _number(spec, "delay", boxes_only=True)
    # If cells are named, there is one box of exactly these sizes; what is asked of its floor and
    # volume may forbid it all the same.
    for name in ("floor", "volume") if named else SIZES:
        found += _number(spec, name, boxes_only=True)
    found += [*_number(spec, "parts"), *_number(spec, "link_delay"), *_chain(spec)]
    found += _kept(spec)
    found += _stacking(spec)
    return found


def _number(spec: Spec, name: str, *, boxes_only: bool = False) -> Iterator[LetOut]:
    asked = getattr(spec.limits, name)
    if asked is None:
        return

    def to(value: int) -> Callable[[Spec], Spec]:
        return lambda old: old.replace(limits=replace(old.limits, **{name: value}))

    words = name.replace("_", " ")
    steps = tuple(
        Step(f"{words} {value} instead of {asked}", to(value))
        for value in range(asked + 1, asked + 1 + STEPS)
    )
    yield LetOut(f"{words} {asked}", steps, f"{words} up to {asked + STEPS}", boxes_only)


def _of_role(spec: Spec, role: Role) -> list[str]:
    return [name for name in spec.pin_names if spec.role(name) is role]


def _with_pins(
    names: list[str], change: Callable[[PinDemand], PinDemand]
) -> Callable[[Spec], Spec]:
    def changed(old: Spec) -> Spec:
        return old.replace(
            pins={name: change(ask) if name in names else ask for name, ask in old.pins.items()}
        )

    return changed


def _faces(spec: Spec) -> Iterator[LetOut]:
    for role in (Role.INPUT, Role.OUTPUT):
        names = [name for name in _of_role(spec, role) if spec.pins[name].faces is not None]
        free = _with_pins(names, lambda ask: replace(ask, faces=None))
        if any(set(free(spec).faces(name)) != set(spec.faces(name)) for name in names):
            pins = f"{role}{'s' if len(names) > 1 else ''} {listed(names)}"
            words = f"any face for {pins}"
            yield LetOut(f"the face asked for {pins}", (Step(words, free),), words)


def _pin_cells(spec: Spec) -> Iterator[LetOut]:
    names = [name for name in spec.pin_names if spec.pins[name].at is not None]
    if names:
        words = f"any cell for {listed(names)}"
        free = _with_pins(names, lambda ask: replace(ask, at=None))
        yield LetOut(f"the cell asked for {listed(names)}", (Step(words, free),), words)


def _joints(spec: Spec) -> Iterator[LetOut]:
    for role in (Role.INPUT, Role.OUTPUT):
        for joint, other in ((Joint.WIRE, Joint.BUFFER), (Joint.BUFFER, Joint.WIRE)):
            names = [
                name
                for name in _of_role(spec, role)
                if spec.joint(name) is joint and not spec.linked(name)
            ]
            if names:
                words = f"{other} joints instead of {joint} at {listed(names)}"
                step = Step(words, _joined(names, other))
                yield LetOut(f"the {joint} joints at {listed(names)}", (step,), words)


def _joined(names: list[str], joint: Joint) -> Callable[[Spec], Spec]:
    return _with_pins(names, lambda ask: replace(ask, joint=joint))


def _ground(spec: Spec) -> Iterator[LetOut]:
    # On ground no layout stacks along z (section 7).
    if not spec.ground and (spec.stack is None or spec.stack.axis != "z"):
        step = Step("ground below the box", lambda old: old.replace(ground=True))
        yield LetOut("being without ground", (step,), step.words)


def _kept(spec: Spec) -> Iterator[LetOut]:
    if spec.empty:
        step = Step("no cells kept empty", lambda old: old.replace(empty=frozenset()))
        yield LetOut("the cells kept empty", (step,), step.words)
    if spec.fixed:
        step = Step("no cells kept as they are", lambda old: old.replace(fixed={}))
        yield LetOut("the cells kept as they are", (step,), step.words)


def _stacking(spec: Spec) -> Iterator[LetOut]:
    stack = spec.stack
    if stack is None:
        return
    alone = Step("no stacking", _unchained(None))
    yield LetOut(f"stacking along {stack.axis}", (alone,), alone.words)
    if stack.pitch is not None:
        steps = tuple(
            Step(f"pitch {pitch} instead of {stack.pitch}", _pitched(replace(stack, pitch=pitch)))
            for pitch in range(stack.pitch + 1, stack.pitch + 1 + STEPS)
        )
        yield LetOut(f"pitch {stack.pitch}", steps, f"pitch up to {stack.pitch + STEPS}")


def _chain(spec: Spec) -> Iterator[LetOut]:
    if spec.stack is not None and spec.chain:
        step = Step("no chain", _unchained(replace(spec.stack, chain=())))
        yield LetOut(f"the chain {listed([str(link) for link in spec.chain])}", (step,), step.words)


def _unchained(stack: StackDemand | None) -> Callable[[Spec], Spec]:
    # Without a chain there is no link whose delay could have a limit.
    return lambda old: old.replace(stack=stack, limits=replace(old.limits, link_delay=None))


def _pitched(stack: StackDemand) -> Callable[[Spec], Spec]:
    # Without stacking a pitch means nothing.
    return lambda old: old if old.stack is None else old.replace(stack=stack)
