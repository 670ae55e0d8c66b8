"""Reads a circuit as equations: assignments whose names may be used by others.

The language is that of a function (``synth.spec.expression``). A name that is assigned and used in
another assignment is an inner signal; one that is assigned and used nowhere else is an output. A
name that is only used is an input. Lines ``inputs = a, b`` and ``outputs = q, t`` say otherwise,
and give an order.
"""

from __future__ import annotations

from synth.circuits.circuit import Circuit, CircuitBuilder
from synth.circuits.reading.names import Signals, error_at
from synth.errors import InputError
from synth.fields import NAME_PATTERN, shown
from synth.spec.parser import Expression, Parser
from synth.spec.tokens import Source, Token

_LISTS = ("inputs", "outputs")


def parse_equations(text: str, name: str = "circuit") -> Circuit:
    """The circuit of a text of assignments.

    Raises:
        InputError: naming line and column, for what is malformed, cyclic, undefined or too large.
    """
    lists, rest = _lists(text)
    try:
        assignments = Parser(Source(rest)).assignments()
    except InputError as error:
        # The place in a single line is a column alone; a file has lines.
        if error.place is not None and error.place.startswith("column"):
            error.place = f"line 1, {error.place}"
        raise
    lines = {target: _line(rest, one) for target, one in assignments.items()}
    used = dict.fromkeys(token.text for one in assignments.values() for token in one.names)
    inputs = lists.get("inputs") or {
        token: lines[target]
        for target, one in assignments.items()
        for token in (read.text for read in one.names)
        if token not in assignments
    }
    outputs = lists.get("outputs") or {
        target: lines[target] for target in assignments if target not in used
    }
    builder = CircuitBuilder(inputs)
    signals = Signals(builder)
    for read, line in inputs.items():
        signals.input(read, line)
    for target, one in assignments.items():
        reads = list(dict.fromkeys(token.text for token in one.names))
        signals.define(target, lines[target], reads, _Program(builder, one.program, reads))
    return signals.circuit(name, outputs)


def _lists(text: str) -> tuple[dict[str, dict[str, int]], str]:
    """What lines ``inputs = ...`` and ``outputs = ...`` list, and the text without them."""
    lists: dict[str, dict[str, int]] = {}
    rest = []
    for number, line in enumerate(text.splitlines(), start=1):
        head, equals, names = line.split("//", 1)[0].partition("=")
        word = head.strip()
        if word not in _LISTS or not equals:
            rest.append(line)
            continue
        rest.append("")
        if word in lists:
            raise error_at(number, f"a second list of {word}", "list them once")
        lists[word] = {}
        for listed in names.replace(",", " ").rstrip("; ").split():
            if not NAME_PATTERN.fullmatch(listed):
                raise error_at(
                    number, f"{shown(listed)} is no name", "separate names by commas or spaces"
                )
            if listed in lists[word]:
                raise error_at(number, f"{shown(listed)} is listed twice", "keep one of them")
            lists[word][listed] = number
    return lists, "\n".join(rest)


def _line(text: str, one: Expression) -> int:
    return text.count("\n", 0, one.program[0].start) + 1 if one.program else 1


class _Program:
    """Runs a postfix program on literals."""

    def __init__(
        self, builder: CircuitBuilder, program: tuple[Token, ...], reads: list[str]
    ) -> None:
        self._builder = builder
        self._program = program
        self._reads = reads

    def __call__(self, reads: list[int]) -> int:
        builder = self._builder
        by_name = dict(zip(self._reads, reads, strict=True))
        stack: list[int] = []
        for token in self._program:
            kind = token.kind
            if kind == "name":
                stack.append(by_name[token.text])
            elif kind in ("0", "1"):
                stack.append(int(kind))
            elif kind == "~":
                stack.append(stack.pop() ^ 1)
            elif kind == ":":
                otherwise, then, condition = stack.pop(), stack.pop(), stack.pop()
                stack.append(builder.choice(condition, then, otherwise))
            else:
                right, left = stack.pop(), stack.pop()
                stack.append(self._binary(kind, left, right))
        return stack.pop()

    def _binary(self, kind: str, left: int, right: int) -> int:
        if kind == "&":
            return self._builder.conjunction(left, right)
        if kind == "|":
            return self._builder.disjunction(left, right)
        found = self._builder.exclusive_or(left, right)
        return found if kind == "^" else found ^ 1
