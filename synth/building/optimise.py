"""Makes a circuit smaller or less deep, by the algorithms of a kept library of logic networks.

``aigverse`` does it: resubstitution, refactoring, cut rewriting and balancing of and-inverter
graphs. What it gives is held against the circuit by its own check of equality, and in the end the
layout is proven equal to the circuit as it was read, so nothing here needs to be trusted.
"""

from __future__ import annotations

from aigverse.algorithms import (
    aig_cut_rewriting,
    aig_resubstitution,
    balancing,
    equivalence_checking,
    sop_refactoring,
)
from aigverse.networks import Aig, AigSignal

from synth.circuits.circuit import FALSE, Circuit, CircuitBuilder

_MOST_ROUNDS = 8
"""Rounds after which a circuit is taken as it is, though each made it a little smaller."""


def optimised(circuit: Circuit, *, by: str = "area") -> Circuit:
    """The same function with fewer ANDs, or with fewer on the longest way.

    Args:
        circuit: what to improve.
        by: ``area`` or ``delay``.

    Returns:
        the better one; the circuit itself if nothing is gained.
    """
    best = circuit
    for _ in range(_MOST_ROUNDS):
        aig = _to_aig(best)
        tried = _round(aig, by)
        made = _from_aig(tried, circuit)
        if _price(made, by) >= _price(best, by) or equivalence_checking(aig, tried) is not True:
            break
        best = made
    return best


def _round(aig: Aig, by: str) -> Aig:
    keep = by == "delay"
    tried = aig_cut_rewriting(aig, preserve_depth=keep)
    if not keep:
        tried = sop_refactoring(tried) or tried
    tried = aig_resubstitution(tried, preserve_depth=keep) or tried
    return balancing(tried, rebalance_function="sop") if keep else tried


def _price(circuit: Circuit, by: str) -> tuple[int, int]:
    size = len(circuit.ands)
    return (circuit.depth, size) if by == "delay" else (size, circuit.depth)


def _to_aig(circuit: Circuit) -> Aig:
    aig = Aig()
    signals = [aig.get_constant(False), *(aig.create_pi() for _ in circuit.inputs)]

    def signal(literal: int) -> AigSignal:
        found = signals[literal >> 1]
        return aig.create_not(found) if literal & 1 else found

    for one, other in circuit.ands:
        signals.append(aig.create_and(signal(one), signal(other)))
    for literal in circuit.outputs.values():
        aig.create_po(signal(literal))
    return aig


def _from_aig(aig: Aig, like: Circuit) -> Circuit:
    """A network as a circuit, with the names of another one."""
    builder = CircuitBuilder(like.inputs)
    literals = {0: FALSE}
    for index, node in enumerate(aig.pis()):
        literals[node] = builder.input(index)

    def literal(signal: AigSignal) -> int:
        return literals[aig.get_node(signal)] ^ int(aig.is_complemented(signal))

    # Algorithms that work in place leave gates in any order.
    waiting = list(aig.gates())
    while waiting:
        later = []
        for node in waiting:
            fanins = aig.fanins(node)
            if all(aig.get_node(fanin) in literals for fanin in fanins):
                one, other = map(literal, fanins)
                literals[node] = builder.conjunction(one, other)
            else:
                later.append(node)
        waiting = later
    return builder.circuit(like.name, dict(zip(like.outputs, map(literal, aig.pos()), strict=True)))
