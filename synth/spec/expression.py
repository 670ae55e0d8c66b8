"""Boolean functions written with the operators of IEEE Std 1364-2005, for nets one bit wide.

Operators, from the highest precedence to the lowest (Table 5-4 of the standard, from memory)::

    ~           not
    &           and
    ^  ^~  ~^   exclusive-or, exclusive-nor (two spellings)
    |           or
    ? :         condition ? value if 1 : value if 0

All associate from left to right except ``? :``, which associates from right to left. Operands
are simple identifiers (section 3.7), ``1'b0`` and ``1'b1``.

A function is one assignment or more, ``q = a ^ b; c = a & b``, parted by ``;`` or new lines;
``assign`` may stand before each, ``//`` begins a comment. An assignment goes on in the next
line where it cannot end: inside parentheses, after or before a binary operator.

Nothing here recurses, so no nesting is too deep:

1. ``tokens`` cuts the text and refuses what one-bit nets do not need.
2. ``Parser`` turns each expression into postfix order, by precedence on a stack of operators.
3. Assigned names are put in an order in which each follows those it uses; a loop is an error.
4. Each postfix program runs once, on whole truth tables: a table is an integer of 2**inputs
   bits, whose bit ``r`` is the value at assignment ``r``.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from synth import fields
from synth.errors import InputError
from synth.spec.function import MAX_INPUTS, BooleanFunction
from synth.spec.parser import Expression, Parser
from synth.spec.tokens import Source


def parse_function(text: str, inputs: Sequence[str] | None = None) -> BooleanFunction:
    """The function that the assignments in ``text`` state.

    Every assigned name is an output, in the order of the assignments; it may also be used in
    other assignments, before or after its own. All other names are inputs, in the order in
    which they first appear in the text, unless ``inputs`` lists them; a listed input need
    not be used.

    Raises:
        InputError: with the column (and line, where there are several) and a caret below the
            message, for what is no function, a name assigned twice or depending on
            itself, a name that is not among the ``inputs``, or more than ``MAX_INPUTS``.
    """
    assignments = Parser(Source(text)).assignments()
    if not assignments:
        raise InputError(
            "an empty function", place="column 1", way_out="write an assignment: q = a & b"
        )
    return _function(assignments, inputs)


def parse_outputs(
    expressions: Mapping[str, str], inputs: Sequence[str] | None = None
) -> BooleanFunction:
    """The function whose outputs, by name, are given by one expression each.

    The same as ``parse_function`` on the assignments; the place of an error is
    ``outputs.q, column 7``.
    """
    assignments = {}
    for output, text in expressions.items():
        place = fields.under("outputs", output)
        fields.name(output, place)
        assignments[output] = Parser(Source(text, place)).expression()
    return _function(assignments, inputs)


def check_inputs(inputs: Sequence[object], outputs: Collection[str]) -> tuple[str, ...]:
    """The names of inputs: identifiers, at most ``MAX_INPUTS``, none twice or an output's."""
    names: list[str] = []
    for index, value in enumerate(inputs):
        place = fields.under("inputs", index)
        name = fields.name(value, place)
        if name in names:
            raise InputError(
                f"the input {name!r} is listed twice", place=place, way_out="keep one of them"
            )
        if name in outputs:
            raise InputError(
                f"{name!r} is an input and an output", place=place, way_out="rename one of them"
            )
        names.append(name)
    _check_count(names)
    return tuple(names)


def _check_count(names: Sequence[str]) -> None:
    if len(names) > MAX_INPUTS:
        raise InputError(
            f"{len(names)} inputs, and the search asks about all 2**{len(names)} assignments",
            place="inputs",
            way_out=f"use at most {MAX_INPUTS} inputs; for more there are 'gatefit build' and "
            "'gatefit check --circuit'",
        )


def _function(
    assignments: Mapping[str, Expression], inputs: Sequence[str] | None
) -> BooleanFunction:
    if inputs is None:
        # Postfix order keeps the operands in the order of the text.
        used = (token.text for one in assignments.values() for token in one.names)
        names = tuple(dict.fromkeys(name for name in used if name not in assignments))
        _check_count(names)
    else:
        names = check_inputs(inputs, assignments)
        _refuse_unknown_names(assignments, names)
    tables = _input_tables(names)
    rows = 1 << len(names)
    everything = (1 << rows) - 1
    for output in _dependency_order(assignments):
        tables[output] = _run(assignments[output], tables, everything)
    columns = {output: format(tables[output], f"0{rows}b")[::-1] for output in assignments}
    return BooleanFunction(names, columns)


def _refuse_unknown_names(assignments: Mapping[str, Expression], names: Sequence[str]) -> None:
    known = [*names, *assignments]
    for expression in assignments.values():
        for token in expression.names:
            if token.text not in known:
                raise expression.source.error(
                    token.start,
                    f"{token.text!r} is neither an input nor assigned",
                    fields.suggestion(token.text, known, "the names known are"),
                )


def _input_tables(names: Sequence[str]) -> dict[str, int]:
    """The truth table of each input; the first is the most significant bit of an assignment."""
    rows = range(1 << len(names))
    return {
        name: sum((row >> (len(names) - 1 - index) & 1) << row for row in rows)
        for index, name in enumerate(names)
    }


def _dependency_order(assignments: Mapping[str, Expression]) -> list[str]:
    """The assigned names, each after those it uses.

    Raises:
        InputError: if a name depends on itself, with the whole path of the loop.
    """
    order: dict[str, None] = {}
    for first in assignments:
        path: dict[str, None] = {}  # from ``first`` to the name looked at, in order
        waiting = [first]
        while waiting:
            output = waiting[-1]
            if output in order or output in path:
                waiting.pop()
                if path and next(reversed(path)) == output:
                    path.popitem()
                    order[output] = None
                continue
            path[output] = None
            for token in reversed(assignments[output].names):
                if token.text in path:
                    loop = [*path, token.text]
                    shown = " -> ".join(loop[loop.index(token.text) :])
                    raise assignments[output].source.error(
                        token.start,
                        f"{token.text!r} depends on itself: {shown}",
                        "break the loop: only combinational functions have a truth table",
                    )
                if token.text in assignments:
                    waiting.append(token.text)
    return list(order)


def _run(expression: Expression, tables: Mapping[str, int], everything: int) -> int:
    """The truth table of an expression; ``everything`` has a 1 for each assignment."""
    stack: list[int] = []
    for token in expression.program:
        if token.kind == "name":
            stack.append(tables[token.text])
        elif token.kind in ("0", "1"):
            stack.append(everything if token.kind == "1" else 0)
        elif token.kind == "~":
            stack.append(stack.pop() ^ everything)
        elif token.kind == ":":
            otherwise, then, condition = stack.pop(), stack.pop(), stack.pop()
            stack.append(condition & then | ~condition & otherwise)
        else:
            right, left = stack.pop(), stack.pop()
            if token.kind == "&":
                stack.append(left & right)
            elif token.kind == "|":
                stack.append(left | right)
            elif token.kind == "^":
                stack.append(left ^ right)
            else:  # both spellings of the exclusive-nor
                stack.append(left ^ right ^ everything)
    return stack.pop()
