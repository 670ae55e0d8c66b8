"""The progress line: boxes counted once, the time left said as roughly as it is known."""

from __future__ import annotations

import io

import pytest

from synth.cli.shared.progress import Progress
from synth.questions.events import (
    BestImproved,
    BoxEnded,
    BoxStarted,
    Event,
    SearchStarted,
    TimeLeft,
)


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def shown(*events: Event, live: bool = False) -> str:
    stream = Terminal() if live else io.StringIO()
    progress = Progress(stream)
    for event in events:
        progress.event(event)
    return stream.getvalue()


def ended(number: int, length: int, cube: str = "", parts: int | None = None) -> BoxEnded:
    return BoxEnded(number, (length, 1, 1), 2, "impossible", 10, 20, 0.1, cube, parts)


def test_no_box_is_counted_past_the_total() -> None:
    """Cubes and bounds on parts are questions of their own, and no boxes."""
    text = shown(
        SearchStarted(2),
        ended(1, 1),
        ended(2, 2, "cube 1 of 2, a at +x"),
        ended(3, 2, "cube 2 of 2, a at -x"),
        ended(4, 2, "", 19),
    )
    numbers = [line.split("]")[0] for line in text.splitlines()]
    assert numbers == ["[1/2", "[2/2", "[2/2", "[2/2"]
    assert "2 x 1 x 1, delay 2, at most 19 parts: impossible" in text


def test_another_search_counts_from_the_beginning() -> None:
    text = shown(SearchStarted(1), ended(1, 1), SearchStarted(1), ended(1, 2))
    assert [line.split("]")[0] for line in text.splitlines()] == ["[1/1", "[1/1"]


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0.2, "about 1 s left"),
        (40.4, "about 40 s left"),
        (150, "about 2 min left"),
        (7200, "about 2 h left"),
        (1e12, "days left"),
    ],
)
def test_the_time_left_stands_in_the_line(seconds: float, words: str) -> None:
    start = BoxStarted(1, (1, 1, 1), 2)
    assert words in shown(SearchStarted(2), TimeLeft(seconds), start, live=True)
    assert "left" not in shown(SearchStarted(2), TimeLeft(seconds), ended(1, 1))


def test_one_part_is_no_parts() -> None:
    assert "1 part\n" in shown(BestImproved((1, 1, 1), 0, 1))
