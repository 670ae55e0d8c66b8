"""A folder that a certificate is written to.

While a search runs, its workers write the evidence of every "no" into ``unfinished/``. When it is
over, the evidence that the claim needs moves up, the rest is deleted, and the index is written
last. So a folder with an index is complete, whenever the search was killed.
"""

from __future__ import annotations

import contextlib
import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType
from typing import Self

from synth.errors import InputError, reason_of
from synth.proofs.certificate_index import INDEX, LAYOUT, SPEC, UNFINISHED, VERDICT
from synth.proofs.evidence import PROOF, SUFFIXES
from synth.spec import Limits, Spec

_ATTEMPTS = 20
"""How often to delete a folder that others may still write into; two are nearly always enough."""

_CLASS_LAYOUT = re.compile(r"class-\d+\.json")


def class_file(number: int) -> str:
    """The name of the layout of a class of functions, by its number in the index, from 1."""
    return f"class-{number:03}.json"


class ProofFolder:
    """The folder; a context manager for the time of the search.

    Args:
        path: a folder that does not exist yet, is empty, or holds an older certificate, which
            the new one replaces (of the same question: ``require_same``).

    Attributes:
        keeps_unfinished: whether what a stopped search leaves there can be gone on from.
        goes_on: whether the search has come to an end that it can be gone on from.

    Raises:
        InputError: if it holds anything else, or cannot be written to.
    """

    keeps_unfinished = False

    def __init__(self, path: str | Path) -> None:
        self.path = Path(path)
        self.unfinished = self.path / UNFINISHED
        self.goes_on = False
        self._made = not self.path.exists()
        with self.being_prepared():
            self._prepare()

    @contextlib.contextmanager
    def being_prepared(self) -> Iterator[None]:
        """Turn errors of the file system into one error: the folder cannot hold a certificate."""
        try:
            yield
        except OSError as error:
            raise InputError(
                f"cannot hold a certificate ({reason_of(error)})",
                file=str(self.path),
                way_out="name a folder that may be written to, or a new one",
            ) from None

    def _prepare(self) -> None:
        if not self._made:
            if not self.path.is_dir():
                raise NotADirectoryError("it is no folder")
            surplus = sorted(entry.name for entry in self.path.iterdir() if not _ours(entry))
            begun = self.unfinished.is_dir() or (self.path / INDEX).is_file()
            if surplus or (not begun and any(self.path.iterdir())):
                example = surplus[0] if surplus else min(os.listdir(self.path))
                raise InputError(
                    f"holds other files ({example!r})",
                    file=str(self.path),
                    way_out="name a new folder, an empty one, or one with a certificate",
                )
        self.path.mkdir(exist_ok=True)
        # What a search that was stopped left behind is gone on from (``keep_proofs``).
        self.unfinished.mkdir(exist_ok=True)

    def require_same(self, spec: Spec) -> None:
        """Refuse to replace the finished certificate of something else.

        Other limits, measures or rules are no other question here: what is asked anew replaces what
        was asked before.

        Args:
            spec: what is asked.

        Raises:
            InputError: if the folder holds a certificate of another specification, its limits left
                aside.
        """
        held = self.path / SPEC
        if not (self.path / INDEX).is_file() or not held.is_file():
            return
        try:
            other = Spec.load(held).replace(limits=Limits())
        except InputError:
            return  # What cannot be read is of no use to anyone.
        if other != spec.replace(limits=Limits()):
            raise InputError(
                "holds the certificate of another question",
                file=str(self.path),
                way_out="name another folder, or delete this one if it is not needed any more",
            )

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        stopped = (kind is not None or self.goes_on) and any(self.unfinished.glob("*" + PROOF))
        if stopped and self.keeps_unfinished:
            return
        _remove(self.unfinished)
        if self._made and not (self.path / INDEX).exists():
            with contextlib.suppress(OSError):
                self.path.rmdir()

    def replace_old(self, names: list[str]) -> None:
        """Delete the files of an older certificate, its index first; move the new evidence up."""
        (self.path / INDEX).unlink(missing_ok=True)
        for entry in self.path.iterdir():
            if entry.name != UNFINISHED:
                entry.unlink()
        for name in names:
            os.replace(self.unfinished / name, self.path / name)


def _remove(folder: Path) -> None:
    """Delete a folder, also while a last file is being written into it.

    The workers of a search that was killed end by themselves, but a little later than it: one of
    them may add a proof between the deletion of the files and that of the folder.
    """
    for _ in range(_ATTEMPTS):
        shutil.rmtree(folder, ignore_errors=True)
        if not folder.exists():
            return


def _ours(entry: Path) -> bool:
    """Whether a file or folder has a name that a certificate uses."""
    if entry.name == UNFINISHED:
        return entry.is_dir()
    names = (INDEX, SPEC, LAYOUT, VERDICT)
    own = entry.name in names or _CLASS_LAYOUT.fullmatch(entry.name) is not None
    return entry.is_file() and (own or entry.name.endswith(SUFFIXES))
