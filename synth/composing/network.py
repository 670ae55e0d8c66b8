"""The signals to paint, before they have places: nodes that are ORs of products.

A ``Network`` is a list of *nodes*. Each is an OR of products of *terms*: inputs, complements of
inputs, or earlier nodes. In the medium a product is a wire that has power while any of its terms is
not as the product wants it, and a node is a wire that an inverter for each such wire powers: two
ticks from terms to node.
``networks_of`` gives several networks of one function; which one makes the best layout
shows only when they are painted.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, islice

from synth.composing.cover import Cover, Goal, Product, cover_goals, input_rows
from synth.spec import BooleanFunction

MOST_NETWORKS = 6
"""The most networks of one function, besides those with some outputs turned round."""

MOST_PHASES = 8
"""The most networks that differ in which outputs are complements."""

PHASES_TRIED = {1: 128, 2: 128, 3: 128, 4: 128, 5: 24}
"""How many choices of complements are covered at most, by the number of inputs; 8 for more."""

FEWEST_SPLIT = 5
"""From this many inputs on, networks with several levels are tried."""


@dataclass(frozen=True, slots=True, order=True)
class Term:
    """A signal that products read: an input (or its complement) or a node.

    Attributes:
        name: the input or the node; nodes are called ``0``, ``1``, ..., as no input is.
        positive: False for the complement of an input.
    """

    name: str
    positive: bool = True


@dataclass(frozen=True, slots=True)
class Node:
    """An OR of products; a product is the AND of its terms."""

    name: str
    products: tuple[frozenset[Term], ...]


@dataclass(frozen=True, slots=True)
class Source:
    """What an output reads: a constant or a term, negated or not.

    Attributes:
        term: the signal, or None for a constant.
        inverted: whether the output is its complement; for a constant, whether it is 1.
    """

    term: Term | None
    inverted: bool = False


@dataclass(frozen=True)
class Network:
    """Nodes in order, each reading inputs and earlier nodes, and what each output reads."""

    inputs: tuple[str, ...]
    nodes: tuple[Node, ...]
    outputs: Mapping[str, Source]

    @property
    def products(self) -> tuple[frozenset[Term], ...]:
        """Every different product, in order of the nodes."""
        return tuple(dict.fromkeys(product for node in self.nodes for product in node.products))

    @property
    def terms(self) -> tuple[Term, ...]:
        """Every term that some product or output reads, in order."""
        read = {term for product in self.products for term in product}
        read |= {source.term for source in self.outputs.values() if source.term is not None}
        names = [*self.inputs, *(node.name for node in self.nodes)]
        both = (Term(name, positive) for name in names for positive in (True, False))
        return tuple(term for term in both if term in read)

    def columns(self) -> dict[str, int]:
        """The rows in which each output is on, as masks; tests compare them with the function."""
        count = len(self.inputs)
        every = (1 << (1 << count)) - 1
        known = {name: input_rows(count, index) for index, name in enumerate(self.inputs)}

        def on(term: Term) -> int:
            return known[term.name] if term.positive else every & ~known[term.name]

        for node in self.nodes:
            rows = 0
            for product in node.products:
                all_on = every
                for term in product:
                    all_on &= on(term)
                rows |= all_on
            known[node.name] = rows
        result = {}
        for name, source in self.outputs.items():
            rows = 0 if source.term is None else on(source.term)
            result[name] = every & ~rows if source.inverted else rows
        return result


def networks_of(function: BooleanFunction) -> list[Network]:
    """Different networks of a function, those with fewest products first."""
    found = list(dict.fromkeys(_Key(network) for network in islice(_networks(function), 24)))
    networks = sorted((key.network for key in found), key=_size)[:MOST_NETWORKS]
    known = {_Key(network) for network in networks}
    further = (network for network in _phases(function) if _Key(network) not in known)
    return [*networks, *sorted(further, key=_size)[:MOST_PHASES]]


def _size(network: Network) -> tuple[int, int, int]:
    fed = sum(len(node.products) for node in network.nodes)
    return (len(network.products), len(network.terms), fed)


@dataclass(frozen=True)
class _Key:
    """A network in a form that can be compared with others."""

    network: Network

    def __hash__(self) -> int:
        return hash(self.network.nodes)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, _Key):
            return NotImplemented
        mine, its = self.network, other.network
        return mine.nodes == its.nodes and dict(mine.outputs) == dict(its.outputs)


def _networks(function: BooleanFunction) -> Iterator[Network]:
    yield from _two_levels(function)
    if len(function.inputs) >= FEWEST_SPLIT:
        yield from split_networks(function)


def _two_levels(function: BooleanFunction) -> Iterator[Network]:
    goals = {name: Goal.of(column) for name, column in function.outputs.items()}
    inputs = len(function.inputs)
    every = (1 << (1 << inputs)) - 1
    turned = {
        name: Goal(every & ~goal.ones & ~goal.free, goal.free) for name, goal in goals.items()
    }
    direct = {name: _direct(function, goal) for name, goal in goals.items()}
    open_names = [name for name in goals if direct[name] is None]
    plain = cover_goals(inputs, {name: goals[name] for name in open_names})
    yield _flat(function, plain, frozenset(), direct)
    inverse = cover_goals(inputs, {name: turned[name] for name in open_names})
    fewer = frozenset(name for name in open_names if len(inverse[name]) < len(plain[name]))
    for chosen in dict.fromkeys((fewer, frozenset(open_names))):
        if chosen:
            mixed = {name: turned[name] if name in chosen else goals[name] for name in open_names}
            yield _flat(function, cover_goals(inputs, mixed), chosen, direct)


def _phases(function: BooleanFunction) -> Iterator[Network]:
    """Two-level networks that differ in which outputs are complements of ORs of products."""
    goals = {name: Goal.of(column) for name, column in function.outputs.items()}
    inputs = len(function.inputs)
    every = (1 << (1 << inputs)) - 1
    direct = {name: _direct(function, goal) for name, goal in goals.items()}
    open_names = [name for name in goals if direct[name] is None]
    tried: dict[frozenset[str], Network] = {}

    def network(chosen: frozenset[str]) -> Network:
        if chosen not in tried:
            mixed = {
                name: Goal(every & ~goals[name].allowed, goals[name].free)
                if name in chosen
                else goals[name]
                for name in open_names
            }
            tried[chosen] = _flat(function, cover_goals(inputs, mixed), chosen, direct)
        return tried[chosen]

    most = PHASES_TRIED.get(inputs, 8)
    if 1 << len(open_names) <= most:
        for count in range(len(open_names) + 1):
            for names in combinations(open_names, count):
                network(frozenset(names))
    else:
        best = frozenset[str]()
        for name in [*open_names, *open_names]:
            other = best ^ {name}
            if len(tried) < most and _size(network(other)) < _size(network(best)):
                best = other
    yield from tried.values()


def split_networks(function: BooleanFunction) -> Iterator[Network]:
    """Networks of functions that depend on some of their inputs only through one signal.

    If a column ``f(A, B)`` has only two different columns over ``B`` as the inputs ``A`` change,
    it is ``g(h(A), B)`` for a single signal ``h`` (R. L. Ashenhurst, The decomposition of
    switching functions, 1957; from memory). Parity is like that for every ``A``. One network takes
    about half of the signals as ``A`` at each step, another one two signals.
    """
    for halves in (True, False):
        split = _Split(function, halves)
        if split.deep:
            yield split.network()


def _needed(nodes: Sequence[Node], sources: Iterable[Source]) -> tuple[Node, ...]:
    """The nodes that outputs read, directly or through others."""
    read = {source.term.name for source in sources if source.term is not None}
    kept: list[Node] = []
    for node in reversed(nodes):
        if node.name in read:
            kept.insert(0, node)
            read |= {term.name for product in node.products for term in product}
    return tuple(kept)


@dataclass(frozen=True)
class _Pair:
    """A signal and its complement, as terms."""

    on: Term
    off: Term


class _Split:
    """A function split into as many levels as possible."""

    def __init__(self, function: BooleanFunction, halves: bool) -> None:
        """
        Args:
            function: what to compute; don't-cares are taken as 0 where it is split.
            halves: whether about half of the signals are put together first, or two.
        """
        self.function = function
        self.halves = halves
        self.nodes: list[Node] = []
        self.outputs: dict[str, Source] = {}
        self.deep = False
        signals = tuple(_Pair(Term(name), Term(name, positive=False)) for name in function.inputs)
        for name, column in function.outputs.items():
            goal = Goal.of(column)
            self.outputs[name] = _direct(function, goal) or Source(self._node(goal, signals))

    def network(self) -> Network:
        """The network."""
        nodes = _needed(self.nodes, self.outputs.values())
        return Network(self.function.inputs, nodes, self.outputs)

    def _node(self, goal: Goal, signals: tuple[_Pair, ...]) -> Term:
        """Add nodes for a goal over signals; returns the term that they end in."""
        part = self._part(goal.ones, len(signals))
        if part is None:
            return self._covered(goal, signals)
        self.deep = True
        inner, ones, off, on = part
        own = tuple(signals[index] for index in inner)
        every = (1 << (1 << len(inner))) - 1
        pair = _Pair(self._node(Goal(ones, 0), own), self._node(Goal(every & ~ones, 0), own))
        rest = [index for index in range(len(signals)) if index not in inner]
        # The new signal is the last input, so that others are put together first.
        whole = 0
        for row in range(1 << len(rest)):
            whole |= (off >> row & 1) << (2 * row) | (on >> row & 1) << (2 * row + 1)
        return self._node(Goal(whole, 0), (*(signals[index] for index in rest), pair))

    def _covered(self, goal: Goal, signals: tuple[_Pair, ...]) -> Term:
        """A node that is a two-level cover of a goal."""
        cover = cover_goals(len(signals), {"": goal})[""]
        products = tuple(
            frozenset(
                signals[i].on if positive else signals[i].off for i, positive in item.literals()
            )
            for item in cover
        )
        for node in self.nodes:
            if set(node.products) == set(products):
                return Term(node.name)
        self.nodes.append(Node(str(len(self.nodes)), products))
        return Term(self.nodes[-1].name)

    def _part(self, ones: int, inputs: int) -> tuple[tuple[int, ...], int, int, int] | None:
        """Inputs on which the function depends only through one signal, if there are any.

        Returns:
            The inputs, the rows over them in which the signal is on, and the columns over the
            others while it is off and while it is on; or None.
        """
        if inputs < (FEWEST_SPLIT if self.halves else 3):
            return None
        sizes = range(2, inputs)
        if self.halves:
            sizes_in_order = sorted(sizes, key=lambda size: abs(2 * size - inputs))
        else:
            sizes_in_order = list(sizes)
        for size in sizes_in_order:
            for inner in combinations(range(inputs), size):
                found = _cofactors(ones, inputs, inner)
                if found is not None:
                    return (inner, *found)
        return None


def _cofactors(ones: int, inputs: int, inner: tuple[int, ...]) -> tuple[int, int, int] | None:
    others = [index for index in range(inputs) if index not in inner]
    seen: list[int] = []
    signal = 0
    for row in range(1 << len(inner)):
        base = _spread(row, inner, inputs)
        column = 0
        for other in range(1 << len(others)):
            column |= (ones >> (base | _spread(other, others, inputs)) & 1) << other
        if column not in seen:
            if len(seen) == 2:
                return None
            seen.append(column)
        signal |= seen.index(column) << row
    if len(seen) < 2:
        return None
    return signal, seen[0], seen[1]


@lru_cache(maxsize=1 << 14)
def _spread_cached(row: int, inner: tuple[int, ...], inputs: int) -> int:
    count = len(inner)
    return sum(
        (row >> (count - 1 - place) & 1) << (inputs - 1 - index)
        for place, index in enumerate(inner)
    )


def _spread(row: int, inner: Sequence[int], inputs: int) -> int:
    """The row over all inputs in which these are as in ``row`` and all others are off."""
    return _spread_cached(row, tuple(inner), inputs)


def _direct(function: BooleanFunction, goal: Goal) -> Source | None:
    """What an output reads if it needs no node: a constant, an input or its complement."""
    count = len(function.inputs)
    every = (1 << (1 << count)) - 1
    zeros = every & ~goal.ones & ~goal.free
    if not goal.ones:
        return Source(None)
    for index, name in enumerate(function.inputs):
        on = input_rows(count, index)
        if not on & zeros and not goal.ones & ~on:
            return Source(Term(name))
    if not zeros:
        return Source(None, inverted=True)
    for index, name in enumerate(function.inputs):
        on = every & ~input_rows(count, index)
        if not on & zeros and not goal.ones & ~on:
            return Source(Term(name, positive=False))
    return None


def _flat(
    function: BooleanFunction,
    cover: Cover,
    turned: frozenset[str],
    direct: Mapping[str, Source | None],
) -> Network:
    """Two levels: a node for each different set of products."""
    nodes: dict[frozenset[frozenset[Term]], Node] = {}
    outputs = {}
    for name in function.outputs:
        source = direct[name]
        if source is None:
            products = tuple(_terms(function, product) for product in cover[name])
            node = nodes.setdefault(frozenset(products), Node(str(len(nodes)), products))
            source = Source(Term(node.name), inverted=name in turned)
        outputs[name] = source
    return Network(function.inputs, tuple(nodes.values()), outputs)


def _terms(function: BooleanFunction, product: Product) -> frozenset[Term]:
    return frozenset(Term(function.inputs[i], positive) for i, positive in product.literals())
