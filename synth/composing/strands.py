"""Strands: the wires of pins, and the columns that they touch, of a network of two levels.

The strand of an input runs from its side of the box to the last column that reads it, that of an
output from the first column that feeds it to its side.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from synth.composing.canvas import Unbuildable
from synth.composing.network import Source, Term
from synth.composing.order import Order, Side


@dataclass(frozen=True)
class Strand:
    """The wire of a pin.

    Attributes:
        name: the pin.
        sides: the sides that it may come from, the better one first.
        columns: the columns that it touches, each a number of a product; for an input, whether the
            column reads it as it is (True) or its complement.
        inverted: whether it ends in an inverter before its pin.
        alone: whether it takes a lane for itself.
    """

    name: str
    sides: tuple[Side, ...]
    columns: Mapping[int, bool]
    inverted: bool = False
    alone: bool = False


@dataclass(frozen=True)
class Strands:
    """What is to be folded.

    Attributes:
        products: the products, each a column.
        inputs, outputs: the strands.
    """

    products: tuple[frozenset[Term], ...]
    inputs: tuple[Strand, ...]
    outputs: tuple[Strand, ...]


def strands_of(order: Order) -> Strands:
    """The strands of an order of two levels.

    Raises:
        Unbuildable: if products read nodes, or there are none.
    """
    network = order.network
    nodes = {node.name: node.products for node in network.nodes}
    products: dict[frozenset[Term], int] = {}
    outputs = []
    for name, source in network.outputs.items():
        own, inverted = _products_of(source, nodes)
        fed = {products.setdefault(product, len(products)): True for product in own}
        outputs.append(Strand(name, order.options_of(name), fed, inverted, alone=not own))
    if not products:
        raise Unbuildable("nothing to fold")
    if any(term.name in nodes for product in products for term in product):
        raise Unbuildable("several levels")
    inputs = []
    for name in network.inputs:
        read = {
            number: term.positive
            for product, number in products.items()
            for term in product
            if term.name == name
        }
        inputs.append(Strand(name, order.options_of(name), read, alone=not read))
    return Strands(tuple(products), tuple(inputs), tuple(outputs))


def _products_of(
    source: Source, nodes: Mapping[str, tuple[frozenset[Term], ...]]
) -> tuple[tuple[frozenset[Term], ...], bool]:
    """The products whose OR an output is, and whether it is the complement of that."""
    term = source.term
    if term is None:
        return (), source.inverted
    if term.name in nodes:
        return nodes[term.name], source.inverted is term.positive
    return (frozenset([Term(term.name, source.inverted is not term.positive)]),), False
