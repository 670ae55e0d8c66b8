"""Options that say what is asked of a layout, shared by the commands that take a specification."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from synth.cli.shared.arguments import at_option, split_list
from synth.errors import InputError
from synth.spec import Spec

_LIMITS = {
    "length": ("CELLS", "Most cells along x."),
    "width": ("CELLS", "Most cells along y."),
    "height": ("CELLS", "Most cells along z."),
    "volume": ("CELLS", "Most cells of the box: length x width x height."),
    "floor": ("CELLS", "Most cells of its floor: length x width."),
    "parts": ("CELLS", "Most cells that are not empty."),
    "delay": ("TICKS", "The delay it has to meet."),
}

_PLACES = {f"limits.{name}": f"--{name}" for name in _LIMITS} | {
    "stack": "--stack",
    "pitch": "--pitch",
    "joint": "--joint",
    "input_faces": "--input-face",
    "output_faces": "--output-face",
}
"""By which option a value came that an error about a specification names."""

_OTHERS = (
    click.option("--stack", metavar="AXIS", help="Copies must stack along this axis: x, y or z."),
    click.option(
        "--pitch",
        type=int,
        metavar="CELLS",
        help="Distance of the copies; the box's size if unsaid.",
    ),
    click.option("--joint", metavar="JOINT", help="What stands outside every pin: wire or buffer."),
    click.option("--ground", is_flag=True, help="The layout stands on ground."),
    click.option(
        "--input-face",
        "input_faces",
        multiple=True,
        metavar="FACE",
        help="Faces for inputs: -x, +x, -y, +y. Repeat it, or part them by commas.",
    ),
    click.option(
        "--output-face", "output_faces", multiple=True, metavar="FACE", help="Faces for outputs."
    ),
)


def asking(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options; their values are what ``asked_spec`` takes."""
    limits = (
        click.option(f"--{name}", type=int, metavar=unit, help=text)
        for name, (unit, text) in _LIMITS.items()
    )
    for option in reversed((*limits, *_OTHERS)):
        command = option(command)
    return command


def asked_spec(spec: Spec, options: dict[str, Any]) -> Spec:
    """The specification with every option that was given in the place of its own value."""
    from synth.spec.asking import with_limits

    if options["pitch"] is not None and options["stack"] is None and spec.stack is None:
        raise InputError(
            "a pitch, but nothing that stacks", place="--pitch", way_out="add --stack AXIS"
        )
    options = options | {
        "input_faces": split_list(options["input_faces"]) or None,
        "output_faces": split_list(options["output_faces"]) or None,
        "ground": options["ground"] or None,
    }
    with at_option(_PLACES):
        return with_limits(spec, **options)
