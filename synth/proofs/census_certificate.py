"""The certificate of a census: a layout of each class that has one, and the proof of each box.

The proof of a box shows that it holds nothing but the classes that its formula forbids. Each of
these has a layout in the certificate, there or in a box before. In place of its proof a box may
have those of cubes that cover it (``synth.questions.cubes``).
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from synth.errors import OutputError, reason_of
from synth.files import write_text
from synth.layout.documents import layout_text
from synth.medium_document import rules_entry
from synth.proofs.census_index import BoxEntry, CensusIndex, ClassEntry, read_box
from synth.proofs.certificate_index import INDEX, SPEC, UNFINISHED
from synth.proofs.evidence import SUFFIXES, Evidence
from synth.proofs.folder import ProofFolder, class_file
from synth.proofs.index_entries import FileEntry, Proven, encoder_version
from synth.proofs.proof_list import ProofList
from synth.questions.box import BoxQuestion
from synth.questions.census import CensusQuestion, shown
from synth.questions.census_ledger import Ledger
from synth.questions.cubes import Cube
from synth.spec import Limits
from synth.spec.classes import Columns
from synth.spec.documents import write_spec

LIST = "boxes.jsonl"


class CensusProofs:
    """The proofs of boxes, as they come, and those that a stopped census left; see ``ProofList``.

    Args:
        folder: the folder into which the workers write.
        asked: what the census asks; limits on sizes and delay may differ.

    Attributes:
        known: the proof of each box or cube that has one.

    Raises:
        OSError: if the folder cannot be written to.
    """

    def __init__(self, folder: Path, asked: CensusQuestion) -> None:
        self.folder = folder
        self._list = ProofList(folder, LIST, _heading(asked), "box", read_box)
        self.known = {
            (entry.proven.question, entry.proven.cube): entry for entry in self._list.found
        }

    def forbidden(
        self, candidate: BoxQuestion, cube: Cube | None = None
    ) -> tuple[Columns, ...] | None:
        """The classes that the formula of a box or cube forbids; None if there is no proof of it.

        A box that was taken in cubes has proofs of these alone.
        """
        entry = self.known.get((candidate, cube))
        return None if entry is None else entry.forbidden

    def of(self, candidate: BoxQuestion) -> list[BoxEntry]:
        """The proof of a box that is complete, or those of its cubes."""
        whole = self.known.get((candidate, None))
        if whole is not None:
            return [whole]
        return [entry for (box, _), entry in self.known.items() if box == candidate]

    def note(
        self,
        candidate: BoxQuestion,
        forbidden: tuple[Columns, ...],
        evidence: Evidence,
        cube: Cube | None = None,
    ) -> None:
        """List the proof of a box, or of a cube of it; it is on the disk when this returns.

        Raises:
            OutputError: if it cannot be written.
        """
        entry = BoxEntry(Proven(candidate, evidence, cube), forbidden)
        self.known[candidate, cube] = entry
        self._list.note(entry)


def _heading(asked: CensusQuestion) -> dict[str, Any]:
    """All that the formula of a box depends on, but for what it forbids."""
    spec = asked.problem.spec
    return {
        "format": "gatefit-census-proofs",
        "spec": write_spec(spec.replace(limits=Limits(parts=spec.limits.parts))),
        "rules": rules_entry(asked.problem.rules),
        "sought": [shown(columns) for columns in asked.sought],
        "every_input_matters": asked.every_input_matters,
        "encoder": encoder_version(),
    }


class CensusFolder(ProofFolder):
    """The folder of the certificate of one census; see ``ProofFolder``."""

    keeps_unfinished = True

    def proofs(self, asked: CensusQuestion) -> CensusProofs:
        """The proofs that a stopped census of the same left here, and where new ones go.

        Raises:
            InputError: if the folder cannot be written to, or holds the finished certificate of
                another census.
        """
        self.require_same(asked.problem.spec)
        with self.being_prepared():
            return CensusProofs(self.unfinished, asked)

    def finish(self, ledger: Ledger, proofs: CensusProofs, made: Mapping[str, Any]) -> None:
        """Put the certificate in its place; of a census that is open, the proofs stay as well.

        Args:
            ledger: what is known; each box that is complete has its proof.
            proofs: the proofs.
            made: what to say of how it was made.

        Raises:
            OutputError: if it cannot be written.
        """
        asked, places = ledger.asked, ledger.places()
        classes = tuple(
            ClassEntry(columns, place, class_file(number))
            for number, (columns, place) in enumerate(places.items(), start=1)
        )
        boxes = tuple(
            entry
            for candidate in asked.candidates
            if ledger.is_complete(candidate)
            for entry in proofs.of(candidate)
        )
        names = [entry.stem + suffix for entry in boxes for suffix in SUFFIXES]
        still_open = bool(ledger.open_boxes())
        try:
            copies = [self.unfinished / f"{name}.copy" for name in names] if still_open else []
            for name, copy in zip(names, copies, strict=False):
                shutil.copyfile(self.unfinished / name, copy)
            self.replace_old(names)
            for name, copy in zip(names, copies, strict=False):
                os.replace(copy, self.unfinished / name)
            write_text(self.path / SPEC, write_spec(asked.problem.spec))
            for entry in classes:
                layout = ledger.found[entry.place][entry.columns].layout
                write_text(self.path / entry.file, layout_text(layout))
            index = CensusIndex(
                text=asked.claim(len(places), complete=not still_open),
                complete=not still_open,
                box=asked.box,
                measures=asked.problem.measures,
                limits=asked.problem.limits,
                rules=asked.problem.rules,
                sought=asked.sought,
                every_input_matters=asked.every_input_matters,
                classes=classes,
                boxes=boxes,
                made={"encoder": encoder_version(), **made},
                files=tuple(
                    FileEntry.of(entry)
                    for entry in sorted(self.path.iterdir())
                    if entry.name not in (INDEX, UNFINISHED)
                ),
            )
            write_text(self.path / INDEX, index.render())
        except OSError as error:
            raise OutputError(
                f"the certificate cannot be written ({reason_of(error)})",
                file=str(self.path),
            ) from None
        self.goes_on = still_open
