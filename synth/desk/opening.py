"""What can be opened at the desk: a document or drawing of a layout, a specification to fill in."""

from __future__ import annotations

from pathlib import Path

from synth.desk.design import NEW_SIZE, Design, checked
from synth.errors import InputError
from synth.files import decoded, read_bytes
from synth.layout import Layout, Pin, Stack
from synth.layout.documents import layout_text, parse_json
from synth.layout.drawing import DRAWING_ENDING, is_drawing
from synth.medium import AXES, Direction, Joint, Role, Size
from synth.simulator.made_for import made_for
from synth.spec import Spec
from synth.spec.documents import load_spec

LAYOUTS = (".json", DRAWING_ENDING)
SPECS = (".toml",)


def opened(path: Path) -> tuple[Design, bytes]:
    """The design in a file, and the bytes that it was read from.

    Raises:
        InputError: naming the file, if it cannot be read or is neither layout nor specification.
    """
    data = read_bytes(path)
    if path.suffix in SPECS:
        return design_of(load_spec(path)), data
    try:
        text = decoded(data)
        if is_drawing(text):
            return Design(checked(Layout.from_drawing(text))), data
        document = parse_json(text)
        if isinstance(document, dict) and isinstance(document.get("layout"), dict):
            document = document["layout"]  # what `solve --json` and `shrink --json` print
        return Design(checked(Layout.from_document(document))), data
    except InputError as error:
        raise error.in_file(path.name) from None


def written(path: Path, design: Design) -> bytes:
    """The kind of layout file that the ending of a name asks for.

    Raises:
        InputError: if its ending is not one of a layout.
    """
    if path.suffix not in LAYOUTS:
        raise InputError(
            f"a layout in a file that ends in {path.suffix or 'nothing'}",
            place="name",
            way_out=f"use a name that ends in {' or '.join(LAYOUTS)}",
        )
    layout = design.layout
    text = layout.drawing() if path.suffix == DRAWING_ENDING else layout_text(layout)
    return text.encode()


def design_of(spec: Spec) -> Design:
    """An empty box for a specification: inputs on one side, outputs on the other, as asked.

    Pins keep their distance: two cells apart, in height first.
    """
    names = spec.pin_names
    inputs = [name for name in names if spec.role(name) is Role.INPUT]
    outputs = [name for name in names if spec.role(name) is Role.OUTPUT]
    size = _room(spec, max(len(inputs), len(outputs)))
    pins = []
    for listed, face in ((inputs, Direction.NX), (outputs, Direction.PX)):
        x = 0 if face is Direction.NX else size[0] - 1
        for number, name in enumerate(listed):
            asked = spec.pins[name]
            lanes = (size[1] + 1) // 2
            at = (x, number % lanes * 2, number // lanes * 2)
            pins.append(Pin(name, spec.role(name), at, face, asked.joint or Joint.WIRE))
    stack = None
    if spec.stack is not None:
        pitch = spec.stack.pitch or size[AXES.index(spec.stack.axis)]
        stack = Stack(spec.stack.axis, pitch)
    layout = Layout(
        size=size,
        cells=dict(spec.fixed),
        pins=tuple(pins),
        stack=stack,
        ground=spec.ground,
        name=spec.name,
        made_for=made_for(spec.function, spec.limits.delay),
    )
    return Design(checked(layout), frozenset((*spec.fixed, *spec.empty)))


def _room(spec: Spec, pins: int) -> Size:
    """A box as large as the limits; where there is no limit, of the usual size or larger."""
    limits = spec.limits
    length = limits.length or NEW_SIZE[0]
    width = limits.width or NEW_SIZE[1]
    lanes = (width + 1) // 2
    levels = -(-pins // lanes)
    height = limits.height or max(NEW_SIZE[2], 2 * levels)
    return (length, width, max(height, 2 * levels - 1))
