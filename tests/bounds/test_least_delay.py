"""The least delay: never more than any layout needs, and all that the argument gives."""

from __future__ import annotations

import re
import sqlite3
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from itertools import combinations, permutations, product
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.bounds import least_delay
from synth.bounds.delay import _Output
from synth.layout import Layout
from synth.spec import BooleanFunction
from tests.bounds.every_play import Done, every_play, plays
from tests.reading.random_layouts import legal_layouts

NAMES = "abcdefgh"
STORE = Path(__file__).parents[2] / "benchmarks" / "demo_library.sqlite"


def function_of(inputs: int, columns: Iterable[str]) -> BooleanFunction:
    outputs = {f"q{number}": column for number, column in enumerate(columns)}
    return BooleanFunction(tuple(NAMES[:inputs]), outputs)


def ticks(inputs: int, *columns: str) -> int:
    return least_delay(function_of(inputs, columns)).ticks


# Against the argument, restated without its short cuts

Rows = frozenset[int]


def inputs_of(count: int) -> list[Rows]:
    """For each input the rows in which it is on."""
    places = [1 << (count - 1 - index) for index in range(count)]
    return [frozenset(row for row in range(1 << count) if row & place) for place in places]


def nors(count: int, signals: Iterable[Rows]) -> Iterator[Rows]:
    """The NOR of every set of signals."""
    signals = list(signals)
    every = frozenset(range(1 << count))
    for number in range(len(signals) + 1):
        for chosen in combinations(signals, number):
            yield every.difference(*chosen)


def signals_by(tick: int, count: int) -> set[Rows]:
    """What inputs, one-tick buffers and inverters of a network can be by a tick."""
    signals = set(inputs_of(count))
    for _ in range(tick):
        signals |= set(nors(count, signals))
    return signals


def fits(column: str, signals: Iterable[Rows]) -> bool:
    """Whether the OR of those signals that are off where they have to be is a column."""
    zeros = {row for row, value in enumerate(column) if value == "0"}
    ones = {row for row, value in enumerate(column) if value == "1"}
    return ones <= {row for signal in signals if not signal & zeros for row in signal}


@pytest.mark.parametrize("count", [0, 1, 2, 3])
def test_it_is_the_first_tick_at_which_a_network_can_do_it(count: int) -> None:
    """Every function, and below three inputs every one with don't-cares."""
    by_tick = [signals_by(0, count), signals_by(1, count)]
    if count < 3:
        by_tick.append(signals_by(2, count))
    for values in product("01-" if count < 3 else "01", repeat=1 << count):
        column = "".join(values)
        first = next((t for t, signals in enumerate(by_tick) if fits(column, signals)), 2)
        assert ticks(count, column) == first, column


@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_two_ticks_are_enough_for_a_network_of_any_function(count: int) -> None:
    """Each row alone is the NOR of the inputs off there and of the inverted ones on there."""
    every = frozenset(range(1 << count))
    for row in every:
        hears = [on if row not in on else every - on for on in inputs_of(count)]
        assert every.difference(*hears) == {row}


# Against layouts


@pytest.fixture(scope="module")
def done() -> set[Done]:
    return every_play()


def beaten(done: set[Done]) -> list[Done]:
    """What was done in fewer ticks than the bound."""
    return [one for one in done if least_delay(function_of(*one[:2])).ticks > one[2]]


def freed(done: set[Done]) -> set[Done]:
    """The same with every choice of rows of the first output that nobody cares about."""
    found = set()
    for inputs, (column, *others), tick in done:
        for kept in product((True, False), repeat=len(column)):
            freer = "".join(
                value if keep else "-" for value, keep in zip(column, kept, strict=True)
            )
            found.add((inputs, (freer, *others), tick))
    return found


def test_no_layout_of_a_tiny_box_is_faster_than_the_bound(done: set[Done]) -> None:
    assert not beaten(freed(done))
    decided = {one for one in done if not any("-" in column for column in one[1])}
    # Not for want of layouts: every bound is met, and by functions of two inputs.
    met = {(inputs, least_delay(function_of(inputs, c)).ticks) for inputs, c, t in decided}
    assert {(1, 0), (1, 1), (2, 0), (2, 1), (2, 2)} <= met
    exact = {ones for ones in decided if ones[2] == least_delay(function_of(*ones[:2])).ticks}
    assert len(exact) > 20


Wrong = Callable[[pytest.MonkeyPatch], None]


def without_inverters(patch: pytest.MonkeyPatch) -> None:
    """Every row has a row below it where the output must be 0: no inverter helps."""
    patch.setattr(_Output, "_above_a_zero", lambda self: -1)


def without_inputs(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(_Output, "_powered_at", lambda self: 0)


def one_tick_more(patch: pytest.MonkeyPatch) -> None:
    """What needs a tick needs two."""

    original = _Output.too_fast

    def too_fast(self: _Output, tick: int) -> int | None:
        return original(self, 0)

    patch.setattr(_Output, "too_fast", too_fast)


def dont_cares_are_zeros(patch: pytest.MonkeyPatch) -> None:
    original = _Output.__init__

    def init(self: _Output, function: BooleanFunction, name: str) -> None:
        outputs = {key: column.replace("-", "0") for key, column in function.outputs.items()}
        original(self, BooleanFunction(function.inputs, outputs), name)

    patch.setattr(_Output, "__init__", init)


@pytest.mark.parametrize(
    "wrong", [without_inverters, without_inputs, one_tick_more, dont_cares_are_zeros]
)
def test_a_bound_that_claims_too_much_is_beaten(
    done: set[Done], wrong: Wrong, monkeypatch: pytest.MonkeyPatch
) -> None:
    wrong(monkeypatch)
    monkeypatch.setattr(_Output, "reason", lambda self, tick, row: "")
    assert beaten(freed(done))


@given(legal_layouts((4, 3, 4)))
def test_no_random_layout_is_faster_than_the_bound(layout: Layout) -> None:
    """With up to three inputs and two outputs, and buffers of every delay."""
    assert not beaten(set(plays(layout)))


def test_every_answer_of_the_demo_library_agrees() -> None:
    """Found rows are never faster; all that is proven impossible at one tick is closed."""
    counted: Counter[tuple[str, bool]] = Counter()
    query = 'select inputs, "table", delay_asked, status, delay from results'
    with closing(sqlite3.connect(f"file:{STORE}?mode=ro", uri=True)) as store:
        for inputs, table, asked, status, delay in store.execute(query):
            bound = ticks(inputs, *table.split("/"))
            if status == "found":
                assert delay >= bound, table
            elif status == "impossible":
                counted[status, bound > asked] += 1
    assert counted["impossible", True] >= 50


# Properties

columns_of_three = st.text("01-", min_size=8, max_size=8)


@given(columns_of_three, st.sets(st.integers(0, 7)))
def test_more_dont_cares_never_raise_it(column: str, freed: set[int]) -> None:
    freer = "".join("-" if row in freed else value for row, value in enumerate(column))
    assert ticks(3, freer) <= ticks(3, column)


@given(columns_of_three, st.sampled_from(list(permutations(range(3)))))
def test_the_order_of_inputs_does_not_matter(column: str, order: tuple[int, ...]) -> None:
    function = function_of(3, [column])
    assert least_delay(function.permuted(order)).ticks == least_delay(function).ticks


@given(st.lists(columns_of_three, min_size=1, max_size=4))
def test_it_is_that_of_the_slowest_output(columns: list[str]) -> None:
    assert ticks(3, *columns) == max(ticks(3, column) for column in columns)


@given(columns_of_three)
def test_an_input_that_nothing_hangs_on_changes_nothing(column: str) -> None:
    doubled = "".join(value * 2 for value in column)
    assert ticks(4, doubled) == ticks(3, column)


@given(st.integers(0, 4).flatmap(lambda n: st.text("01-", min_size=1 << n, max_size=1 << n)))
def test_the_reason_is_true(column: str) -> None:
    """What it says of two rows is so in the table, and it is one plain sentence."""
    count = len(column).bit_length() - 1
    bound = least_delay(function_of(count, [column]))
    if not bound.ticks:
        assert not bound.reason
        return
    start = "0 ticks cannot" if bound.ticks == 1 else "1 tick cannot"
    assert bound.reason.startswith(f"{start} be had by any layout: q0 must be 1")
    rows = [
        int("".join(re.findall(r"=(\d)", said)), 2)
        for said in re.findall(r"((?:\w=\d ?)+)", bound.reason)
    ]
    assert len(rows) == (0 if count == 0 else bound.ticks)
    for row, value in zip(rows, "10", strict=False):
        assert column[row] == value
    if len(rows) == 2:
        assert not rows[1] & ~rows[0]


def test_eight_inputs_and_many_outputs_are_no_matter() -> None:
    parity = "".join("01"[row.bit_count() % 2] for row in range(256))
    either = "".join("01"[row > 0] for row in range(256))
    assert ticks(8, *[either] * 8) == 0
    assert ticks(8, *[either] * 7, parity) == 2
