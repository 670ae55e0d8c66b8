"""How many links a wire can be away from its source in a box: a bound that its static rules give.

Take the wires that are surely powered at a tick, and of one of them a shortest way from a source,
link by link. It has no *short cut*: no link leads from one of its wires to another that is not the
next but comes later (it would make the way shorter). So no wire is further from a source than the
longest way without short cuts that fits the box has links (graph theory calls such ways induced
paths). Most boxes admit far shorter ones than wires: level neighbours are always linked, so such a
way cannot lie beside itself, and where it climbs over itself solids and insulators must keep the
links apart, for which there are few cells.

*Why the bound serves at all ticks.* It is used only if it is within the reach, less one. Then no
strength ever fades on a shortest way, and a wire that has power through links at a tick had it at
the same tick as all wires on its shortest way got it or earlier: a wire with power hands it on at
once. So a wire first powered at a tick has a shortest way of wires first powered at that tick, and
the order of givers (``givers``) needs no more places than such a way has links.

*How it is found.* Whether a way of ``n`` links fits is a question to a solver about the static
rules alone (sections 2, 3, 6 and 7). It is asked for 1, 2, 3 ... links; the first "no" ends it. A
way remains one without its first wire, so if none of ``n`` links fits, no longer one fits. What is
asked of single pins is left aside: leads may lie at every face that a pin may sit on, at most as
many as there are wire joints. That admits more, so the bound holds for every question about the
box and for all its cubes, and is found once.

*Trust.* The "no" comes from a solver. An audit does not take it: it puts the formula again, for a
proof, and has the proof checked (``synth.proofs.audit_links``).
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from synth.encoding.formula import Formula
from synth.encoding.question import Question
from synth.encoding.shape import Node, Shape
from synth.encoding.statics import Statics
from synth.medium import Joint, Part
from synth.spec import BooleanFunction, Limits, PinDemand

MOST_CELLS = 100
"""Cells beyond which it is not asked. Larger boxes mostly admit ways longer than the reach, and
the formula grows with the square of the cells."""

SOLVER = "glucose42"
"""The solver that is asked. All lengths together take 0.03 to 1.3 seconds a box (measured)."""

RULE = "ways without short cuts"


def box_alone(question: Question) -> Question:
    """The question about the same box, reduced to what the bound depends on.

    That is the size, ground and stacking, the cells kept, and how many pins have wire joints.
    Whether buffers hold each other makes no difference to links. Neither does a chain: its pins
    have no leads. Only its buffers may cross to the next copy, so where the specification keeps
    one, anything may stand here.
    """
    spec, stack, fixed = question.spec, question.spec.stack, question.spec.fixed
    if stack is not None and stack.chain:
        stack = replace(stack, chain=())
        fixed = {cell: block for cell, block in fixed.items() if block.part is not Part.BUFFER}
    leads = [name for name in spec.pin_names if spec.joint(name) is Joint.WIRE]
    names = [f"lead {number}" for number in range(len(leads))] or ["no lead"]
    joint = Joint.WIRE if leads else Joint.BUFFER
    alone = spec.replace(
        function=BooleanFunction((), dict.fromkeys(names, "-")),
        pins={name: PinDemand(joint=joint) for name in names},
        limits=Limits(),
        stack=stack,
        fixed=fixed,
        name=None,
        description="",
    )
    return Question(alone, question.size, 0, rules=question.rules, allow_held=True)


def longest_way(question: Question) -> int | None:
    """Links of the longest way without short cuts that fits a question's box.

    Returns:
        How many, if they are within the reach, less one; else, or if the box is too large to ask,
        None.
    """
    length, width, height = question.size
    if length * width * height > MOST_CELLS:
        return None
    return _longest_way(box_alone(question))


@lru_cache(maxsize=4096)
def _longest_way(box: Question) -> int | None:
    from pysat.solvers import Solver

    ways = _Ways(box)
    ways.go_on()
    told = 0
    with Solver(name=SOLVER) as solver:
        for links in range(box.rules.reach):
            ways.go_on()
            solver.append_formula(ways.formula.clauses[told:])
            told = len(ways.formula.clauses)
            if not solver.solve():
                return links
    return None


def way_formula(box: Question, links: int) -> Formula:
    """The formula of a way without short cuts of so many links: it has a model if one fits.

    Args:
        box: what ``box_alone`` gives.
        links: how many.

    ``("at", n, node)`` says that the way has its wire or lead number ``n`` there.
    """
    ways = _Ways(box)
    for _ in range(links + 1):
        ways.go_on()
    return ways.formula


class _Ways:
    """The formula of a way that goes on wire by wire: a longer one only needs further clauses."""

    def __init__(self, box: Question) -> None:
        self.formula = Formula()
        statics = Statics(self.formula, box)
        statics.state()
        self._shape = Shape(self.formula, statics)
        self._nodes = self._shape.nodes()
        self._onward: dict[Node, list[Node]] = {node: [] for node in self._nodes}
        for link in self._shape.links:
            self._onward[link.source].append(link.target)
        self._at: list[dict[Node, int]] = []

    def go_on(self) -> None:
        """Let the way have one more wire, behind those that it has."""
        formula, number = self.formula, len(self._at)
        here = {node: formula.declare("at", number, node) for node in self._nodes}
        formula.add(RULE, here.values())
        formula.at_most_one(RULE, here.values())
        for node, literal in here.items():
            formula.imply(RULE, [literal], self._shape.presence(node))
            for earlier in self._at:
                formula.add(RULE, [-literal, -earlier[node]])
        self._at.append(here)
        if number == 0:
            return
        *others, before, _ = self._at
        for node, literal in before.items():
            formula.add(RULE, [-literal, *(here[target] for target in self._onward[node])])
        for link in self._shape.links:
            target = here[link.target]
            formula.imply(RULE, [before[link.source], target], link.literal)
            for earlier in others:
                formula.add(RULE, [-earlier[link.source], -target, -link.literal])
