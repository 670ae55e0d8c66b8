"""The journal of a shrinking: every gain as it comes, so that nothing is lost to a kill.

One JSON object a line: first what was asked, then a gain a line, on the disk before shrinking goes
on. A line that a kill cut short is passed over. What is read is judged anew by the simulator.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from synth import fields
from synth.errors import InputError
from synth.layout import Layout
from synth.medium_document import rules_entry
from synth.questions.journal import keep_lines, lines_of
from synth.shrinking.aim import Aim, Judged
from synth.spec.documents import write_spec

FORMAT = "gatefit-shrinking"
VERSION = 1
GAIN_KEYS = ("seconds", "kind", "layout")


@dataclass(frozen=True, slots=True)
class Gain:
    """A better layout, the kind of move that found it, and after how many seconds in all."""

    seconds: float
    kind: str
    judged: Judged


@dataclass
class Journal:
    """The gains of one question, in memory and, with a path, in a file.

    Attributes:
        path: the file, or None.
        gains: the gains so far, each better than the one before.
    """

    path: Path | None = None
    gains: list[Gain] = field(default_factory=list)

    @staticmethod
    def of(
        aim: Aim,
        start: Layout,
        path: Path | None,
        earlier: Callable[[], Aim | None] = lambda: None,
    ) -> Journal:
        """The journal of a question, read from ``path`` where that exists.

        Args:
            aim: what is asked.
            start: the layout to begin with.
            path: the file, or None.
            earlier: gives the aim that an earlier version wrote for the same question, if another;
                what it found is judged by ``aim`` all the same.

        Raises:
            InputError: if the file is no such journal, is of another question, holds a layout that
                is not right, or cannot be used.
        """
        journal = Journal(path)
        if path is None:
            return journal
        heading = _heading(aim, start)
        begun = False
        for place, line in lines_of(path, FORMAT, "a shrinking"):
            with _in_line(path, place):
                if begun:
                    journal.gains.append(_read_gain(line, aim))
                else:
                    _check_heading(line, heading, earlier, start)
                    begun = True
        if not begun:
            journal._append(heading)
        return journal

    def note(self, gain: Gain) -> None:
        """Keep a gain; with a path, it is on the disk when this returns."""
        self.gains.append(gain)
        if self.path is not None:
            self._append(
                {
                    "seconds": round(gain.seconds, 3),
                    "kind": gain.kind,
                    "layout": gain.judged.layout.document(),
                }
            )

    def _append(self, document: dict[str, Any]) -> None:
        assert self.path is not None
        keep_lines(self.path, [document])


@contextmanager
def _in_line(path: Path, line: str) -> Iterator[None]:
    """Let errors name the file and the line."""
    try:
        yield
    except InputError as error:
        place = line + (f", {error.place}" if error.place else "")
        way_out = error.way_out or "name another file"
        raise InputError(error.problem, file=str(path), place=place, way_out=way_out) from None


def _heading(aim: Aim, start: Layout) -> dict[str, Any]:
    """All that a gain depends on."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "start": start.document(),
        "spec": write_spec(aim.spec.replace(limits=aim.limits)),
        "delay": aim.delay,
        "minimize": list(aim.measures),
        "pins": str(aim.pinning),
        "rules": rules_entry(aim.rules),
    }


def _check_heading(
    line: Mapping[str, Any],
    heading: Mapping[str, Any],
    earlier: Callable[[], Aim | None],
    start: Layout,
) -> None:
    if line.get("version") != VERSION:
        version = fields.shown(line.get("version"))
        raise InputError(
            f"a journal of version {version}", way_out=f"this program reads version {VERSION}"
        )
    other = _differing(line, heading)
    if other is None:
        return
    before = earlier()
    if before is None or _differing(line, _heading(before, start)) is not None:
        raise InputError(
            f"the journal is of another question: its {other!r} differs",
            way_out="ask the same question, or name another file",
        )


def _differing(line: Mapping[str, Any], heading: Mapping[str, Any]) -> str | None:
    """The first key of a heading that a line has otherwise, or None."""
    written = json.loads(json.dumps(heading))
    return next((key for key, value in written.items() if line.get(key) != value), None)


def _read_gain(table: Mapping[str, Any], aim: Aim) -> Gain:
    fields.check_keys(table, GAIN_KEYS, None, GAIN_KEYS)
    seconds = fields.seconds(table["seconds"], "seconds")
    kind = fields.line(table["kind"], "kind")
    try:
        layout = Layout.from_document(fields.table(table["layout"], "layout"))
        judged = aim.judge(layout)
    except InputError as error:
        raise InputError(error.problem, place="layout", way_out=error.way_out) from None
    if judged is None:
        raise InputError(
            "the layout does not do what is asked",
            place="layout",
            way_out="take the line out, or name another file",
        )
    return Gain(seconds, kind, judged)
