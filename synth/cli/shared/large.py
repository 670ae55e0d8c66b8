"""Large layouts: what takes long says so beforehand, what would take too long is refused."""

from __future__ import annotations

from synth.cli.shared.ending import say
from synth.errors import InputError
from synth.layout import Layout

SLOW_PARTS = 5_000
"""Parts above which a drawing is announced: it takes a second or more."""

MOST_PARTS = 50_000
"""Most parts that are drawn. A sheet of so many takes some 10 seconds, and as SVG has 80 MB, which
no browser shows at its ease (measured: 43,000 parts, 8 seconds, 66 MB). Layouts that are searched
for have at most some hundreds."""


def announce(layout: Layout, what: str) -> None:
    """Say that a drawing of a large layout takes a while, on standard error.

    Args:
        layout: what is to be drawn.
        what: the drawing, as in "a page".

    Raises:
        InputError: if the layout has more than ``MOST_PARTS``.
    """
    parts = layout.part_count
    if parts > MOST_PARTS:
        raise InputError(
            f"{parts:,} parts are too many for {what}",
            place="parts",
            way_out=f"up to {MOST_PARTS:,} can be drawn; 'gatefit show' and "
            "'gatefit export --as csv' take any number",
        )
    if parts > SLOW_PARTS:
        say(f"gatefit: {what} of {parts:,} parts takes a while ...")
