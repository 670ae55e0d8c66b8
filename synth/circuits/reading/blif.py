"""Reads BLIF: ``.model``, ``.inputs``, ``.outputs``, ``.names`` and ``.end``.

Source: Berkeley Logic Interchange Format (BLIF), University of California, Berkeley, 1992; from
memory. Latches, gates of a library and hierarchy are refused: a layout remembers nothing, and what
a library's gates do is not in the file.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from synth.circuits.circuit import FALSE, TRUE, Circuit, CircuitBuilder
from synth.circuits.reading.names import Signals, error_at
from synth.fields import shown

_SEQUENTIAL = (".latch", ".clock", ".mlatch")
_NO_MEANING = (".default_input_arrival", ".area", ".delay", ".wire_load_slope")


@dataclass
class _Table:
    """One ``.names``: what it reads, the signal it makes, and its rows."""

    line: int
    reads: tuple[str, ...]
    makes: str
    rows: list[tuple[str, str]] = field(default_factory=list)


def parse_blif(text: str, name: str = "circuit") -> Circuit:
    """The circuit of a BLIF text.

    Raises:
        InputError: naming the line, for what is malformed, sequential, cyclic or too large.
    """
    reader = _Reader(name)
    for number, words in _lines(text):
        reader.read(number, words)
        if reader.ended:
            break
    return reader.circuit()


def _lines(text: str) -> Iterator[tuple[int, list[str]]]:
    """Lines with their numbers: comments gone, those that end in a backslash joined."""
    begun, words = 0, list[str]()
    for number, line in enumerate(text.splitlines(), start=1):
        bare = line.split("#", 1)[0].rstrip()
        goes_on = bare.endswith("\\")
        if not words:
            begun = number
        words += bare.removesuffix("\\").split()
        if words and not goes_on:
            yield begun, words
            words = []
    if words:
        yield begun, words


class _Reader:
    """Gathers what the lines say, then makes the circuit."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.ended = False
        self.inputs: dict[str, int] = {}
        self.outputs: dict[str, int] = {}
        self.tables: list[_Table] = []
        self._model = 0

    def read(self, line: int, words: list[str]) -> None:
        """One line."""
        word = words[0]
        if word == ".model":
            self._begin(line, words)
        elif word in (".inputs", ".outputs"):
            found = self.inputs if word == ".inputs" else self.outputs
            for name in words[1:]:
                if name in found:
                    raise error_at(line, f"{shown(name)} is listed twice", "keep one of them")
                found[name] = line
        elif word == ".names":
            if len(words) < 2:
                raise error_at(line, ".names without a signal", "name what it reads and makes")
            self.tables.append(_Table(line, tuple(words[1:-1]), words[-1]))
        elif word == ".end":
            self.ended = True
        elif word in _SEQUENTIAL:
            raise error_at(
                line,
                f"{word}: the circuit is sequential",
                "give one that keeps no state: layouts are made of combinational circuits only",
            )
        elif word.startswith("."):
            if word not in _NO_MEANING:
                raise error_at(
                    line, f"{shown(word)} cannot be read", "use .inputs, .outputs and .names only"
                )
        else:
            self._row(line, words)

    def _begin(self, line: int, words: list[str]) -> None:
        if self._model:
            raise error_at(
                line,
                f"a second .model (the first is in line {self._model})",
                "flatten the hierarchy into one model",
            )
        self._model = line
        if len(words) > 1:
            self.name = words[1]

    def _row(self, line: int, words: list[str]) -> None:
        if not self.tables:
            raise error_at(line, f"{shown(words[0])} where a command is expected", "begin with .")
        table = self.tables[-1]
        pattern, value = ("", words[0]) if len(words) == 1 else (words[0], words[-1])
        right = len(words) <= 2 and len(pattern) == len(table.reads)
        if not right or set(pattern) - set("01-") or value not in ("0", "1"):
            raise error_at(
                line,
                f"{shown(' '.join(words))} is no row of .names {shown(table.makes)}",
                f"write {len(table.reads)} characters of 0, 1 and -, a space, then 0 or 1",
            )
        if table.rows and table.rows[0][1] != value:
            raise error_at(
                line, "rows with 0 and with 1 in one .names", "list either the ones or the zeros"
            )
        table.rows.append((pattern, value))

    def circuit(self) -> Circuit:
        """All of it as a circuit."""
        builder = CircuitBuilder(self.inputs)
        signals = Signals(builder)
        for name, line in self.inputs.items():
            signals.input(name, line)
        for table in self.tables:
            signals.define(table.makes, table.line, table.reads, _Cover(builder, table))
        return signals.circuit(self.name, self.outputs)


class _Cover:
    """Makes the literal of a table out of the literals that it reads."""

    def __init__(self, builder: CircuitBuilder, table: _Table) -> None:
        self._builder = builder
        self._rows = table.rows

    def __call__(self, reads: list[int]) -> int:
        found = FALSE
        for pattern, _ in self._rows:
            product = TRUE
            for literal, value in zip(reads, pattern, strict=True):
                if value != "-":
                    product = self._builder.conjunction(product, literal ^ (value == "0"))
            found = self._builder.disjunction(found, product)
        inverted = bool(self._rows) and self._rows[0][1] == "0"
        return found ^ inverted
