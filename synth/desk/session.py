"""One design at work: what is done to it is kept at once; undo, versions, saving. No web in it."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from synth.desk.design import Design, new_design
from synth.desk.edits import edited
from synth.desk.folder import Folder, digest
from synth.desk.history import History
from synth.desk.journal import Journal
from synth.desk.opening import opened, written
from synth.desk.patch import between
from synth.desk.version import Version, require_version
from synth.errors import InputError
from synth.files import read_bytes, write_bytes
from synth.layout import Layout

UNTITLED = "untitled"
"""What a design without a file is called."""


class Session:
    """A design, its journal, and the file it is saved to.

    Attributes:
        name: of the design: its file in the folder, or a word without a file.
        revision: grows with every change of the design.
        remark: what to tell whoever opens it, or empty.
    """

    def __init__(self, folder: Folder, name: str, journal: Journal, remark: str = "") -> None:
        self.folder = folder
        self.name = name
        self.journal = journal
        self.remark = remark
        self.revision = 1

    @staticmethod
    def of(folder: Folder, name: str, begin: Design | None = None) -> Session:
        """The session of a design: its journal gone on with, or a new one begun.

        What another program wrote into the file since then is one more step, which can be undone.

        Args:
            folder: where files and journals lie.
            name: a file of the folder, or a name that is none: then there is only a journal.
            begin: what to begin with where there is neither journal nor file.

        Raises:
            InputError: if file or journal cannot be read.
        """
        path = folder.path(name)
        there = path.is_file()
        kept = folder.journal(name)
        if not kept.exists():
            if there:
                design, data = opened(path)
                return Session(folder, name, Journal.begun(kept, design, digest(data)))
            return Session(folder, name, Journal.begun(kept, begin or new_design()))
        session = Session(folder, name, Journal.resumed(kept))
        session.look_again()
        return session

    def look_again(self) -> None:
        """Take what the file holds now, if another program wrote it, as a step that can be undone.

        Raises:
            InputError: if it cannot be read any more.
        """
        if not self.has_file or not self._changed_elsewhere():
            return
        design, data = opened(self.folder.path(self.name))
        self.journal.read(between(self.design, design, "read the file again"), digest(data))
        self.revision += 1
        self.remark = "The file was changed elsewhere: its content was taken. Undo goes back."

    def _changed_elsewhere(self) -> bool:
        """Whether the file differs from what was last read or saved here."""
        return digest(read_bytes(self.folder.path(self.name))) != self.journal.kept.digest

    @property
    def history(self) -> History:
        """The design and the way to it."""
        return self.journal.kept.history

    @property
    def design(self) -> Design:
        """The design as it is now."""
        return self.history.design

    @property
    def versions(self) -> list[Version]:
        """Every version kept, in order."""
        return self.journal.kept.versions

    # Changes

    def edit(self, message: object) -> str:
        """Carry out an edit; what was done in a few words, empty if nothing changed.

        Raises:
            InputError: if it cannot be done; the design stays as it was.
        """
        design, label = edited(self.design, message)
        patch = between(self.design, design, label)
        if not patch:
            return ""
        self.journal.do(patch)
        self.revision += 1
        return label

    def undo(self) -> bool:
        """Undo a step; returns whether there was one."""
        return self._counted(self.journal.undo())

    def redo(self) -> bool:
        """Do a step again; returns whether there was one."""
        return self._counted(self.journal.redo())

    def _counted(self, done: bool) -> bool:
        self.revision += done
        return done

    # Versions

    def keep(self, kind: str, words: str, layout: Layout, delay: int | None) -> Version:
        """Keep a layout as a version, and say which."""
        version = self._version(kind, words, layout, delay)
        self.journal.keep(version)
        return version

    def _version(self, kind: str, words: str, layout: Layout, delay: int | None) -> Version:
        number = 1 + max((version.number for version in self.versions), default=0)
        time = datetime.now(UTC).isoformat(timespec="seconds")
        return Version(number, kind, words, time, delay, layout)

    def version(self, number: object) -> Version:
        """The version of that number.

        Raises:
            InputError: if there is none.
        """
        return require_version(self.versions, number)

    def save(self, name: object, delay: int | None) -> str:
        """Write the design to a file of the folder, and keep it as a version; the file's name.

        A design that had no file goes on under the new name, with its whole journal.

        Args:
            name: of the file; None: the one it has.
            delay: what it meets, as the simulator found.

        Raises:
            InputError: if the name is none, or a file of another design.
            OutputError: if it cannot be written.
        """
        path = self._target(name)
        own = self.folder.name_of(path)
        if path.exists() and self._changed_elsewhere():
            raise InputError(
                "another program has changed the file meanwhile",
                file=own,
                way_out="open it again, which takes its content as a step, or save under another "
                "name",
            )
        data = written(path, self.design)
        write_bytes(path, data)
        if own != self.name:
            self._move(own)
        version = self._version("saved", f"saved as {own}", self.design.layout, delay)
        self.journal.keep(version, digest(data))
        self.remark = ""
        return own

    def _target(self, name: object) -> Path:
        if name is None:
            if not self.has_file:
                raise InputError("the design has no file yet", way_out="give it a name")
            return self.folder.path(self.name)
        path = self.folder.path(name)
        if path.exists() and self.folder.name_of(path) != self.name:
            raise InputError(
                f"there is a file {self.folder.name_of(path)} already",
                place="name",
                way_out="choose another name, or open that file",
            )
        return path

    @property
    def has_file(self) -> bool:
        """Whether it has been saved to, or was opened from, a file."""
        return self.folder.path(self.name).is_file()

    @property
    def unsaved(self) -> bool:
        """Whether the file holds anything else than the design; autosaved it is in any case."""
        saved = [version for version in self.versions if version.kind == "saved"]
        if saved:
            return saved[-1].layout != self.design.layout
        return not self.has_file or bool(self.history.past)

    def _move(self, name: str) -> None:
        """Go on under another name."""
        fresh = self.folder.journal(name)
        self.journal.path.replace(fresh)
        self.journal.path = fresh
        self.name = name
