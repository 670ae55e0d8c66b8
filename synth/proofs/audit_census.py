"""The audit of a census: every layout played, every formula derived again, every proof checked.

What must be true of a census that is complete: each class that the formula of a box forbids has a
layout, there or in a box before; and each box that a class without a place could have its place in
is proven to hold nothing else. Both are worked out anew (``synth.questions.census_ledger``) from
the layouts that the simulator passes and the proofs that hold.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import reduce
from pathlib import Path

from synth.encoding import Question
from synth.errors import InputError
from synth.layout import Layout
from synth.proofs.audit_bounds import Bounds, Unneeded
from synth.proofs.audit_files import file_problems
from synth.proofs.audit_links import links_rest_on
from synth.proofs.audit_question import Inspector
from synth.proofs.auditing import Auditing
from synth.proofs.census_index import BoxEntry, ClassEntry, read_census_index
from synth.proofs.certificate_index import INDEX, SPEC
from synth.proofs.drat import Checker
from synth.proofs.evidence import SUFFIXES
from synth.proofs.folder import class_file
from synth.proofs.index_entries import Proven, Split, encoder_version
from synth.questions.census import CensusQuestion, shown
from synth.questions.census_ledger import Complete, Found, Ledger
from synth.questions.in_force import medium_text
from synth.spec import Spec
from synth.spec.classes import Columns
from synth.words import counted


@dataclass(frozen=True)
class _BoxInspector(Inspector):
    """Audits the boxes of a census: their truth tables are free.

    Attributes:
        asked: what the census asks.
        forbidden: the classes that the formula of each box forbids, by the stem of its files.
    """

    asked: CensusQuestion
    forbidden: Mapping[str, tuple[Columns, ...]]

    def question(self, proven: Proven) -> Question:
        """What an entry asks, with what its formula forbids."""
        asked = self.asked.formula(proven.question, self.forbidden[proven.stem], proven.cube)
        return replace(super().question(proven), free=asked.free)


class CensusAudit(Auditing):
    """One audit of a census."""

    def __init__(
        self,
        folder: Path,
        checker: Checker,
        symmetry: bool,
        progress: Callable[[str], None],
        workers: int,
    ) -> None:
        super().__init__(folder, checker, symmetry, progress, workers)
        self.index, unchanged = read_census_index(folder)
        self.ledger: Ledger | None = None
        self._has_read(self.index.text, unchanged=unchanged)

    def run(self) -> None:
        """Every step in turn."""
        self._files()
        asked = self._asked()
        if asked is None:
            return
        self.ledger = Ledger(asked)
        self._classes(asked, self.ledger)
        self._boxes(asked, self.ledger)
        self._claim(asked, self.ledger)

    def _files(self) -> None:
        self.progress(counted(len(self.index.files), "file"))
        boxes = [entry.stem for entry in self.index.boxes]
        expected = {stem + suffix for stem in boxes for suffix in SUFFIXES}
        expected |= {SPEC, *(entry.file for entry in self.index.classes)}
        self.problems += file_problems(self.folder, self.index.files, expected)

    def _asked(self) -> CensusQuestion | None:
        """What was asked, as specification and index say it together."""
        if self._blamed(SPEC) or not (self.folder / SPEC).is_file():
            return None
        try:
            spec = Spec.load(self.folder / SPEC)
            asked = self.index.asked(spec)
        except InputError as error:
            self._blame(SPEC, f"it cannot be read as what a census asks: {error.problem}")
            return None
        try:
            asked.formula(asked.candidates[0]) if asked.candidates else None
        except ValueError as error:
            self._blame(SPEC, f"no census asks it: {error}")
            return None
        if asked.problem.limits != self.index.limits or spec.limits != self.index.limits:
            self._blame(INDEX, f"its limits are not those of {SPEC}")
            return None
        rows = asked.problem.spec.function.rows
        outputs = len(asked.problem.spec.function.outputs)
        for columns in self._tables():
            if len(columns) != outputs or {len(column) for column in columns} != {rows}:
                self._blame(INDEX, f"{shown(columns)} is no table of {rows} rows")
                return None
        if asked.sought != self.index.sought:
            self._blame(INDEX, "of what it seeks, two are of one class")
            return None
        return asked

    def _tables(self) -> list[Columns]:
        """Every table that the index names."""
        tables = [entry.columns for entry in self.index.classes]
        forbidden = [columns for entry in self.index.boxes for columns in entry.forbidden]
        return [*tables, *self.index.sought, *forbidden]

    def _classes(self, asked: CensusQuestion, ledger: Ledger) -> None:
        """Every layout computes what its class is called, in its place."""
        for number, entry in enumerate(self.index.classes, start=1):
            self.progress(f"class {number} of {len(self.index.classes)}: {shown(entry.columns)}")
            found = self._layout(asked, ledger, number, entry)
            if found is not None:
                ledger.note_found(entry.place, found)

    def _layout(
        self, asked: CensusQuestion, ledger: Ledger, number: int, entry: ClassEntry
    ) -> Found | None:
        table = shown(entry.columns)
        if entry.file != class_file(number):
            self._blame(INDEX, f"{entry.file} is not the name of layout {number}")
        elif asked.class_of(entry.columns) != entry.columns:
            self._blame(INDEX, f"no class is called {table}")
        elif entry.place not in ledger.order:
            self._blame(INDEX, f"{table} has its place in {entry.place}, which was not asked")
        elif not self._blamed(entry.file):
            return self._played(asked, entry)
        return None

    def _played(self, asked: CensusQuestion, entry: ClassEntry) -> Found | None:
        try:
            layout = Layout.load(self.folder / entry.file)
            verdict = asked.judged(layout, entry.columns, entry.place.delay)
        except InputError as error:
            self._blame(entry.file, f"it cannot be played: {error.problem}")
            return None
        for fault in verdict.faults:
            self._blame(entry.file, f"the simulator rejects it: {fault.text}")
        if layout.size != entry.place.size:
            self._blame(entry.file, "it has another size than its place")
        most = entry.place.parts
        if most is not None and layout.part_count > most:
            self._blame(entry.file, f"it has {layout.part_count} parts, the limit is {most}")
        if self._blamed(entry.file) or verdict.delay is None:
            return None
        return Found(entry.columns, layout, verdict.delay, 0.0)

    def _boxes(self, asked: CensusQuestion, ledger: Ledger) -> None:
        """Every box by itself, several at a time; then whether what it forbids has a layout."""
        untouched = {entry.name for entry in self.index.files} - {p.file for p in self.problems}
        inspector = _BoxInspector(
            self.folder,
            asked.problem.spec,
            self.index.rules,
            self.checker,
            symmetry=self.symmetry,
            readable=frozenset(untouched),
            made_by=str(self.index.made.get("encoder")),
            asked=asked,
            forbidden={entry.stem: entry.forbidden for entry in self.index.boxes},
        )
        bounds = Bounds(asked.candidates, self.index.files, self.index.splits)
        wanted = [box for box in self.index.boxes if self._is_wanted(box, bounds, inspector)]
        with ThreadPoolExecutor(self.workers) as threads:
            try:
                inspected = threads.map(inspector.inspect, [box.proven for box in wanted])
                for number, (audited, problems) in enumerate(inspected, start=1):
                    self.progress(f"[{number}/{len(wanted)}] {audited}")
                    self.questions.append(audited)
                    self.problems += problems
            except BaseException:
                threads.shutdown(wait=False, cancel_futures=True)
                raise
        for box in wanted:
            complete = self._without(box, ledger)
            ledger.note_complete(box.proven.question, complete, box.proven.cube)
        for split in self.index.splits:
            self._covered(split, bounds, ledger)

    def _is_wanted(self, box: BoxEntry, bounds: Bounds, inspector: _BoxInspector) -> bool:
        question, cube, asked = box.proven.question, box.proven.cube, inspector.asked
        if question not in asked.candidates:
            self._blame(INDEX, f"{box.stem} is of a box that was not asked")
            return False
        if cube is not None and [cube.pin] != list(asked.problem.spec.function.outputs):
            self._blame(INDEX, f"{box.stem} is of a cube that does not hold the one output")
            return False
        try:
            bounds.require(box.proven, inspector.question(box.proven))
        except Unneeded as reason:
            self._blame(INDEX, str(reason))
            return False
        return True

    def _without(self, box: BoxEntry, ledger: Ledger) -> Complete:
        """Each class that a formula forbids has a layout in that box or before it."""
        candidate = box.proven.question
        asked = ledger.asked
        shown_to_fit = set(ledger.forbidden_in(candidate))
        for columns in box.forbidden:
            if asked.class_of(columns) not in shown_to_fit:
                self._blame(
                    INDEX,
                    f"the formula of {box.stem} forbids {shown(columns)}, of which there is "
                    "no layout in that box or before it",
                )
        return Complete(tuple(map(asked.class_of, box.forbidden)), 0.0)

    def _covered(self, split: Split, bounds: Bounds, ledger: Ledger) -> None:
        """The cubes of a box cover it, which is worked out anew, and so it is complete."""
        if split.question in ledger.cubes and self._is_covered(
            split, ledger.asked.formula(split.question), bounds
        ):
            whole = reduce(Complete.and_also, ledger.cubes[split.question].values())
            ledger.note_complete(split.question, whole)

    def _claim(self, asked: CensusQuestion, ledger: Ledger) -> None:
        """The words say what the data say, and nothing is open that is said to be complete."""
        if self.problems:
            return
        text = asked.claim(len(ledger.places()), complete=self.index.complete)
        if text != self.index.text:
            self._blame(INDEX, "the claim in words is not the claim in data")
        if len(ledger.places()) != len(self.index.classes):
            self._blame(INDEX, "a class stands in it twice")
        still_open = ledger.open_boxes()
        if self.index.complete and still_open:
            self._blame(INDEX, f"no proof shows that {still_open[0]} holds nothing else")

    def _certain(self) -> list[str]:
        assert self.ledger is not None
        classes, boxes = len(self.index.classes), len(self.questions)
        proofs = f"{counted(boxes, 'proof')} checked by {self.checker.name}"
        said = [f"Each of {counted(classes, 'class')} has its layout: the simulator passes it."]
        if not self.index.complete:
            listed = "; ".join(map(str, self.questions)) or "no box"
            said.append(f"Nothing but these, in or before it, fits in: {listed} ({proofs}).")
            return said
        said.append(f"No class that is counted has a layout in a box before its place ({proofs}).")
        missing = self.ledger.without_layout()
        if missing is not None:
            said.append(f"{counted(len(missing), 'class')} of those counted have no layout at all.")
        else:
            said.append("No other function has a layout at all.")
        return said

    def _rests_on(self) -> list[str]:
        assert self.ledger is not None
        problem = self.ledger.asked.problem
        return [
            "That the formulas say what the medium says. They were derived anew from the "
            f"specification by {encoder_version()}; the tests of gatefit compare encoder and "
            "simulator on every layout of tiny boxes.",
            f"The medium: {medium_text(problem)}.",
            "That a layout of a function is, with its pins renamed, one of each function of its "
            "class: all inputs are asked alike, and all outputs.",
            *links_rest_on(self.questions),
            *self._splitting_rests_on(len(self.index.splits)),
        ]
