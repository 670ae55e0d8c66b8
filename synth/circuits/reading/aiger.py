"""Reads AIGER, ASCII (``aag``) and binary (``aig``), without latches.

Source: A. Biere, The AIGER And-Inverter Graph (AIG) Format, Version 20071012, Johannes Kepler
University Linz; from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from synth.circuits.circuit import FALSE, MOST_ANDS, MOST_INPUTS, Circuit, CircuitBuilder
from synth.circuits.reading.names import Signals, error_at, refuse_input_as_output
from synth.errors import InputError
from synth.fields import shown

_LARGEST = 1 << 20
"""Largest variable that is read: bounds what a header can make anybody reserve."""


def parse_aiger(data: bytes, name: str = "circuit") -> Circuit:
    """The circuit of an AIGER file.

    Inputs and outputs without a symbol are called ``i0``, ``i1``, ... and ``o0``, ``o1``, ...

    Raises:
        InputError: naming the line (in the binary part: the AND), for what is malformed,
            sequential, cyclic or too large.
    """
    lines = _Lines(data)
    first = lines.next("a header").split()
    if len(first) < 6 or first[0] not in ("aag", "aig"):
        raise error_at(1, "no header of AIGER", "begin with: aag M I L O A")
    counts = [_number(word, 1, _LARGEST) for word in first[1:]]
    most, inputs, latches, outputs, ands = counts[:5]
    if latches:
        raise error_at(
            1,
            f"{latches} latches: the circuit is sequential",
            "give one that keeps no state: layouts are made of combinational circuits only",
        )
    if any(counts[5:]):
        raise error_at(
            1, "properties of AIGER 1.9 cannot be read", "give a plain combinational circuit"
        )
    if inputs > MOST_INPUTS or ands > MOST_ANDS:
        raise error_at(
            1,
            f"{inputs} inputs and {ands} ANDs are too many",
            f"give a circuit of at most {MOST_INPUTS} inputs and {MOST_ANDS} ANDs",
        )
    if most < inputs + ands:
        raise error_at(1, f"M = {most} is less than I + A", "correct the header")
    binary = first[0] == "aig"
    if binary and most != inputs + ands:
        raise error_at(1, f"M = {most} is not I + A", "correct the header")
    shape = _Shape(most, inputs, outputs, ands)
    return (_binary if binary else _ascii)(lines, shape, name)


class _Shape:
    """The counts of the header."""

    def __init__(self, most: int, inputs: int, outputs: int, ands: int) -> None:
        self.most, self.inputs, self.outputs, self.ands = most, inputs, outputs, ands


class _Lines:
    """Lines of a file, counted, and the bytes between them."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._at = 0
        self.number = 0

    def next(self, expected: str) -> str:
        """The next line.

        Raises:
            InputError: if there is none, or it is no text.
        """
        if self._at >= len(self._data):
            raise error_at(
                self.number + 1,
                f"the file ends where {expected} is expected",
                "give the whole file",
            )
        end = self._data.find(b"\n", self._at)
        end = len(self._data) if end < 0 else end
        line = self._data[self._at : end]
        self._at = end + 1
        self.number += 1
        try:
            return line.decode().rstrip("\r")
        except UnicodeDecodeError:
            raise error_at(self.number, "this is not text", "give an AIGER file") from None

    def rest(self) -> Iterator[str]:
        """All further lines."""
        while self._at < len(self._data):
            yield self.next("a line")

    def delta(self, index: int) -> int:
        """A number of the binary part: seven bits a byte, the lowest first.

        Raises:
            InputError: if the file ends in it.
        """
        value = shift = 0
        while self._at < len(self._data) and shift < 35:
            byte = self._data[self._at]
            self._at += 1
            value |= (byte & 127) << shift
            if not byte & 128:
                return value
            shift += 7
        raise InputError(
            "the file ends, or a number never does",
            place=f"AND {index}",
            way_out="give the whole file",
        )


def _number(word: str, line: int, most: int) -> int:
    if not word.isascii() or not word.isdigit() or int(word[:12]) > most:
        raise error_at(line, f"{shown(word)} is no number up to {most}", "correct it")
    return int(word)


def _literals(lines: _Lines, count: int, most: int, what: str) -> list[int]:
    words = lines.next(what).split()
    if len(words) != count:
        raise error_at(
            lines.number, f"{len(words)} numbers where {count} are expected", f"list {what}"
        )
    return [_number(word, lines.number, 2 * most + 1) for word in words]


def _ascii(lines: _Lines, shape: _Shape, name: str) -> Circuit:
    inputs, defined = [], []
    for _ in range(shape.inputs):
        (literal,) = _literals(lines, 1, shape.most, "the literal of an input")
        if literal & 1 or not literal:
            raise error_at(lines.number, f"input {literal} is no variable", "use an even literal")
        inputs.append((literal, lines.number))
    outputs = []
    for _ in range(shape.outputs):
        (literal,) = _literals(lines, 1, shape.most, "the literal of an output")
        outputs.append((literal, lines.number))
    for _ in range(shape.ands):
        made, one, other = _literals(lines, 3, shape.most, "an AND (lhs rhs0 rhs1)")
        if made & 1 or not made:
            raise error_at(lines.number, f"AND {made} is no variable", "use an even literal")
        defined.append((made, lines.number, (one, other)))
    names = _symbols(lines, shape)
    builder = CircuitBuilder(names[0])
    signals = Signals(builder)
    # Signals are called after their even literals, as the file writes them.
    for made, line in inputs:
        signals.input(str(made), line)
    for made, line, pair in defined:
        signals.define(str(made), line, [str(lit & ~1) for lit in pair], _And(builder, pair))
    signals.define("0", 1, (), lambda reads: FALSE)
    shown_by = {}
    for output, (literal, line) in zip(names[1], outputs, strict=True):
        key = f"output {output}"
        signals.define(key, line, [str(literal & ~1)], _Edge(literal & 1))
        shown_by[key] = line
    circuit = signals.circuit(name, shown_by, in_order=True)
    renamed = dict(zip(names[1], circuit.outputs.values(), strict=True))
    return Circuit(name, circuit.inputs, circuit.ands, renamed)


class _And:
    def __init__(self, builder: CircuitBuilder, pair: tuple[int, int]) -> None:
        self._builder, self._pair = builder, pair

    def __call__(self, reads: list[int]) -> int:
        one, other = (read ^ (lit & 1) for read, lit in zip(reads, self._pair, strict=True))
        return self._builder.conjunction(one, other)


class _Edge:
    def __init__(self, inverted: int) -> None:
        self._inverted = inverted

    def __call__(self, reads: list[int]) -> int:
        return reads[0] ^ self._inverted


def _binary(lines: _Lines, shape: _Shape, name: str) -> Circuit:
    outputs = [
        _literals(lines, 1, shape.most, "the literal of an output")[0] for _ in range(shape.outputs)
    ]
    pairs = []
    for index in range(shape.ands):
        made = 2 * (shape.inputs + 1 + index)
        first = made - lines.delta(index)
        second = first - lines.delta(index)
        if not 0 <= second <= first < made:
            raise InputError(
                "reads what does not come before it",
                place=f"AND {index}",
                way_out="give a file in the order of the format",
            )
        pairs.append((first, second))
    names = _symbols(lines, shape)
    builder = CircuitBuilder(names[0])
    literals = [FALSE, *(builder.input(index) for index in range(shape.inputs))]

    def literal(number: int) -> int:
        return literals[number >> 1] ^ (number & 1)

    for one, other in pairs:
        literals.append(builder.conjunction(literal(one), literal(other)))
    if not outputs:
        raise InputError("the circuit has no outputs", way_out="name at least one output")
    return builder.circuit(
        name, {out: literal(number) for out, number in zip(names[1], outputs, strict=True)}
    )


def _symbols(lines: _Lines, shape: _Shape) -> tuple[Sequence[str], Sequence[str]]:
    """Names of inputs and outputs: from the table of symbols, or by number."""
    names = {
        "i": [f"i{index}" for index in range(shape.inputs)],
        "o": [f"o{index}" for index in range(shape.outputs)],
    }
    named_in: dict[str, int] = {}
    for line in lines.rest():
        if line == "c":
            break
        if not line:
            continue
        place, _, symbol = line.partition(" ")
        found = names.get(place[:1])
        if found is None or not symbol:
            raise error_at(
                lines.number, f"{shown(line)} is no symbol", "write i or o, a number, a name"
            )
        index = _number(place[1:], lines.number, _LARGEST)
        if index >= len(found):
            raise error_at(
                lines.number, f"there is no {place}", f"number them up to {len(found) - 1}"
            )
        found[index] = symbol.strip()
        named_in[found[index]] = lines.number
    for kind in names.values():
        if len(set(kind)) < len(kind):
            raise InputError(
                "two inputs, or two outputs, have one name",
                place="symbols",
                way_out="give each a name of its own",
            )
    for name in names["o"]:
        # Without a symbol no two are called alike, so one of them has a line.
        refuse_input_as_output(name, name in names["i"], named_in.get(name, 1))
    return names["i"], names["o"]
