"""The netlist of a layout as structural Verilog of IEEE Std 1364-2005: gates, delays in ticks.

Gate delays in Verilog are inertial (section 7.14, from memory): a pulse shorter than the delay is
swallowed. A buffer of the medium lets a short on-pulse out, stretched (section 5 of the medium). So
values agree once inputs stand still, and at every tick if all delays are 1. Shorter pulses into
slower buffers may differ, and the file says so.
"""

from __future__ import annotations

import re

from synth.errors import InputError
from synth.exports.needs import NO_ELECTRONICS
from synth.fields import NAME_PATTERN
from synth.layout import Layout
from synth.layout.pins import show_size
from synth.medium import DEFAULT_RULES, Rules
from synth.simulator.explaining.netlist import Node, NodeKind, netlist_of
from synth.views.titles import title_of

_WORDS = """
always and assign automatic begin buf bufif0 bufif1 case casex casez cell cmos config deassign
default defparam design disable edge else end endcase endconfig endfunction endgenerate
endmodule endprimitive endspecify endtable endtask event for force forever fork function
generate genvar highz0 highz1 if ifnone incdir include initial inout input instance integer join
large liblist library localparam macromodule medium module nand negedge nmos nor noshowcancelled
not notif0 notif1 or output parameter pmos posedge primitive pull0 pull1 pulldown pullup
pulsestyle_ondetect pulsestyle_onevent rcmos real realtime reg release repeat rnmos rpmos rtran
rtranif0 rtranif1 scalared showcancelled signed small specify specparam strong0 strong1 supply0
supply1 table task time tran tranif0 tranif1 tri tri0 tri1 triand trior trireg unsigned use
uwire vectored wait wand weak0 weak1 while wire wor xnor xor
"""

KEYWORDS = frozenset(_WORDS.split())
"""Reserved words, IEEE Std 1364-2005, annex B (from memory)."""


def verilog(layout: Layout, rules: Rules = DEFAULT_RULES) -> str:
    """One module: every inverter a ``not`` or ``nor``, every buffer a ``buf`` or ``or``.

    Raises:
        InputError: if the layout is not legal, has no pins, or has a buffer that another one can
            hold, because the standard has no gate for it.
    """
    netlist = netlist_of(layout, rules)
    if netlist.holding:
        held = netlist.holding[0]
        raise InputError(
            f"the buffer at {list(held.at)} can be held by another, and no gate does that",
            place="layout",
            way_out="export combinational layouts, or a trace with --as vcd",
        )
    if not layout.outputs:
        raise InputError(
            "the layout has no output", place="pins", way_out="export layouts with pins"
        )
    ports = [f"  input  wire {_identifier(pin.name)}" for pin in layout.inputs]
    ports += [f"  output wire {_identifier(pin.name)}" for pin in layout.outputs]
    lines = [
        f"// {title_of(layout, rules)}",
        f"// {show_size(layout.size)} cells; one unit of time is one tick.",
        *(f"// {line}" for line in NO_ELECTRONICS),
        "// Gate delays are inertial: pulses shorter than a buffer's delay may differ.",
        "`timescale 1 ns / 1 ns",
        f"module {_module_name(layout)} (",
        ",\n".join(ports),
        ");",
    ]
    gates = [*netlist.of_kind(NodeKind.INVERTER), *netlist.of_kind(NodeKind.BUFFER)]
    lines += [f"  wire {_identifier(node.name)};" for node in gates]
    taken = set(netlist.nodes)
    lines += [_gate(node, taken) for node in [*gates, *netlist.of_kind(NodeKind.OUTPUT)]]
    return "\n".join([*lines, "endmodule", ""])


def _gate(node: Node, taken: set[str]) -> str:
    """The primitive of a node, with a constant 0 if it sees nothing; its label is then taken."""
    many = len(node.sees) > 1
    if node.kind is NodeKind.INVERTER:
        primitive = "nor" if many else "not"
    else:
        primitive = "or" if many else "buf"
    delay = f" #{node.delay}" if node.delay else ""
    terms = [_identifier(node.name), *(map(_identifier, node.sees) if node.sees else ["1'b0"])]
    label = f"g_{node.name}"
    while label in taken:
        label += "_"
    taken.add(label)
    return f"  {primitive}{delay} {_identifier(label)} ({', '.join(terms)});"


def _identifier(name: str) -> str:
    """A name as the standard writes it.

    One that is reserved becomes an escaped identifier (3.7.1), and so does a bit of a bus: each pin
    is a port of its own.
    """
    return f"\\{name} " if name in KEYWORDS or "[" in name else name


def _module_name(layout: Layout) -> str:
    """The layout's name as a simple identifier that no port has."""
    name = re.sub(r"[^A-Za-z0-9_$]", "_", layout.name or "layout")
    if not NAME_PATTERN.fullmatch(name):
        name = f"_{name}"
    taken = {pin.name for pin in layout.pins} | KEYWORDS
    while name in taken:
        name += "_"
    return name
