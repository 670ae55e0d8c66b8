"""A page at the desk: which design it shows, how many copies, its switches, and what it asks.

Pages that show one design share its session; each plays it by itself. ``handle`` answers every
message: with what it asked for, or in a sentence with what is wrong with it. It knows nothing of
the web.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from synth import fields
from synth.desk.copies import Copies
from synth.desk.desk import Desk
from synth.desk.exporting import EXPORTS, exported
from synth.desk.gates import gates_of
from synth.desk.lessons import LESSONS, PREFIX, Lesson, lesson_named
from synth.desk.player import Player
from synth.desk.scene import scene_of, timeline_of
from synth.desk.session import Session
from synth.desk.version import difference
from synth.errors import InputError
from synth.layout import Layout
from synth.layout.documents import pin_entry
from synth.medium_document import read_cell
from synth.views.page.data import numbers_of

MOST_COPIES = 5
"""Most copies of a stack that are shown."""

Reply = dict[str, Any]


class Seat:
    """One page.

    Attributes:
        session: the design that it shows.
        copies: how many copies of its stack.
        beside: the number of the version shown beside it, or None.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.session: Session = desk.session(desk.first)
        self.copies = 1
        self.beside: int | None = None
        self._player: Player | None = None
        self._other: Player | None = None
        self._switches: dict[str, int] = {}
        self._shown = 0

    def handle(self, message: Mapping[str, Any]) -> Reply:
        """The answer to a message: a table whose keys say what it holds.

        Raises:
            InputError: if the message is none, or what it asks cannot be done.
        """
        wanted = fields.choice(message.get("do"), tuple(ORDERS), "do", "order")
        keys, act = ORDERS[wanted]
        fields.check_keys(message, ("n", "do", *keys), None)
        return act(self, message)

    # What is shown

    def state(self) -> Reply:
        """Everything that the page shows, after any change of the design."""
        session, design = self.session, self.session.design
        try:
            view = self._copies.view()
        except InputError:  # after the edit, copies of it cannot stand in a row
            self.copies = 1
            view = design.layout
        self.copies = self._copies.count
        self._player = Player.of(view, self.desk.rules, self._player, self._switches)
        self._switches = {}
        self._shown = session.revision
        layout = design.layout
        purpose = layout.made_for
        history = session.history
        lesson = lesson_named(session.name)
        return {
            "state": {
                "revision": session.revision,
                "design": session.name,
                "hasFile": session.has_file,
                "unsaved": session.unsaved,
                "remark": session.remark,
                "undo": history.past[-1][0].label if history.past else None,
                "redo": history.future[-1][0].label if history.future else None,
                "steps": len(history.past),
                "name": layout.name or "",
                "box": list(layout.size),
                "stack": None
                if layout.stack is None
                else {"axis": layout.stack.axis, "pitch": layout.stack.pitch},
                "ground": layout.ground,
                "pins": [pin_entry(pin) for pin in layout.pins],
                "function": _function_text(layout),
                "delay": None if purpose is None else purpose.delay,
                "locked": [list(cell) for cell in self._copies.everywhere(design.locked)],
                "copies": self.copies,
                "lesson": None if lesson is None else self._lesson(lesson),
                "scene": scene_of(view, self._player, self._player.faults, self.desk.rules),
                "versions": self._versions(),
                "beside": self._beside(),
            },
            "jobs": self.desk.jobs(session).document(),
        }

    def _lesson(self, lesson: Lesson) -> dict[str, Any]:
        following = lesson_named(f"{PREFIX}{lesson.number + 1}")
        return {
            "number": lesson.number,
            "title": lesson.title,
            "words": list(lesson.words),
            "done": lesson.done(self.session.design, self.desk.rules),
            "next": None if following is None else following.name,
        }

    @property
    def behind(self) -> bool:
        """Whether the design has changed since ``state`` was asked for."""
        return self._shown != self.session.revision

    @property
    def _copies(self) -> Copies:
        return Copies.of(self.session.design.layout, self.copies)

    def _versions(self) -> list[dict[str, Any]]:
        layout = self.session.design.layout
        listed = []
        before: Layout | None = None
        for version in self.session.versions:
            own = version.layout
            listed.append(
                {
                    "number": version.number,
                    "kind": version.kind,
                    "words": version.words,
                    "time": version.time,
                    "size": list(own.size),
                    "volume": own.volume,
                    "parts": own.part_count,
                    "delay": version.delay,
                    "same": own == layout,
                    "changed": None if before is None else _counts(before, own),
                }
            )
            before = own
        return listed

    def _beside(self) -> dict[str, Any] | None:
        """The version shown beside the design, played with the same switches."""
        if self.beside is None or self._player is None:
            self._other = None
            return None
        version = self.session.version(self.beside)
        layout = self.session.design.layout
        switches = self._copies.first(self._player.switches())
        self._other = Player.of(version.layout, self.desk.rules, self._other, switches)
        shown = scene_of(version.layout, self._other, self._other.faults, self.desk.rules)
        return {
            "number": version.number,
            "words": version.words,
            "scene": shown,
            "difference": difference(version.layout, layout).document(),
        }

    # Orders

    def hello(self, message: Mapping[str, Any]) -> Reply:
        """``design``: the one to show, or null for the one that the desk was started with."""
        name = message.get("design")
        if name is not None:
            self._go_to(self.desk.existing(fields.text(name, "design")))
        return self.state()

    def edit(self, message: Mapping[str, Any]) -> Reply:
        """``edit``: as ``synth.desk.edits`` reads it, cells as they are shown."""
        label = self.session.edit(self._copies.homed(message.get("edit")))
        return {"label": label} | self.state()

    def undo(self, message: Mapping[str, Any]) -> Reply:
        """One step back."""
        return {"label": "undone" if self.session.undo() else ""} | self.state()

    def redo(self, message: Mapping[str, Any]) -> Reply:
        """One step on again."""
        return {"label": "done again" if self.session.redo() else ""} | self.state()

    def switch(self, message: Mapping[str, Any]) -> Reply:
        """``inputs``: values by name, in the tick after ``tick``."""
        player = self._playing()
        inputs = {
            name: fields.whole(value, f"inputs.{name}", low=0, high=1)
            for name, value in fields.table(message.get("inputs"), "inputs").items()
        }
        player.switch(fields.whole(message.get("tick"), "tick", low=0), inputs)
        return self._played()

    def run(self, message: Mapping[str, Any]) -> Reply:
        """``ticks``: so many ticks more."""
        self._playing().run(fields.whole(message.get("ticks", 1), "ticks", low=1, high=64))
        return self._played()

    def _played(self) -> Reply:
        player = self._playing()
        numbers = numbers_of(self._copies.view(), player.faults)
        reply: Reply = {"play": timeline_of(player, numbers)}
        if self.beside is not None:
            reply["beside"] = self._beside()
        return reply

    def _playing(self) -> Player:
        if self._player is None or self.behind:
            self.state()
        assert self._player is not None
        return self._player

    def why(self, message: Mapping[str, Any]) -> Reply:
        """``cell`` and ``tick``: how a part stands then, and why."""
        cell = read_cell(message.get("cell"), "cell")
        player = self._playing()
        if cell in player.left_out:
            told = next((fault.text for fault in player.faults if fault.at == cell), "")
            return {"why": {"text": "not played", "why": told}}
        found = player.why(cell, fields.whole(message.get("tick"), "tick", low=0))
        return {"why": None if found is None else {"text": found.text, "why": found.why}}

    def show_copies(self, message: Mapping[str, Any]) -> Reply:
        """``count``: so many copies of the stack side by side."""
        count = fields.whole(message.get("count"), "count", low=1, high=MOST_COPIES)
        layout = self.session.design.layout
        if count > 1 and layout.stack is None:
            raise InputError("it does not stack", way_out="say along which axis it is to stack")
        after = Copies(layout, count)
        after.view()  # refuses what cannot stand side by side
        self._switches = after.spread(self._copies.first(self._playing().switches()))
        self.copies = count
        return self.state()

    def save(self, message: Mapping[str, Any]) -> Reply:
        """``name``: of the file, or null for its own; ``delay``: what the review says it meets."""
        self.session.save(message.get("name"), _delay(message))
        return {"label": f"saved as {self.session.name}"} | self.state()

    def keep(self, message: Mapping[str, Any]) -> Reply:
        """``words``: what the version kept is."""
        words = fields.line(message.get("words", ""), "words")[:200] or "kept by hand"
        design = self.session.design
        self.session.keep("kept", words, design.layout, _delay(message))
        return {"label": "kept"} | self.state()

    def take(self, message: Mapping[str, Any]) -> Reply:
        """``version``: a number; the design goes on from it, a step that can be undone."""
        version = self.session.version(message.get("version"))
        label = self.session.edit({"kind": "take", "layout": version.layout.document()})
        return {"label": label} | self.state()

    def show_beside(self, message: Mapping[str, Any]) -> Reply:
        """``version``: a number shown beside the design, or null for none."""
        number = message.get("version")
        self.beside = None if number is None else self.session.version(number).number
        return self.state()

    def job(self, message: Mapping[str, Any]) -> Reply:
        """``kind``: what to do with the design as it is; ``seconds``: the time it may take."""
        jobs = self.desk.jobs(self.session)
        jobs.begin(
            message.get("kind"), self.session.design, message.get("seconds"), self.desk.rules
        )
        return self.news()

    def stop(self, message: Mapping[str, Any]) -> Reply:
        """``job``: the number of one to be ended."""
        self.desk.jobs(self.session).stop(message.get("job"))
        return self.news()

    def news(self) -> Reply:
        """How far the jobs have come, and the versions that they brought."""
        return {"jobs": self.desk.jobs(self.session).document(), "versions": self._versions()}

    def files(self, message: Mapping[str, Any]) -> Reply:
        """What can be opened, and as what the design can be exported."""
        store = self.desk.store
        return {
            "files": self.desk.folder.listing(),
            "exports": [[kind, title] for kind, (title, _) in EXPORTS.items()],
            "gates": None if store is None else gates_of(store),
        }

    def export(self, message: Mapping[str, Any]) -> Reply:
        """``kind``: of the file; its content comes in the answer."""
        kind = fields.choice(message.get("kind"), tuple(EXPORTS), "kind", "export")
        session, rules = self.session, self.desk.rules
        player = self._playing()
        layout = session.design.layout
        return {"export": exported(kind, session.name, layout, player, rules)}

    def gate(self, message: Mapping[str, Any]) -> Reply:
        """``number``: of a gate of the store, for a new design."""
        self._go_to(self.desk.gate(fields.whole(message.get("number"), "number", low=1)))
        return self.state()

    def lessons(self, message: Mapping[str, Any]) -> Reply:
        """All lessons, and whether each is done."""
        return {
            "lessons": [
                {"name": lesson.name, "title": lesson.title, "done": self.desk.is_done(lesson)}
                for lesson in LESSONS
            ]
        }

    def open(self, message: Mapping[str, Any]) -> Reply:
        """``name``: a file of the folder, or a lesson."""
        self._go_to(self.desk.existing(fields.text(message.get("name"), "name")))
        return self.state()

    def new(self, message: Mapping[str, Any]) -> Reply:
        """A new design, without a name yet."""
        self._go_to(self.desk.session(self.desk.fresh()))
        return self.state()

    def _go_to(self, session: Session) -> None:
        if session is not self.session:
            self.session = session
            self.copies, self.beside, self._player = 1, None, None


def _function_text(layout: Layout) -> str:
    purpose = layout.made_for
    if purpose is None:
        return ""
    return purpose.function if isinstance(purpose.function, str) else "a table"


def _counts(before: Layout, after: Layout) -> list[int]:
    found = difference(before, after)
    return [len(found.added), len(found.taken), len(found.changed)]


def _delay(message: Mapping[str, Any]) -> int | None:
    delay = message.get("delay")
    return None if delay is None else fields.whole(delay, "delay", low=0)


ORDERS: dict[str, tuple[tuple[str, ...], Callable[[Seat, Mapping[str, Any]], Reply]]] = {
    "hello": (("design",), Seat.hello),
    "edit": (("edit",), Seat.edit),
    "undo": ((), Seat.undo),
    "redo": ((), Seat.redo),
    "switch": (("tick", "inputs"), Seat.switch),
    "run": (("ticks",), Seat.run),
    "why": (("cell", "tick"), Seat.why),
    "copies": (("count",), Seat.show_copies),
    "save": (("name", "delay"), Seat.save),
    "keep": (("words", "delay"), Seat.keep),
    "take": (("version",), Seat.take),
    "beside": (("version",), Seat.show_beside),
    "job": (("kind", "seconds"), Seat.job),
    "stop": (("job",), Seat.stop),
    "files": ((), Seat.files),
    "export": (("kind",), Seat.export),
    "gate": (("number",), Seat.gate),
    "lessons": ((), Seat.lessons),
    "open": (("name",), Seat.open),
    "new": ((), Seat.new),
}
"""Every order that a message can give: its keys, and what answers it."""
