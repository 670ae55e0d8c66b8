"""Shows how a build goes on: on a terminal a line that changes, elsewhere a line a milestone, or
every event as a line of JSON.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, TextIO

from synth.cli.shared.files import json_line
from synth.cli.shared.live_line import LiveLine
from synth.layout.pins import show_size
from synth.library.canonical import Canonical
from synth.library.events import (
    BuildEnded,
    BuildStarted,
    Event,
    JobEnded,
    JobFailed,
    JobStarted,
    LeftToOthers,
    LookedBeyond,
    QuestionsPrepared,
    RoundStarted,
)

FORMAT = "gatefit-build-event"
VERSION = 1


class BuildProgress:
    """Writes to ``stream`` and nowhere else; a stream that is gone is no reason to stop."""

    def __init__(self, stream: TextIO) -> None:
        self._line = LiveLine(stream)
        self._done = self._total = 0
        self._share_s = 0.0
        self._running: dict[str, str] = {}

    def event(self, event: Event) -> None:
        """Show one event."""
        self._note(event)
        line = self._milestone(event)
        if line is not None:
            self._line.keep(line)
        if self._line.live and isinstance(event, QuestionsPrepared):
            self._line.show(f"{event.questions} questions prepared")
        elif self._line.live and not isinstance(event, BuildEnded):
            self._update()

    def clear(self) -> None:
        """Take the changing line away."""
        self._line.clear()

    def _note(self, event: Event) -> None:
        if isinstance(event, BuildStarted):
            self._done, self._total = event.known, event.total
        elif isinstance(event, RoundStarted):
            self._share_s = event.share_s
        elif isinstance(event, JobStarted):
            text = question_text(event.name, event.asked)
            self._running[event.asked.key] = f"{text}, beyond the limits" if event.beyond else text
        elif isinstance(event, JobEnded | LookedBeyond | JobFailed):
            self._running.pop(event.asked.key, None)
            if isinstance(event, JobEnded):
                self._done = event.done

    def _milestone(self, event: Event) -> str | None:
        """A line that stays; None for what is shown on the changing line only."""
        if isinstance(event, LeftToOthers):
            return f"other builds are working on {event.questions} functions; waiting for them"
        if isinstance(event, QuestionsPrepared) and not self._line.live:
            return f"{event.questions} questions prepared"
        if isinstance(event, BuildStarted):
            return f"{event.total} questions, {event.known} answered already"
        if isinstance(event, RoundStarted):
            return f"{event.open} questions open, {event.share_s:g} s each"
        if isinstance(event, JobFailed):
            return _failed_line(event)
        if isinstance(event, JobEnded) and not self._line.live:
            return _ended_line(event)
        if isinstance(event, LookedBeyond) and not self._line.live:
            return _beyond_line(event)
        return None

    def _update(self) -> None:
        """Write the changing line anew."""
        line = f"[{self._done}/{self._total}]"
        if self._running:
            line += f" {self._share_s:g} s for each: {'; '.join(self._running.values())}"
        self._line.show(line)


class BuildEvents:
    """Writes every event as a line of JSON."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def event(self, event: Event) -> None:
        """Write one event."""
        # Whoever reads this and is gone wanted nothing else of the build: let that end it.
        self._stream.write(json_line(event_document(event)) + "\n")
        self._stream.flush()


def _ended_line(event: JobEnded) -> str:
    layout = event.outcome.layout
    size = "" if layout is None else f" {show_size(layout.size)}"
    return (
        f"[{event.done}/{event.total}] {question_text(event.name, event.asked)}: "
        f"{event.outcome.status}{size} ({event.seconds:.1f} s)"
    )


def _beyond_line(event: LookedBeyond) -> str:
    question = question_text(event.name, event.asked)
    if event.size is None or event.delay is None:
        return f"{question}: none beyond its limits either ({event.seconds:.1f} s)"
    known = f"{show_size(event.size)} in {event.delay}"
    if event.within:
        return f"{question}: {known}, within its limits ({event.seconds:.1f} s)"
    return f"{question}: beyond its limits {known} ({event.seconds:.1f} s)"


def _failed_line(event: JobFailed) -> str:
    again = "it is tried again" if event.again else "it is left out"
    return f"{question_text(event.name, event.asked)}: its worker failed ({event.error}); {again}"


def question_text(name: str, asked: Canonical) -> str:
    """A question of a build in a few words."""
    spec = asked.spec
    stack = "free" if spec.stack is None else f"stack {spec.stack.axis}"
    joint = spec.joint(spec.pin_names[-1])
    table = " ".join(spec.function.outputs.values())
    return f"{name or table}, {stack}, {joint}, delay {spec.limits.delay}"


_NAMES: dict[type, str] = {
    QuestionsPrepared: "prepared",
    LeftToOthers: "left_to_others",
    BuildStarted: "started",
    RoundStarted: "round",
    JobStarted: "job",
    JobEnded: "answer",
    LookedBeyond: "beyond",
    JobFailed: "failure",
    BuildEnded: "ended",
}


def event_document(event: Event) -> dict[str, Any]:
    """An event as a document; its keys are the fields of ``synth.library.events``."""
    head = {"format": FORMAT, "version": VERSION, "event": _NAMES[type(event)]}
    if isinstance(event, BuildEnded):
        return head | asdict(event.summary)
    if isinstance(event, BuildStarted):
        return head | {"total": event.total, "known": event.known}
    if isinstance(event, QuestionsPrepared | LeftToOthers):
        return head | {"questions": event.questions}
    if isinstance(event, RoundStarted):
        return head | {"share_s": event.share_s, "open": event.open}
    function = event.asked.spec.function
    head |= {
        "key": event.asked.key,
        "name": event.name,
        "table": " ".join(function.outputs.values()),
        "question": question_text(event.name, event.asked),
    }
    if isinstance(event, JobStarted):
        return head | {"share_s": event.share_s, "beyond": event.beyond}
    if isinstance(event, LookedBeyond):
        return head | {
            "size": None if event.size is None else list(event.size),
            "delay": event.delay,
            "within": event.within,
            "seconds": event.seconds,
        }
    if isinstance(event, JobFailed):
        return head | {"error": event.error, "again": event.again}
    outcome, layout = event.outcome, event.outcome.layout
    return head | {
        "status": str(outcome.status),
        "size": None if layout is None else list(layout.size),
        "delay": None if outcome.verdict is None else outcome.verdict.delay,
        "bound": outcome.stats.bound,
        "seconds": event.seconds,
        "done": event.done,
        "total": event.total,
    }
