"""The desk: every design at work in one folder, each in one session that all its pages share."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from synth.desk.design import Design, checked
from synth.desk.folder import Folder
from synth.desk.gates import gate_of
from synth.desk.jobs import Jobs
from synth.desk.lessons import Lesson, lesson_named
from synth.desk.opening import LAYOUTS, SPECS
from synth.desk.session import UNTITLED, Session
from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules

GAINS = {
    "smaller": "made smaller",
    "mend": "mended",
    "prove": "found while proving",
    "find": "found for the function",
}
"""The name of a version that a job found, by the kind of the job."""


class Desk:
    """What the server serves.

    Args:
        root: the folder; nothing outside it is read or written.
        first: the file to begin with, or None: an untitled design.
        store: a store of answers whose gates can be opened, or None.
        rules: the rule table.

    Attributes:
        post: makes a call in the thread that owns the desk; whoever runs several threads sets it.
        changed: called there when a job of a design has news.

    Raises:
        InputError: if the folder is in use by another desk, the file cannot be opened, or there is
            no such store.
        OutputError: if nothing can be kept in the folder.
    """

    def __init__(
        self,
        root: Path,
        first: Path | None = None,
        *,
        store: Path | None = None,
        rules: Rules = DEFAULT_RULES,
    ) -> None:
        self.folder = Folder(root, (*LAYOUTS, *SPECS))
        self.rules = rules
        self.store = store
        for given in (first, store):
            if given is not None and not given.is_file():
                raise InputError("no such file", file=str(given), way_out="check the path")
        self.first = UNTITLED if first is None else self.folder.name_of(first)
        self.claim = self.folder.claim()
        self.sessions: dict[str, Session] = {}
        self.post: Callable[[Callable[[], None]], None] = lambda call: call()
        self.changed: Callable[[Session], None] = lambda session: None
        self._jobs: dict[Session, Jobs] = {}
        try:
            self.session(self.first)
        except InputError:
            self.close()
            raise

    def close(self) -> None:
        """End all jobs and let go of the folder; everything in it is kept."""
        for jobs in self._jobs.values():
            jobs.close()
        if self.claim >= 0:
            os.close(self.claim)
            self.claim = -1

    def session(self, name: str) -> Session:
        """The session of a design, opened if it is not yet.

        Raises:
            InputError: if it cannot be opened.
        """
        # A design that was saved under another name is found under the name that it has now.
        for session in self.sessions.values():
            if session.name == name:
                return session
        lesson = lesson_named(name)
        begin = None if lesson is None else lesson.start
        session = Session.of(self.folder, name, begin)
        self.sessions[name] = session
        return session

    def jobs(self, session: Session) -> Jobs:
        """The jobs of a design; a gain of one is a version of it."""
        if session not in self._jobs:

            def keep(kind: str, layout: Layout, delay: int | None) -> int:
                return session.keep("gain", GAINS[kind], layout, delay).number

            # `post` and `changed` are looked up when called: the server sets them later.
            self._jobs[session] = Jobs(
                keep, lambda call: self.post(call), lambda: self.changed(session)
            )
        return self._jobs[session]

    def existing(self, name: str) -> Session:
        """The session of a file, a lesson, or a design that has a journal.

        Raises:
            InputError: if there is no such design.
        """
        known = self.folder.path(name).is_file() or self.folder.journal(name).exists()
        if not known and lesson_named(name) is None:
            raise InputError(f"no file {name}", place="name", way_out="open one that is listed")
        session = self.session(name)
        session.look_again()
        return session

    def fresh(self) -> str:
        """A name for a new design that no design has."""
        for number in range(1, 10_000):
            name = UNTITLED if number == 1 else f"{UNTITLED}-{number}"
            if not self.folder.journal(name).exists() and not self.folder.path(name).exists():
                return name
        raise InputError("there are too many untitled designs", way_out="save some of them")

    def gate(self, number: int) -> Session:
        """A new design that begins with a gate of the store.

        Raises:
            InputError: if there is no store, or no such gate.
        """
        if self.store is None:
            raise InputError("there is no store", way_out="start the desk with --store FILE")
        design = Design(checked(gate_of(self.store, number)))
        name = self.fresh()
        self.sessions[name] = Session.of(self.folder, name, design)
        return self.sessions[name]

    def is_done(self, lesson: Lesson) -> bool:
        """Whether a lesson is done; False if nobody has begun it here."""
        if not self.folder.journal(lesson.name).exists():
            return False
        return lesson.done(self.session(lesson.name).design, self.rules)
