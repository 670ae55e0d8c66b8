"""The formula: declared variables and clauses counted by the rule that made them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Iterator
from contextlib import contextmanager

TRUE = 1
"""The literal that is always true: variable 1 is spent on it."""

FALSE = -TRUE

Key = tuple[Hashable, ...]


class Formula:
    """A CNF under construction.

    Variables are declared once and then looked up: declaring twice and looking up what was
    never declared raise, so that a typing error cannot become a new free variable. Clauses
    are added under the name of the rule that needs them: one of ``MEDIUM_RULES``, or what only a
    specification or the search asks for.

    Attributes:
        clauses: the clauses, as lists of non-zero integers (DIMACS literals).
        counts: clauses by rule name, in the order the rules first spoke.
    """

    def __init__(self) -> None:
        self._numbers: dict[Key, int] = {("true",): TRUE}
        self._names: list[Key] = [(), ("true",)]
        self.clauses: list[list[int]] = [[TRUE]]
        self._unless: tuple[int, ...] = ()
        self.counts: Counter[str] = Counter({"the constant": 1})

    @property
    def variable_count(self) -> int:
        """How many variables are declared, the constant included."""
        return len(self._names) - 1

    def declare(self, *key: Hashable) -> int:
        """Declare a variable by a name of its own and return its number."""
        if key in self._numbers:
            raise KeyError(f"variable {key} is declared twice")
        number = len(self._names)
        self._numbers[key] = number
        self._names.append(key)
        return number

    def alias(self, literal: int, *key: Hashable) -> int:
        """Let a name stand for an existing literal (a constant, say) and return the literal."""
        if key in self._numbers:
            raise KeyError(f"variable {key} is declared twice")
        self._numbers[key] = literal
        return literal

    def has(self, *key: Hashable) -> bool:
        """Whether something was declared under a name."""
        return key in self._numbers

    def literal(self, *key: Hashable) -> int:
        """The literal declared under a name."""
        try:
            return self._numbers[key]
        except KeyError:
            raise KeyError(f"variable {key} was never declared") from None

    def name(self, variable: int) -> Key:
        """The name under which a variable was declared."""
        return self._names[variable]

    def add(self, rule: str, literals: Iterable[int]) -> None:
        """Add a clause for a rule; constants are simplified away.

        A clause that holds the true literal is dropped, false literals are left out. A
        clause left empty is kept: it makes the formula unsatisfiable, as it should.
        """
        # Called for every clause, and hardly any holds a constant: looking for one costs less.
        clause = [*literals, *self._unless]
        if TRUE in clause:
            return
        if FALSE in clause:
            clause = [literal for literal in clause if literal != FALSE]
        self.clauses.append(clause)
        self.counts[rule] += 1

    @contextmanager
    def unless(self, *literals: int) -> Iterator[None]:
        """Let every clause that is added meanwhile hold as well where one of some literals does.

        Not for clauses that define something used elsewhere: they would define it no longer.
        """
        self._unless = literals
        yield
        self._unless = ()

    def imply(self, rule: str, causes: Iterable[int], effect: int) -> None:
        """Add ``causes all true -> effect``."""
        clause = [-cause for cause in causes]
        clause.append(effect)
        self.add(rule, clause)

    def define_or(self, rule: str, name: Key, literals: Iterable[int]) -> int:
        """Declare a variable that is exactly the disjunction of ``literals``."""
        kept = [literal for literal in literals if literal != FALSE]
        if TRUE in kept:
            return self.alias(TRUE, *name)
        if len(kept) == 0:
            return self.alias(FALSE, *name)
        if len(kept) == 1:
            return self.alias(kept[0], *name)
        variable = self.declare(*name)
        self.add(rule, [-variable, *kept])
        for literal in kept:
            self.add(rule, [variable, -literal])
        return variable

    def define_and(self, rule: str, name: Key, literals: Iterable[int]) -> int:
        """Declare a variable that is exactly the conjunction of ``literals``."""
        kept = [literal for literal in literals if literal != TRUE]
        if FALSE in kept:
            return self.alias(FALSE, *name)
        if len(kept) == 0:
            return self.alias(TRUE, *name)
        if len(kept) == 1:
            return self.alias(kept[0], *name)
        variable = self.declare(*name)
        self.add(rule, [variable, *(-literal for literal in kept)])
        for literal in kept:
            self.add(rule, [-variable, literal])
        return variable

    def at_most_one(self, rule: str, literals: Iterable[int]) -> None:
        """At most one of ``literals`` is true, by pairs."""
        kept = [literal for literal in literals if literal != FALSE]
        for index, first in enumerate(kept):
            for second in kept[index + 1 :]:
                self.add(rule, [-first, -second])
