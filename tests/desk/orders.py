"""Edits and messages for hypothesis: such as a page sends, and such as no page would."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from synth.desk.edits import KINDS
from synth.desk.seat import ORDERS
from synth.medium import Part

cells = st.tuples(st.integers(0, 4), st.integers(0, 2), st.integers(0, 3)).map(list)
lists_of_cells = st.lists(cells, max_size=6)
boxes = st.lists(cells, min_size=2, max_size=2)
ways = st.sampled_from(["+x", "-x", "+y", "-y", "-z"])
axes = st.sampled_from(["x", "y", "z"])
names = st.sampled_from(["a", "b", "q", "r"])


@st.composite
def parts(draw: st.DrawFn) -> dict[str, Any]:
    """A part as a document has it."""
    kind = draw(st.sampled_from([str(part) for part in Part]))
    entry: dict[str, Any] = {"at": draw(cells), "part": kind}
    if kind == "inverter":
        entry["on"] = draw(ways)
    elif kind == "buffer":
        entry |= {
            "to": draw(ways.filter(lambda way: way != "-z")),
            "delay": draw(st.integers(1, 4)),
        }
    return entry


def edit(kind: str, **keys: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    """An edit of a kind."""
    return st.fixed_dictionaries({"kind": st.just(kind), **keys})


pins = st.fixed_dictionaries(
    {
        "kind": st.just("pin"),
        "name": names,
        "role": st.sampled_from(["input", "output"]),
        "at": cells,
        "face": ways.filter(lambda way: way != "-z"),
        "joint": st.sampled_from(["wire", "buffer"]),
    },
    optional={"old": names},
)

edits = st.one_of(
    edit("put", parts=st.lists(parts(), max_size=5), empty=lists_of_cells),
    edit("place", cells=lists_of_cells, part=st.sampled_from([str(part) for part in Part])),
    edit("turn", cells=lists_of_cells, quarters=st.integers(-3, 3)),
    edit("turn", box=boxes, quarters=st.integers(-3, 3)),
    edit("move", box=boxes, by=st.tuples(*[st.integers(-2, 2)] * 3).map(list), copy=st.booleans()),
    edit("mirror", box=boxes, axis=st.sampled_from(["x", "y"])),
    edit("slice", axis=axes, at=st.integers(0, 5), out=st.booleans()),
    edit("size", size=st.tuples(*[st.integers(1, 6)] * 3).map(list)),
    pins,
    pins,
    edit("unpin", name=names),
    edit("stack", axis=axes | st.none(), pitch=st.integers(1, 6) | st.none()),
    edit("ground", on=st.booleans()),
    edit("name", name=st.sampled_from(["", "gate", "x y"])),
    edit("function", text=st.sampled_from(["", "q = a", "q = a ^ b", "r = ~b"]), delay=st.none()),
    edit("lock", cells=lists_of_cells, on=st.booleans()),
)
"""Edits, many of which can be carried out."""

odd = st.recursive(
    st.none() | st.booleans() | st.integers(-3, 9) | st.floats() | st.text(max_size=8) | cells,
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=6,
)
"""Any value that JSON can hold, and some that it cannot."""


@st.composite
def broken_edits(draw: st.DrawFn) -> Any:
    """An edit with values that belong elsewhere."""
    kind = draw(st.sampled_from(sorted(KINDS)))
    keys = draw(st.sets(st.sampled_from([*KINDS[kind][0], "strange"])))
    return {"kind": kind, **{key: draw(odd) for key in sorted(keys)}}


@st.composite
def broken_orders(draw: st.DrawFn) -> Any:
    """An order with values that belong elsewhere, or something that is none."""
    if draw(st.integers(0, 5)) == 0:
        return draw(odd)
    order = draw(st.sampled_from(sorted(ORDERS)))
    keys = draw(st.sets(st.sampled_from([*ORDERS[order][0], "n", "strange"])))
    values = {key: draw(odd) for key in sorted(keys)}
    if order == "edit" and draw(st.booleans()):
        values["edit"] = draw(edits | broken_edits())
    return {"do": order, **values}
