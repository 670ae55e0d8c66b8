"""The limits and the medium under which a question was asked, in words.

A statement that nothing is smaller, or that there is no layout, says with the words of this module
under which limits it holds: the claims and reasons of a search, and the claim of a certificate.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import fields

from synth.medium import Block, Cell, Role
from synth.questions.problem import Problem
from synth.spec import Spec
from synth.words import counted, listed

MOST_CELLS = 6
"""Up to this many cells kept empty, or kept as they are, are named; more are counted."""


def limits_text(problem: Problem) -> str:
    """Every limit of a problem in one line, including those that the search assumed.

    Sizes, volume, floor, parts, delay, link delay; stacking with its pitch and chain; faces and
    cells of pins; joints; cells kept empty or kept as they are; ground. ``medium_text``
    tells the rule table.
    """
    spec = problem.spec
    free = [name for name in spec.pin_names if not spec.linked(name)]
    joints = _by_value(spec, lambda name: str(spec.joint(name)), free)
    if len(joints) == 1:
        said = [f"{next(iter(joints))} joints"]
    else:
        said = [f"{_a(joint)} joint at {listed(names)}" for joint, names in joints.items()]
    ground = "on ground" if spec.ground else "without ground"
    return ", ".join([*stated(spec, joints=False), *said, ground])


def stated(spec: Spec, *, joints: bool = True) -> list[str]:
    """What a specification fixes besides its function, one phrase each, without defaults.

    Args:
        spec: the specification.
        joints: whether to include joints and ground, where the specification states them.
    """
    limits = spec.limits
    phrases = [
        f"{item.name.replace('_', ' ')} at most {getattr(limits, item.name)}"
        for item in fields(limits)
        if getattr(limits, item.name) is not None
    ]
    if spec.empty or spec.fixed:
        phrases.append("in the box of just these sizes")
    if spec.stack is not None:
        own = "the box's own size" if spec.stack.pitch is None else f"pitch {spec.stack.pitch}"
        phrases.append(f"stacking along {spec.stack.axis} at {own}")
    if spec.chain:
        links = [f"{link.output} to the next {link.input}" for link in spec.chain]
        phrases.append(f"chained from {listed(links)}")
    phrases += _faces(spec)
    phrases += [
        f"{spec.role(name)} {name} at cell {_cell(ask.at)}"
        for name, ask in spec.pins.items()
        if ask.at is not None
    ]
    phrases += _cells(spec)
    if joints:
        free = [name for name in spec.pin_names if not spec.linked(name)]
        asked = _by_value(spec, lambda name: str(spec.pins[name].joint or ""), free)
        phrases += [
            f"{joint} joints" if len(asked) == 1 else f"{_a(joint)} joint at {listed(names)}"
            for joint, names in asked.items()
            if joint
        ]
        phrases += ["on ground"] if spec.ground else []
    return phrases


def medium_text(problem: Problem) -> str:
    """The medium of a claim, and the layouts that the claim excludes."""
    rules = problem.rules
    delays = ", ".join(str(delay) for delay in rules.buffer_delays)
    text = (
        f"among layouts of the medium with reach {rules.reach} and buffer delays {delays} in "
        "which no buffer holds another"
    )
    if problem.spec.stack is not None:
        text += " and no copy leans on another"
    if problem.spec.chain and problem.limits.link_delay is not None:
        text += " and links are waited for no longer than the delay"
    return text


def _faces(spec: Spec) -> Iterator[str]:
    """``inputs on face -x``, or each pin by itself if those of one role differ."""
    for role in (Role.INPUT, Role.OUTPUT):
        names = [
            name for name in spec.pin_names if spec.role(name) is role and not spec.linked(name)
        ]
        groups = _by_value(spec, lambda name: _face_words(spec, name), names)
        for faces, of in groups.items():
            if not faces:
                continue
            every = f"{role}s" if len(names) > 1 else f"{role} {names[0]}"
            some = f"{role}{'s' if len(of) > 1 else ''} {listed(of)}"
            yield f"{every if len(of) == len(names) else some} on {faces}"


def _face_words(spec: Spec, name: str) -> str:
    faces = spec.pins[name].faces
    if faces is None:
        return ""
    return f"face{'s' if len(faces) > 1 else ''} {listed([str(face) for face in faces], 'or')}"


def _cells(spec: Spec) -> Iterator[str]:
    if spec.empty:
        yield _kept(sorted(spec.empty), "kept empty")
    blocks: dict[Block, list[Cell]] = {}
    for cell, block in sorted(spec.fixed.items()):
        blocks.setdefault(block, []).append(cell)
    for block, cells in blocks.items():
        yield _kept(cells, f"kept as {block}")


def _kept(cells: list[Cell], how: str) -> str:
    if len(cells) > MOST_CELLS:
        return f"{counted(len(cells), 'cell')} {how}"
    return f"cell{'s' if len(cells) > 1 else ''} {listed([_cell(cell) for cell in cells])} {how}"


def _by_value(
    spec: Spec, value: Callable[[str], str], names: Iterable[str] | None = None
) -> dict[str, list[str]]:
    """The names of pins grouped by their ``value``, in order of appearance."""
    groups: dict[str, list[str]] = {}
    for name in spec.pin_names if names is None else names:
        groups.setdefault(value(name), []).append(name)
    return groups


def _a(word: str) -> str:
    return f"a {word}"


def _cell(cell: Cell) -> str:
    return "({},{},{})".format(*cell)
