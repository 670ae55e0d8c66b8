"""Whole rows of copies, played as one layout: what a chain or a stack comes to (sections 7 and 11).

The verdict on a slice holds for rows of any length. Here a row is played as a plain layout, which
knows nothing of chains, with every assignment of its inputs or with many at random.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from synth.errors import InputError
from synth.layout import Layout
from synth.layout.transform import bus_bit, repeated
from synth.medium import DEFAULT_RULES, Rules
from synth.simulator.chains import link_delay_met
from synth.simulator.checking import wanted_of
from synth.simulator.fabric import fabric_of
from synth.simulator.many import FULL, ManyPlay, ManyTick, Words
from synth.simulator.settling import refuse_illegal
from synth.simulator.verdict import Verdict
from synth.spec import BooleanFunction, Limits, Spec
from synth.words import counted, ticks

MOST_EXHAUSTED = 20
"""Most inputs of a row that is played with every assignment unless so many are asked for."""

SAMPLES = 10_000
"""Assignments at random for longer rows, unless others are asked for."""

LONGEST = 20_000
"""Cells of a row that is played: a row longer than a layout may be is never written."""

_PATTERNS = (
    0xAAAA_AAAA_AAAA_AAAA,
    0xCCCC_CCCC_CCCC_CCCC,
    0xF0F0_F0F0_F0F0_F0F0,
    0xFF00_FF00_FF00_FF00,
    0xFFFF_0000_FFFF_0000,
    0xFFFF_FFFF_0000_0000,
)
"""Of the six last inputs, the assignments of a word in which each is on, in counting order; fewer
inputs have each of theirs several times."""


@dataclass(frozen=True, slots=True)
class RowVerdict:
    """What a play of a row found.

    Attributes:
        copies: of the layout.
        assignments: that were played.
        every: whether these are all there are.
        due: ticks within which the row has to settle.
        delay: ticks in which it did; None if some output stays wrong or unknown, or an input is
            fed back.
        wrong: what is wrong, in a sentence; "" if all is right in time.
        unasked: how many of the assignments ask nothing of any copy: a first copy whose links are
            given what is a don't care there has no right output, and no copy behind it has.
    """

    copies: int
    assignments: int
    every: bool
    due: int
    delay: int | None
    wrong: str = ""
    unasked: int = 0

    @property
    def passes(self) -> bool:
        """Whether all is right in time."""
        return not self.wrong

    def text(self) -> str:
        """It in a sentence."""
        played = "all" if self.every else "random"
        head = f"Row of {counted(self.copies, 'copy')}: "
        if self.wrong:
            return f"{head}{self.wrong}"
        text = (
            f"{head}right in {played} {self.assignments:,} assignments within "
            f"{ticks(self.delay or 0)}; {ticks(self.due)} were due"
        )
        return f"{text}; {self.unasked:,} of them ask nothing" if self.unasked else text

    def document(self) -> dict[str, Any]:
        """It as documents write it."""
        return {
            "copies": self.copies,
            "assignments": self.assignments,
            "every": self.every,
            "due": self.due,
            "delay": self.delay,
            "wrong": self.wrong,
            "unasked": self.unasked,
        }


def row_of(layout: Layout, copies: int, longest: int | None = None) -> Layout:
    """A row of copies as one layout; its pins are bits of buses, ``a[0]``, ``a[1]``, ...

    ``longest`` cells it may be; None: as long as a layout document may say.

    A link of a chain keeps its names: the input is the first copy's, the output the last one's.

    Raises:
        InputError: if the layout states no stacking, or the row is larger than a layout may be.
    """
    if layout.stack is None:
        raise InputError(
            "the layout does not say along which axis it stacks",
            place="stack",
            way_out="give its document a stack, or find a layout with --stack",
        )
    return repeated(layout, layout.stack.axis, copies, named=bus_bit, longest=longest)


def check_row(
    layout: Layout,
    function: BooleanFunction,
    copies: int,
    *,
    due: int,
    samples: int | None = None,
    seed: int = 0,
    rules: Rules = DEFAULT_RULES,
) -> RowVerdict:
    """Play a row of copies of a right layout, and hold every output against the function.

    Args:
        layout: with a stack, of a chain or not.
        function: of one copy.
        copies: at least 1.
        due: ticks within which the row has to settle.
        samples: at least so many assignments at random; None: every one, or ``SAMPLES`` beyond
            ``MOST_EXHAUSTED`` inputs.
        seed: of the random assignments.
        rules: the rule table.

    Raises:
        InputError: if there is no such row, or it is not legal.
    """
    row = row_of(layout, copies, LONGEST)
    refuse_illegal(row, rules)
    count = len(row.inputs)
    every = samples is None and count <= MOST_EXHAUSTED
    words = max(1, (1 << count) // 64) if every else -(-(samples or SAMPLES) // 64)
    assignments = 1 << count if every else 64 * words
    play = ManyPlay(fabric_of(row), rules)
    wanted = _Wanted(layout, function, copies, [pin.name for pin in row.inputs])
    delay = asked = 0
    generator = np.random.default_rng(seed)
    for start in range(0, words, play.words_at_once):
        here = min(play.words_at_once, words - start)
        inputs = _counted(count, start, here) if every else _random(generator, count, here)
        ones, zeros = wanted.of(inputs)
        asked += _count(np.bitwise_or.reduce(ones | zeros, axis=0))
        met, wrong = _settled(play, wanted, inputs, ones, zeros)
        if met is None:
            return RowVerdict(copies, assignments, every, due, None, wrong)
        delay = max(delay, met)
    late = delay > due
    wrong = f"it takes {ticks(delay)}, more than the {due} in which it is due" if late else ""
    # Of few inputs every assignment was played several times.
    unasked = assignments - asked * assignments // (64 * words)
    return RowVerdict(copies, assignments, every, due, delay, wrong, unasked)


def row_verdict(
    layout: Layout,
    verdict: Verdict,
    spec: Spec | None,
    copies: int,
    asked: tuple[int | None, int | None],
    *,
    samples: int | None = None,
    rules: Rules = DEFAULT_RULES,
) -> RowVerdict:
    """``check_row`` of a layout that has passed its check, by what was asked or it was seen to do.

    Args:
        layout: with its stack.
        verdict: of the layout.
        spec: by which it was judged, or None: then every copy has to do what it does alone.
        asked: delay and link delay where others than those of ``spec`` were asked.

    Raises:
        InputError: as ``check_row``.
    """
    limits = Limits() if spec is None else spec.limits
    delays = (verdict.delay, verdict.link_delay if verdict.chained else 0)
    wanted = (limits.delay, limits.link_delay)
    first, each = (
        next((one for one in (given, limit, own) if one is not None), 0)
        for given, limit, own in zip(asked, wanted, delays, strict=True)
    )
    if spec is None:
        names = tuple(pin.name for pin in layout.inputs)
        columns = {name: text.replace("x", "-") for name, text in (verdict.outputs or {}).items()}
        function = BooleanFunction(names, columns)
    else:
        function = spec.function
    due = first
    if copies > 1 and verdict.chained:
        due += (copies - 2) * each + max(each, _last(layout, function, rules))
    return check_row(layout, function, copies, due=due, samples=samples, rules=rules)


def _last(layout: Layout, function: BooleanFunction, rules: Rules) -> int:
    """Ticks in which all outputs of a copy are right once its links are known.

    Those that are no links may be slower than the link delay: in the last copy that counts.
    """
    assert layout.stack is not None
    wanted = wanted_of(layout, function, (1 << (1 << len(layout.inputs))) - 1)
    met = link_delay_met(fabric_of(layout), wanted, layout.stack, rules, every=True)
    return 0 if met is None else met


def _counted(count: int, start: int, words: int) -> Words:
    """Assignments in counting order, the first input the most significant bit."""
    inputs = np.zeros((count, words), dtype=np.uint64)
    numbers = np.arange(start, start + words, dtype=np.uint64)
    for index in range(count):
        place = count - 1 - index
        if place < len(_PATTERNS):
            inputs[index] = np.uint64(_PATTERNS[place])
        else:
            bit = numbers >> np.uint64(place - len(_PATTERNS)) & np.uint64(1)
            inputs[index] = bit * FULL
    return inputs


def _random(generator: np.random.Generator, count: int, words: int) -> Words:
    return generator.integers(0, 1 << 64, size=(count, words), dtype=np.uint64)


def _count(words: Words) -> int:
    """How many bits are set."""
    return int.from_bytes(words.tobytes(), "little").bit_count()


def _settled(
    play: ManyPlay, wanted: _Wanted, inputs: Words, ones: Words, zeros: Words
) -> tuple[int | None, str]:
    """The first tick at which outputs read their ones and zeros, or None and what is wrong."""
    last = None
    for tick, now in enumerate(play.play(inputs)):
        wrong = _wrong(now, ones, zeros)
        if not wrong.any():
            return tick, ""
        last = now
    assert last is not None
    return None, wanted.told(play, last, inputs, _wrong(last, ones, zeros))


def _wrong(now: ManyTick, ones: Words, zeros: Words) -> Words:
    """Where outputs do not read their values, and then where inputs are fed back."""
    read = (ones & ~now.sure) | (zeros & now.possible)
    return np.concatenate([read, now.fed_back])


class _Wanted:
    """What the outputs of a row should read: the function copy by copy, links handed on."""

    def __init__(
        self, layout: Layout, function: BooleanFunction, copies: int, names: list[str]
    ) -> None:
        self.layout = layout
        self.function = function
        self.copies = copies
        self.names = names
        chain = () if layout.stack is None else layout.stack.chain
        self._input_of = {link.output: link.input for link in chain}
        self._linked = {link.input for link in chain}

    def of(self, inputs: Words) -> tuple[Words, Words]:
        """For the outputs of the row in order, where each should read 1, and where 0."""
        rows = dict(zip(self.names, inputs, strict=True))
        none = np.zeros(inputs.shape[1], dtype=np.uint64)
        known = dict.fromkeys(self._linked, ~none)
        handed = {name: rows[name] for name in self._linked}
        ones, zeros = [], []
        for copy in range(self.copies):
            values = {
                name: handed[name] if name in self._linked else rows[bus_bit(name, copy)]
                for name in self.function.inputs
            }
            judged = ~none
            for name in self._linked:
                judged &= known[name]
            ahead = {name: self._columns(name, values, judged) for name in self.function.outputs}
            for pin in self.layout.outputs:
                if pin.name not in self._input_of or copy == self.copies - 1:
                    ones.append(ahead[pin.name][0])
                    zeros.append(ahead[pin.name][1])
            for output, name in self._input_of.items():
                one, zero = ahead[output]
                handed[name], known[name] = one, one | zero
        return np.array(ones, dtype=np.uint64), np.array(zeros, dtype=np.uint64)

    def _columns(self, output: str, values: dict[str, Words], judged: Words) -> tuple[Words, Words]:
        """Where an output of a copy is 1, and where 0; neither at don't cares and after them."""
        one, zero = np.zeros_like(judged), np.zeros_like(judged)
        column = self.function.outputs[output]
        for bits, value in zip(self.function.assignments(), column, strict=True):
            if value == "-":
                continue
            term = judged.copy()
            for name, bit in zip(self.function.inputs, bits, strict=True):
                term &= values[name] if bit else ~values[name]
            if value == "1":
                one |= term
            else:
                zero |= term
        return one, zero

    def told(self, play: ManyPlay, last: ManyTick, inputs: Words, wrong: Words) -> str:
        """The first assignment that something is wrong at, and what, in a sentence."""
        ports = play.fabric.outputs
        index, word = (int(places[0]) for places in np.nonzero(wrong))
        bit = next(bit for bit in range(64) if int(wrong[index, word]) >> bit & 1)
        shown = " ".join(
            f"{name}={int(row[word]) >> bit & 1}"
            for name, row in zip(self.names, inputs, strict=True)
        )
        if index >= len(ports):
            return f"input {self.names[index - len(ports)]!r} is fed back at {shown}"
        sure, possible = (int(rail[index, word]) >> bit & 1 for rail in (last.sure, last.possible))
        read = "1" if sure else "x" if possible else "0"
        return f"output {ports[index].pin.name!r} reads {read} at {shown}"
