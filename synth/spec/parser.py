"""Expressions to postfix order, by the precedence of IEEE Std 1364-2005, Table 5-4 (from memory).

See ``synth.spec.expression`` for the language.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from synth.errors import InputError
from synth.spec.tokens import BINARY, Source, Token, tokens

_PRECEDENCE = {"~": 5, "&": 4, "^": 3, "^~": 3, "~^": 3, "|": 2}

_ENDS_OPERAND = ("name", "0", "1", ")")
_STATEMENT_ENDS = (";", "newline", "end")


@dataclass(frozen=True, slots=True)
class Expression:
    """One expression: the text it stands in, and its tokens in postfix order.

    A ``:`` in the program is the whole conditional operator, on three operands.
    """

    source: Source
    program: tuple[Token, ...]

    @property
    def names(self) -> tuple[Token, ...]:
        """The names used, in the order of the text."""
        return tuple(token for token in self.program if token.kind == "name")


class Parser:
    """Assignments, or one expression, out of a text."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self._tokens = tuple(_without_line_breaks_inside(tuple(tokens(source))))
        self._next = 0

    def assignments(self) -> dict[str, Expression]:
        """Every assignment of the text, by the name assigned, in order."""
        found: dict[str, Expression] = {}
        while True:
            self._skip(";", "newline")
            if self._peek().kind == "end":
                return found
            target = self._target()
            if target.text in found:
                raise self._error(
                    target, f"{target.text!r} is assigned twice", "give each output one assignment"
                )
            found[target.text] = Expression(self.source, self._postfix())
            if self._peek().kind not in _STATEMENT_ENDS:
                raise self._no_operator(self._peek())

    def expression(self) -> Expression:
        """Parses the text as one expression, without a name."""
        self._skip("newline")
        program = self._postfix()
        self._skip("newline")
        if self._peek().kind != "end":
            raise self._no_operator(self._peek())
        return Expression(self.source, program)

    def _target(self) -> Token:
        """The name that is assigned, up to and with its ``=``."""
        if self._peek().kind == "assign":
            self._take()
        target = self._take()
        if target.kind != "name":
            raise self._error(
                target, f"{_named(target)} where the name of an output is expected", _EXAMPLE
            )
        equals = self._take()
        if equals.kind != "=":
            raise self._error(
                equals, f"{_named(equals)} where '=' is expected after {target.text!r}", _EXAMPLE
            )
        return target

    def _postfix(self) -> tuple[Token, ...]:
        """One expression, as far as it goes, in postfix order.

        ``stack`` holds what still waits for its right side: operators, ``(``, a ``?`` whose
        ``:`` is to come, and a ``:`` whose third operand is to come.
        """
        output: list[Token] = []
        stack: list[Token] = []
        operand_next = True
        while True:
            token = self._peek()
            if operand_next:
                if token.kind in ("~", "("):
                    stack.append(token)
                elif token.kind in ("name", "0", "1"):
                    output.append(token)
                    operand_next = False
                else:
                    raise self._no_operand(token)
            elif token.kind in BINARY:
                _emit_operators(stack, output, _PRECEDENCE[token.kind])
                stack.append(token)
                operand_next = True
            elif token.kind == "?":
                # A waiting ":" stays where it is: right to left.
                _emit_operators(stack, output, 0)
                stack.append(token)
                operand_next = True
            elif token.kind == ":":
                _emit_to_mark(stack, output)
                if not stack or stack[-1].kind != "?":
                    raise self._error(token, "':' without '?'", "write condition ? a : b")
                stack[-1] = token
                operand_next = True
            elif token.kind == ")":
                self._finish(stack, output)
                if not stack:
                    raise self._error(token, "')' without '('", "leave it out, or open it")
                stack.pop()
            else:
                self._finish(stack, output)
                if stack:
                    raise self._error(stack[-1], "'(' that is never closed", "add a ')'")
                return tuple(output)
            self._take()

    def _finish(self, stack: list[Token], output: list[Token]) -> None:
        """Emit all that waits back to the last ``(``."""
        _emit_to_mark(stack, output)
        if stack and stack[-1].kind == "?":
            raise self._error(stack[-1], "'?' without ':'", "write condition ? a : b")

    def _peek(self) -> Token:
        return self._tokens[self._next]

    def _take(self) -> Token:
        token = self._tokens[self._next]
        if token.kind != "end":
            self._next += 1
        return token

    def _skip(self, *kinds: str) -> None:
        while self._peek().kind in kinds:
            self._take()

    def _no_operand(self, token: Token) -> InputError:
        way_out = f"complete the expression, as in {_EXAMPLE_TEXT}"
        if token.kind in BINARY:
            way_out = (
                f"write a {token.kind} b; reduction operators are not used, nets are one bit wide"
            )
        elif token.kind == "=":
            way_out = "write ~^ for equal"
        return self._error(
            token, f"{_named(token)} where a name, 1'b0, 1'b1, ~ or ( is expected", way_out
        )

    def _no_operator(self, token: Token) -> InputError:
        way_out = "put one of & | ^ ~^ ?: between operands, and ; between assignments"
        if token.kind == "=":
            way_out = "write ~^ for equal; put ; or a new line between assignments"
        return self._error(
            token, f"{_named(token)} where an operator or the end is expected", way_out
        )

    def _error(self, token: Token, problem: str, way_out: str) -> InputError:
        return self.source.error(token.start, problem, way_out)


_EXAMPLE_TEXT = "q = a & b"
_EXAMPLE = f"write {_EXAMPLE_TEXT}"


def _emit_operators(stack: list[Token], output: list[Token], precedence: int) -> None:
    """Move the operators that bind at least as tightly: they come first, left to right."""
    while stack and _PRECEDENCE.get(stack[-1].kind, -1) >= precedence:
        output.append(stack.pop())


def _emit_to_mark(stack: list[Token], output: list[Token]) -> None:
    """Move all back to the last ``(``, or the last ``?`` that still waits for its ``:``."""
    while stack and stack[-1].kind not in ("(", "?"):
        output.append(stack.pop())


def _without_line_breaks_inside(found: tuple[Token, ...]) -> Iterator[Token]:
    """The tokens without the new lines at which no assignment can end."""
    depth = 0
    last = "newline"
    after = [""] * len(found)  # for each token, the kind of the next one that is no new line
    for index in range(len(found) - 2, -1, -1):
        following = found[index + 1].kind
        after[index] = after[index + 1] if following == "newline" else following
    for index, token in enumerate(found):
        depth += {"(": 1, ")": -1}.get(token.kind, 0)
        begun = last not in (";", "newline")
        cannot_end = depth > 0 or last not in _ENDS_OPERAND
        goes_on = after[index] in (*BINARY, "?", ":", ")", "=")
        if token.kind == "newline" and begun and (cannot_end or goes_on):
            continue
        yield token
        last = token.kind


def _named(token: Token) -> str:
    if token.kind == "end":
        return "the end"
    return "a new line" if token.kind == "newline" else repr(token.text)
