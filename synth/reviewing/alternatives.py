"""What would happen if the layout were used in another way: other joints of pins, other stacks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from synth.layout import Layout, Stack
from synth.medium import AXES, Joint
from synth.reviewing.finding import MEDIUM_OF, Finding, Kind, Place, Severity
from synth.reviewing.neighbours import culprits
from synth.reviewing.subject import Subject, keys_of
from synth.simulator.verdict import Verdict


def joint_findings(subject: Subject) -> Iterator[Finding]:
    """For each pin whose other joint would break something: what, and where."""
    for pin in subject.layout.pins:
        if subject.stop is not None and subject.stop():
            return
        if subject.stack is not None and subject.stack.linked(pin.name):
            continue  # The link of a chain has no other joint.
        other = Joint.BUFFER if pin.joint is Joint.WIRE else Joint.WIRE
        pins = tuple(
            replace(one, joint=other) if one is pin else one for one in subject.layout.pins
        )
        after = _judge(subject, subject.layout.replace(pins=pins), pin.name)
        said = None if after is None else _lost(subject, after)
        if said is None:
            continue
        text, place = said
        yield Finding(
            Kind.JOINT,
            Severity.NOTE,
            tuple(dict.fromkeys([Place(pin.at), place or Place(pin.at)])),
            f"with a {other} joint at pin {pin.name!r} it would break: {text}",
            details={"pin": pin.name, "joint": str(other)},
        )


def _judge(subject: Subject, layout: Layout, freed: str) -> Verdict | None:
    """The verdict when any joint of that pin is admitted."""
    spec = subject.spec
    if spec is not None:
        demand = replace(spec.pins[freed], joint=None)
        spec = spec.replace(pins={**spec.pins, freed: demand})
    return replace(subject, spec=spec).judge(layout)


def _lost(subject: Subject, after: Verdict) -> tuple[str, Place | None] | None:
    """The first thing that a changed layout does worse, and its place; None if there is none."""
    known = keys_of(subject.verdict)
    new = [fault for fault in after.faults if keys_of(replace(after, faults=(fault,))) - known]
    if new:
        return new[0].text, Place(subject.within(new[0].at), new[0].copy)
    before = subject.verdict
    for name, column in (before.outputs or {}).items():
        now = (after.outputs or {}).get(name)
        if now != column:
            return f"output {name!r} would settle at {now} instead of {column}", None
    if before.delay is not None and after.delay is not None and after.delay > before.delay:
        return f"its delay would be {after.delay} instead of {before.delay}", None
    return None


def stack_findings(subject: Subject) -> Iterator[Finding]:
    """For each axis along which a right layout need not stack: whether it would."""
    layout, stated = subject.layout, subject.stack
    if stated is not None:
        return
    for axis, size in zip(AXES, layout.size, strict=True):
        if any(pin.face.axis == axis for pin in layout.pins) or (layout.ground and axis == "z"):
            continue
        if subject.stop is not None and subject.stop():
            return
        stack = Stack(axis, size)
        after = subject.judge(layout.replace(stack=stack))
        if after is None:
            continue
        details = {"axis": axis, "pitch": size}
        where = f"along {axis} at pitch {size}"
        new = [fault for fault in after.faults if fault not in subject.verdict.faults]
        if not new:
            text = f"it would stack {where}"
            yield Finding(Kind.STACKING, Severity.NOTE, (), text, details=details)
            continue
        said, others = culprits(subject, new[0], stack)
        text = "; ".join([f"it would not stack {where}: {new[0].text}", *said])
        yield Finding(
            Kind.STACKING,
            Severity.NOTE,
            (Place(subject.within(new[0].at), new[0].copy), *others),
            text,
            new[0].rule,
            MEDIUM_OF.get(new[0].rule),
            details=details,
        )
