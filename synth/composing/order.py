"""The order to a construction, in a frame of its own: pins are on the sides -x and +x only.

Constructions paint with signals that run along x. A layout whose pins should be on the sides -y
and +y is painted in the same way and turned about z afterwards (``fitting.py``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import Enum

from synth.composing.network import Network, Node, Source, Term
from synth.medium import ChainLink, Direction, Joint, Rules


class Side(Enum):
    """A side of the box along x."""

    LEFT = "left"
    RIGHT = "right"

    @property
    def face(self) -> Direction:
        """The face of pins on this side."""
        return Direction.NX if self is Side.LEFT else Direction.PX

    @property
    def inwards(self) -> int:
        """The step along x that leads into the box."""
        return 1 if self is Side.LEFT else -1

    @property
    def other(self) -> Side:
        """The opposite side."""
        return Side.RIGHT if self is Side.LEFT else Side.LEFT


@dataclass(frozen=True)
class Order:
    """What to paint.

    Attributes:
        network: the signals.
        sides: where each pin is.
        joints: what stands outside each pin.
        rules: the rule table.
        stack: the axis along which it will be stacked, in the frame of the construction.
        ground: whether it stands on ground.
        tries: how many arrangements a construction may compare for less delay.
        delay: the ticks asked, or None; a layout that cannot keep them need not be painted.
        places: for pins whose cell is asked, its x and its height.
        chain: the links of a slice, whose chain lies along x in the frame of the construction.
        end: the least x of the right side.
        options: for pins that may be on several sides, these, the better one first; a construction
            may choose others than in ``sides``.
    """

    network: Network
    sides: Mapping[str, Side]
    joints: Mapping[str, Joint]
    rules: Rules
    stack: str | None = None
    ground: bool = False
    tries: int = 0
    delay: int | None = None
    places: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    end: int = 0
    chain: tuple[ChainLink, ...] = ()
    options: Mapping[str, tuple[Side, ...]] = field(default_factory=dict)

    def options_of(self, name: str) -> tuple[Side, ...]:
        """The sides that a pin may be on, the better one first."""
        return self.options.get(name, (self.sides[name],))

    def first_strength(self, name: str) -> int:
        """The strength of a wire in the cell of an input."""
        return self.rules.reach - (self.joints[name] is Joint.WIRE)

    def spare(self, name: str) -> int:
        """The strength that a wire in the cell of an output must leave for what is outside."""
        return 1 if self.joints[name] is Joint.WIRE else 0

    def with_passages(self, *, both_ends: bool = False) -> Order:
        """The same order with a node for every output that cannot be the end of its term's line.

        A term ends in at most one output, on the side opposite to its input. All other outputs that
        read a term get a node of a single product, so that they have lines of their own. So do
        the outputs of several links: the lines of nodes can be put in any order.

        Args:
            both_ends: whether an input's complement may end in an output as well.
        """
        network = self.network
        nodes = list(network.nodes)
        outputs = dict(network.outputs)
        taken: set[Term] = set()
        added: dict[Term, Node] = {}
        node_names = {node.name for node in nodes}
        ordered = {link.output for link in self.chain} if len(self.chain) > 1 else set()
        for name, source in network.outputs.items():
            term = source.term
            if term is None or term.name in node_names:
                continue
            if source.inverted and term.positive:
                term = replace(term, positive=False)
            elif source.inverted:
                term = replace(term, positive=True)
            passes = self.sides[term.name] is not self.sides[name] and name not in ordered
            if passes and term not in taken and (term.positive or both_ends):
                taken.add(term)
                outputs[name] = Source(term)
                continue
            if term not in added:
                added[term] = Node(str(len(nodes)), (frozenset([term]),))
                nodes.append(added[term])
            outputs[name] = Source(Term(added[term].name))
        return replace(self, network=Network(network.inputs, tuple(nodes), outputs))
