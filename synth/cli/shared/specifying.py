"""What the options of a command that takes a specification say of a layout."""

from __future__ import annotations

from typing import Any

from synth.cli.shared.arguments import at_option, split_list
from synth.errors import InputError
from synth.spec import Spec
from synth.words import listed

_LIMITS = ("length", "width", "height", "volume", "floor", "parts", "delay")

_PLACES = {f"limits.{name}": f"--{name}" for name in _LIMITS} | {
    "limits.link_delay": "--link-delay",
    "chain": "--chain",
    "stack": "--stack",
    "pitch": "--pitch",
    "joint": "--joint",
    "input_faces": "--input-face",
    "output_faces": "--output-face",
}
"""By which option a value came that an error about a specification names."""


def specified(spec: Spec, options: dict[str, Any]) -> Spec:
    """The specification with every option that was given in the place of its own value."""
    from synth.spec.demands import with_limits

    if options["pitch"] is not None and options["stack"] is None and spec.stack is None:
        raise InputError(
            "a pitch is given, but no axis to stack along",
            place="--pitch",
            way_out="add --stack AXIS",
        )
    options = options | {
        "chain": split_list(options["chain"]) or None,
        "input_faces": split_list(options["input_faces"]) or None,
        "output_faces": split_list(options["output_faces"]) or None,
        "ground": options["ground"] or None,
    }
    places = _PLACES | {
        f"chain[{index}]": "--chain" for index in range(len(options["chain"] or ()))
    }
    with at_option(places):
        return with_limits(spec, **options)


def with_joints(spec: Spec) -> tuple[Spec, tuple[str, ...]]:
    """``Spec.with_joints``, and what was assumed, a phrase each."""
    free = [name for name in spec.pin_names if not spec.linked(name)]
    left_open = [name for name in free if spec.pins[name].joint is None]
    if not left_open:
        return spec, ()
    where = "" if len(left_open) == len(free) else f" at {listed(left_open)}"
    return spec.with_joints(), (f"wire joints{where}",)
