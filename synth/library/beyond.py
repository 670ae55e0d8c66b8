"""The part of a store that keeps layouts beyond the limits of a question.

A question without a layout within its limits may have one that needs more room: the same function,
delay, stacking, joints and pins, but a larger box (``synth.questions.room``). It is no answer, and
nothing is concluded from it. As soon as a layout within the limits is known, it is dropped.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from synth.errors import InputError
from synth.layout import Layout
from synth.layout.documents import parse_json
from synth.layout.pins import show_size
from synth.library.canonical import Canonical
from synth.library.columns import BEYOND, require_row
from synth.library.listing import Listing
from synth.questions.measures import keeps, measured
from synth.questions.room import let_go, limits_beyond
from synth.simulator import check
from synth.simulator.verdict import Verdict
from synth.versions import VERSION

CALLED = "its layout beyond the limits"
"""What a layout beyond the limits is called in a fault of its entry."""


@dataclass(frozen=True)
class Beyond:
    """What a store knows beyond the limits of a question.

    Attributes:
        layout: the best layout, in canonical names; None if none was found.
        delay: the delay that it meets, in ticks.
        seconds: the time spent on looking for it in all.
    """

    layout: Layout | None = None
    delay: int | None = None
    seconds: float = 0.0


class BeyondLimits(Listing):
    """Layouts beyond the limits of their questions."""

    def beyond(self, number: int) -> Beyond:
        """What is known beyond the limits of an entry's question; its layout is not judged.

        Raises:
            InputError: if it cannot be read.
        """
        rows = self.rows_of("beyond", number)
        if not rows:
            return Beyond()
        file = str(self.path)
        require_row("beyond", tuple(BEYOND), rows[0], file=file, number=number)
        values = dict(zip(BEYOND, rows[0], strict=True))
        layout = None
        if values["layout"] is not None:
            with self.reading("beyond", number, "layout"):
                layout = Layout.from_document(parse_json(values["layout"]))
        return Beyond(layout, values["delay"], values["seconds"])

    def layout_beyond(self, number: int) -> Layout:
        """The layout beyond the limits of an entry's question, judged anew by the simulator.

        Raises:
            InputError: if there is none, or it does not do what was asked.
        """
        asked, kept = self.asked(number), self.beyond(number)
        if kept.layout is None:
            raise InputError(
                f"entry {number} has no layout beyond its limits",
                file=str(self.path),
                way_out="'gatefit library list' shows those that have",
            )
        for problem in beyond_faults(asked, kept):
            raise InputError(
                f"entry {number}: {problem}",
                file=str(self.path),
                way_out="'gatefit library verify' finds all such entries",
            )
        return kept.layout.replace(made_for=asked.problem.made_for(kept.delay))

    def keep_beyond(self, asked: Canonical, found: Beyond) -> bool:
        """Keep a layout beyond the limits of a stored question, if it is better than the one kept.

        Seconds add up. Nothing is kept where a layout within the limits is known.

        Args:
            asked: the question.
            found: the layout, which must keep all limits but those of space, and break one of
                these; without a layout only the seconds count.

        Returns:
            Whether a better layout is known now.

        Raises:
            InputError: if the question is not in the store, or the store cannot be written to.
        """
        with self.writing():
            number = self.number_of(asked.key)
            if self.entry(number).length is not None:
                return False
            before = self.beyond(number)
            better = is_better(asked, found, before)
            best = found if better else before
            seconds = before.seconds + found.seconds
            if better or seconds != before.seconds:
                self._write_beyond(number, Beyond(best.layout, best.delay, seconds), better=better)
        return better

    def _write_beyond(self, number: int, kept: Beyond, *, better: bool) -> None:
        if not better:
            changed = self.connection.execute(
                "UPDATE beyond SET seconds = ? WHERE number = ?", (kept.seconds, number)
            )
            if changed.rowcount:
                return
        layout = kept.layout
        length, width, height = layout.size if layout else (None, None, None)
        self.connection.execute(
            "INSERT OR REPLACE INTO beyond VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                number,
                length,
                width,
                height,
                layout and layout.part_count,
                kept.delay,
                kept.seconds,
                VERSION,
                datetime.now(UTC).date().isoformat(),
                layout and json.dumps(layout.document(), separators=(",", ":")),
            ),
        )

    def drop_beyond(self, number: int) -> None:
        """Forget what lies beyond the limits of an entry's question."""
        self.connection.execute("DELETE FROM beyond WHERE number = ?", (number,))


def is_better(asked: Canonical, found: Beyond, before: Beyond) -> bool:
    """Whether one is better than the other by the measures asked, then by volume and parts."""
    if found.layout is None:
        return False
    return before.layout is None or _score(asked, found) < _score(asked, before)


def _score(asked: Canonical, one: Beyond) -> tuple[int, ...]:
    assert one.layout is not None
    names = dict.fromkeys((*asked.minimize, "volume", "parts"))
    values = (measured(one.layout, one.delay, name) for name in names)
    return tuple(1 << 30 if value is None else value for value in values)


def verdict_beyond(asked: Canonical, layout: Layout) -> Verdict:
    """The simulator's verdict on a layout, by all that is asked but the limits of space."""
    spec = asked.spec.replace(limits=limits_beyond(asked.spec))
    return check(layout, spec, delay=asked.spec.limits.delay, rules=asked.rules)


def beyond_faults(asked: Canonical, kept: Beyond) -> Iterator[str]:
    """What is wrong with a layout beyond the limits of a question."""
    layout, what = kept.layout, CALLED
    if layout is None:
        if kept.delay is not None:
            yield f"{what} is missing, but a delay of {kept.delay} is listed"
        return
    if not let_go(asked.spec):
        yield f"{what} cannot be: the question names cells, so no limit can be let go"
        return
    try:
        verdict = verdict_beyond(asked, layout)
    except InputError as error:
        yield f"{what} cannot be played: {error}"
        return
    for fault in verdict.faults:
        yield f"{what} does not pass the simulator: {fault.text}"
    if not verdict.passes:
        return
    if verdict.delay != kept.delay:
        yield f"{what} has a delay of {verdict.delay}, and {kept.delay} is listed"
    if keeps(layout, verdict.delay, asked.spec.limits):
        yield f"{what} is {show_size(layout.size)}, which is within them: it would be an answer"
