"""Checks a whole store: plays every layout again and audits the certificates that it names."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from synth.encoding import ENCODING_VERSION
from synth.errors import InputError
from synth.fields import shown
from synth.library.answer import Answer
from synth.library.beyond import CALLED as CALLED_BEYOND
from synth.library.beyond import Beyond, beyond_faults
from synth.library.canonical import Canonical
from synth.library.columns import RULED_OUT, TABLES, faults
from synth.library.entry import Entry
from synth.library.grounds import box_faults, claim_faults, not_shown, shown_needs
from synth.library.proofs import Reference, index_hash
from synth.library.rows import row_of
from synth.library.store import Store
from synth.printable import cleaned
from synth.questions.box import BoxAnswer
from synth.questions.outcome import Status
from synth.simulator import check
from synth.words import ticks

FORMAT = "gatefit-library-verification"
VERSION = 1

Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Finding:
    """A finding about an entry, or, if its number is None, about the store."""

    number: int | None
    text: str

    @property
    def where(self) -> str:
        """What it is about: ``entry 12``."""
        return "the store" if self.number is None else f"entry {self.number}"


@dataclass
class Verification:
    """The result of checking a store.

    Attributes:
        entries: how many entries there are.
        layouts: how many layouts were played again.
        beyond: how many of these lie beyond the limits of their questions.
        audited: how many certificates hold.
        absent: certificates that are named but missing.
        unproven: final answers without a kept proof.
        outdated: answers from another encoding: their layouts still serve, their claims do not.
        not_shown: answers and bounds that have no certificate, and need boxes that the store does
            not rule out: they are as good as the word of whoever made the store.
        wrong: what is wrong, with the number of the entry.
    """

    entries: int = 0
    layouts: int = 0
    beyond: int = 0
    audited: int = 0
    absent: list[Finding] = field(default_factory=list)
    unproven: int = 0
    outdated: int = 0
    not_shown: list[Finding] = field(default_factory=list)
    wrong: list[Finding] = field(default_factory=list)

    @property
    def passes(self) -> bool:
        """Whether nothing is wrong."""
        return not self.wrong

    def document(self) -> dict[str, Any]:
        """The verification as JSON writes it."""
        return {
            "format": FORMAT,
            "version": VERSION,
            "passes": self.passes,
            "entries": self.entries,
            "layouts": self.layouts,
            "beyond": self.beyond,
            "audited": self.audited,
            "unproven": self.unproven,
            "outdated": self.outdated,
            "absent": [{"entry": one.number, "text": one.text} for one in self.absent],
            "not_shown": [{"entry": one.number, "text": one.text} for one in self.not_shown],
            "wrong": [{"entry": one.number, "text": one.text} for one in self.wrong],
        }


def verify(store: Store, *, proofs: bool = True, progress: Progress | None = None) -> Verification:
    """Play every layout again, compare what is listed with it, and audit certificates.

    Args:
        store: the store.
        proofs: whether to audit the certificates that are named and there.
        progress: called with one line of text for each entry.

    Faults of entries are reported and never raised.
    """
    done = Verification()
    done.wrong += [Finding(None, text) for text in _store_faults(store)]
    for number in store.numbers():
        if progress is not None:
            progress(f"entry {number}")
        done.entries += 1
        problems = list(row_faults(store, number))
        try:
            entry, asked, answer = store.answered(number)
            boxes = store.ruled_out(asked)
            beyond = store.beyond(number)
        except InputError as error:
            # Values that a column may not hold are reported already.
            problems = problems or [error.problem]
            done.wrong += [Finding(number, text) for text in problems]
            continue
        outdated = _encoding(store, number) != ENCODING_VERSION
        problems += answer_faults(asked, answer)
        problems += listed_faults(entry, asked, answer)
        problems += claim_faults(asked, answer)
        problems += box_faults(asked, answer, boxes)
        problems += kept_beyond_faults(entry, asked, answer, beyond, boxes)
        if not outdated and entry.key != asked.key:
            problems.append("its question is not the one that its key stands for")
        done.outdated += outdated
        done.layouts += (answer.layout is not None) + (beyond.layout is not None)
        done.beyond += beyond.layout is not None
        done.wrong += [Finding(number, text) for text in problems]
        if outdated:
            continue
        if entry.proven:
            _proof(done, store, entry, asked, audited=proofs, progress=progress)
        if Reference.read(entry.proof) is None:
            missing = not_shown(asked, answer, boxes)
            if missing:
                done.not_shown.append(Finding(number, shown_needs(missing)))
    return done


def _encoding(store: Store, number: int) -> int | None:
    try:
        return store.encoding(number)
    except InputError:
        return None


def _store_faults(store: Store) -> Iterator[str]:
    """What is wrong with the file, and with rows that belong to no entry."""
    for (text,) in store.select("PRAGMA integrity_check(20)"):
        if text != "ok":
            yield f"the file is damaged: {cleaned(str(text))}"
    for row in store.rows_ruled_out():
        for problem in faults("ruled_out", tuple(RULED_OUT), row):
            yield f"table ruled_out, row {shown(row)}: {problem}"
    for table in ("layouts", "notes", "tags", "beyond"):
        for (number,) in store.select(
            f"SELECT DISTINCT number FROM {table} WHERE number NOT IN (SELECT number FROM results)"
        ):
            yield f"table {table} has a row for entry {shown(number)}, which does not exist"


def row_faults(store: Store, number: int) -> Iterator[str]:
    """What is wrong with single values of an entry.

    A value may have another type than its column, be out of range, or hold characters that cannot
    be shown.
    """
    for table in ("results", "layouts", "notes", "tags", "beyond"):
        names = tuple(TABLES[table])
        for row in store.rows_of(table, number):
            for problem in faults(table, names, row):
                yield problem if table == "results" else f"table {table}, {problem}"


def answer_faults(asked: Canonical, answer: Answer) -> Iterator[str]:
    """What is wrong with an answer itself, as far as that can be seen without its proof."""
    if answer.status is Status.FOUND and answer.layout is None:
        yield "it says found and has no layout"
    if answer.status is Status.IMPOSSIBLE and answer.layout is not None:
        yield "it says impossible and has a layout"
    if answer.proven is (answer.status is Status.UNDECIDED):
        yield f"it is {answer.status}, but proven is {answer.proven}"
    if answer.layout is None:
        return
    try:
        verdict = check(answer.layout, asked.spec, rules=asked.rules)
    except InputError as error:
        yield f"its layout cannot be played: {error}"
        return
    for fault in verdict.faults:
        yield f"its layout does not pass the simulator: {fault.text}"
    if verdict.passes and verdict.delay != answer.delay:
        said = "none" if answer.delay is None else ticks(answer.delay)
        yield f"its delay is stored as {said}, but is {verdict.delay}"


def listed_faults(entry: Entry, asked: Canonical, answer: Answer) -> Iterator[str]:
    """Where the listed row differs from its question or layout."""
    own = row_of(asked, answer)
    for name in ("function_key", "inputs", "outputs", "table", "function", "stack", "joints"):
        if getattr(entry, name) != own[name]:
            yield f"its {name.replace('_', ' ')} is not that of its question"
    if entry.minimize != asked.minimize:
        yield "its minimize is not that of its question"
    if entry.delay_asked != own["delay_asked"]:
        yield f"its delay asked is listed as {entry.delay_asked}, but is {own['delay_asked']}"
    for name in ("length", "width", "height", "volume", "floor", "parts"):
        if getattr(entry, name) != own[name]:
            yield f"its {name} is listed as {getattr(entry, name)}, but is {own[name]}"


def kept_beyond_faults(
    entry: Entry, asked: Canonical, answer: Answer, kept: Beyond, boxes: list[BoxAnswer]
) -> Iterator[str]:
    """What is wrong with what is kept beyond the limits of an entry's question."""
    yield from beyond_faults(asked, kept)
    layout = kept.layout
    if layout is None:
        return
    if answer.layout is not None:
        yield "it has a layout beyond its limits, and one within them"
    listed = entry.beyond and (entry.beyond.size, entry.beyond.parts)
    if listed != (layout.size, layout.part_count):
        yield "the size or the parts of its layout beyond the limits are listed as others"
    yield from box_faults(asked, kept, boxes, CALLED_BEYOND)


def _proof(
    done: Verification,
    store: Store,
    entry: Entry,
    asked: Canonical,
    *,
    audited: bool,
    progress: Progress | None,
) -> None:
    reference = Reference.read(entry.proof)
    if reference is None:
        done.unproven += 1
        return
    if not reference.is_there(store.path):
        done.absent.append(Finding(entry.number, f"{reference.folder} is missing"))
        return
    if not audited:
        return
    problem = certificate_fault(store, reference, asked, entry, progress)
    if problem is None:
        done.audited += 1
    else:
        done.wrong.append(Finding(entry.number, f"{reference.folder}: {problem}"))


def certificate_fault(
    store: Store,
    reference: Reference,
    asked: Canonical,
    entry: Entry,
    progress: Progress | None = None,
) -> str | None:
    """What is wrong with an entry's certificate: a fault of its own, or that it is another's."""
    from synth.proofs.audit import audit
    from synth.proofs.certificate_index import SPEC, read_index
    from synth.questions.problem import Problem
    from synth.spec import Spec

    folder = reference.path(store.path)
    try:
        if index_hash(folder) != reference.sha256:
            return "the certificate is not the one named (its index has another hash)"
        index, _ = read_index(folder)
        problem = Problem(Spec.load(folder / SPEC), index.measures, index.rules)
        claimed, _ = Canonical.of(problem)
        if claimed.key != asked.key or index.status != entry.status:
            return "the certificate is about another question or answer"
        values = {name: getattr(entry, name) for name in index.values}
        if values != dict(index.values):
            return f"the certificate is about {dict(index.values)}, but the entry has {values}"
        report = audit(folder, progress=progress)
    except InputError as error:
        return str(error)
    return None if report.passes else f"NOT certain: {report.problems[0]}"
