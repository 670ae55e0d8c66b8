"""Holds a layout against a circuit of any number of inputs: judged, played where it can be, proven.

``synth.simulator.check`` plays every assignment and has a table for a function, so it ends at some
inputs. Here equality is proven by a miter (``synth.circuits.miter``), as for what is built.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from synth.building.proving import prove
from synth.circuits.circuit import Circuit
from synth.circuits.judging import Judgement, judge
from synth.circuits.pins import pin_names
from synth.circuits.ticks import Tried, tried
from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.simulator.acyclic import NoNetwork, network_of
from synth.simulator.demands import refuse_pins
from synth.simulator.legality import legality
from synth.words import columns, counted, ticks

FORMAT = "gatefit-circuit-verdict"
VERSION = 1


@dataclass(frozen=True)
class CircuitVerdict:
    """What was found of a layout that stands alone.

    Attributes:
        circuit: the name of the circuit, or None where none was given.
        inputs: how many the layout has.
        legal: whether it keeps sections 2, 6 and 8.
        function: whether it computes the circuit; None if no circuit was given, if the layout is
            not legal, or if that was not found out.
        how: how that is known, or why it is not.
        least, most: it settles in so many ticks at the least and at the most; None where that is
            not known.
        faults: what is wrong, a sentence each.
    """

    circuit: str | None
    inputs: int
    legal: bool
    function: bool | None = None
    how: str = ""
    least: int | None = None
    most: int | None = None
    faults: tuple[str, ...] = ()

    @property
    def passes(self) -> bool:
        """Whether nothing is wrong, and nothing that was asked is left open."""
        return not self.faults

    def text(self) -> str:
        """It for a reader, line by line."""
        rows = [("legal", "yes" if self.legal else "NO")]
        if self.legal:
            word = {True: "yes", False: "NO", None: "not proven"}[self.function]
            rows.append(("function", f"{word}: {self.how}" if self.circuit else self.how))
        if self.most is not None:
            rows.append(("delay", self._delay_words(self.most)))
        head = f"Verdict: {'passes' if self.passes else 'FAILS'}"
        wrong = [f"Faults: {len(self.faults)}", *(f"  {text}" for text in self.faults)]
        return "\n".join([head, *columns(rows), *(["", *wrong] if self.faults else [])])

    def _delay_words(self, most: int) -> str:
        if self.least == most:
            return ticks(most)
        return f"at most {ticks(most)}" + (f", at least {self.least}" if self.least else "")

    def document(self) -> dict[str, Any]:
        """The document ``gatefit-circuit-verdict``, version 1."""
        return {
            "format": FORMAT,
            "version": VERSION,
            "circuit": self.circuit,
            "passes": self.passes,
            "legal": self.legal,
            "function": self.function,
            "how": self.how,
            "delay": {"least": self.least, "most": self.most},
            "faults": list(self.faults),
        }


def check_circuit(
    layout: Layout,
    circuit: Circuit | None,
    *,
    delay: int | None = None,
    rules: Rules = DEFAULT_RULES,
) -> CircuitVerdict:
    """Judge a layout of any number of inputs, and prove that it computes a circuit.

    Args:
        layout: what is judged; its pins are called as ``synth.circuits.pins`` calls them after the
            signals of the circuit.
        circuit: what it is to compute; None: all that is found out is whether it is legal and
            settles in every assignment.
        delay: ticks within which it must settle, or None.
        rules: the rule table.

    Raises:
        InputError: if the layout is to be stacked, has other pins, or, where no circuit is given,
            is no netlist.
    """
    count = len(layout.inputs)
    if layout.stack is not None:
        raise InputError(
            f"the layout stacks, and with {count} inputs only one that stands alone is judged",
            place="stack",
            way_out="take the stack out of its file",
        )
    pins = {} if circuit is None else pin_names([*circuit.inputs, *circuit.outputs])
    if circuit is not None:
        inputs = [pins[name] for name in circuit.inputs]
        refuse_pins(layout, inputs, [pins[name] for name in circuit.outputs], "circuit")
    name = None if circuit is None else circuit.name
    illegal = legality(layout, rules)
    if illegal:
        texts = [f"{fault.rule} at {list(fault.at)}: {fault.text}" for fault in illegal]
        return CircuitVerdict(name, count, False, faults=tuple(texts))
    found = _settled(layout, rules) if circuit is None else _compared(layout, circuit, pins, rules)
    late = () if delay is None else _late(found, delay)
    return CircuitVerdict(
        name, count, True, found.function, found.how, found.least, found.most, found.faults + late
    )


_OTHERS = "it has other outputs than the circuit"


@dataclass(frozen=True)
class _Found:
    """Of a legal layout: as ``CircuitVerdict`` has it."""

    function: bool | None
    how: str
    least: int | None = None
    most: int | None = None
    faults: tuple[str, ...] = ()


def _settled(layout: Layout, rules: Rules) -> _Found:
    """Without a circuit: whether it settles."""
    network = network_of(layout, rules)
    count = counted(len(layout.inputs), "input")
    if isinstance(network, NoNetwork):
        raise InputError(
            f"{count} are too many to play every assignment, and no netlist can be read off the "
            f"layout: {network.reason}",
            place="pins",
            way_out="play some of them with 'gatefit trace'",
        )
    how = f"not asked; {count} are too many for a table: hold it against a circuit with --circuit"
    return _Found(None, how, None, network.delay)


def _compared(layout: Layout, circuit: Circuit, pins: dict[str, str], rules: Rules) -> _Found:
    judgement = judge(layout, circuit, pins, play=False, rules=rules)
    if judgement.network is None:
        return _played(circuit, tried(layout, circuit, pins, rules), judgement.faults[0])
    if judgement.faults:
        return _Found(False, _OTHERS, faults=judgement.faults)
    proof = prove(circuit, layout, judgement, pins, rules=rules)
    if proof.equal is False:
        return _Found(False, _OTHERS, faults=(proof.words,))
    if proof.equal is None:
        return _Found(None, proof.words, faults=("whether it computes the circuit is not known",))
    return _timed(proof.words, judgement, tried(layout, circuit, pins, rules))


def _timed(words: str, judgement: Judgement, plays: Tried) -> _Found:
    """An equal one, with its delay: what plays need, and at most what the longest way takes."""
    return _Found(True, words, plays.delay, plays.delay if plays.every else judgement.delay)


def _played(circuit: Circuit, plays: Tried, reason: str) -> _Found:
    """Of a layout that is no netlist: what plays tell, which are a proof only if they are all."""
    count = f"{plays.assignments:,} assignments"
    wrong = [
        f"output {name!r} does not settle at its value in all of {count} played"
        for name, tick in plays.right_from.items()
        if tick is None
    ]
    wrong += [f"input {name!r} is fed back" for name in plays.fed_back]
    if wrong:
        return _Found(False, _OTHERS, faults=tuple(wrong))
    if plays.every:
        return _Found(True, f"right in all {count}, by play", plays.delay, plays.delay)
    how = f"right in {count} played at random, which is no proof for {len(circuit.inputs)} inputs"
    return _Found(None, how, plays.delay, None, (f"no netlist can be read off it: {reason}",))


def _late(found: _Found, delay: int) -> tuple[str, ...]:
    if found.function is False or (found.most is not None and found.most <= delay):
        return ()
    if found.least is not None and found.least > delay:
        return (f"{ticks(delay)} asked; it takes at least {found.least}",)
    return (f"{ticks(delay)} asked; that it settles so soon is not known",)
