"""Merges two stores. Nothing is taken over that the simulator rejects or that cannot be true."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace
from typing import Any

from synth.errors import InputError
from synth.library.answer import Answer
from synth.library.boxes import answer_of
from synth.library.canonical import Canonical
from synth.library.columns import RULED_OUT, faults
from synth.library.grounds import box_faults, claim_faults
from synth.library.proofs import Reference
from synth.library.store import Store
from synth.library.verify import Finding, answer_faults, kept_beyond_faults, row_faults

FORMAT = "gatefit-library-merge"
VERSION = 1


@dataclass
class Merge:
    """What a merge did; entries are named by their numbers in the other store.

    Attributes:
        taken: questions that were not known before.
        improved: questions about which more is known now.
        kept: questions about which as much was known already.
        refused: what was not taken over, and why.
        beyond: layouts beyond the limits of their questions that were taken over.
        on_its_word: final answers that were taken over without a certificate: whoever made the
            other store is trusted that nothing is smaller, or possible.
        boxes: boxes without a layout, taken over on the same trust.
    """

    taken: int = 0
    improved: int = 0
    kept: int = 0
    beyond: int = 0
    refused: list[Finding] = field(default_factory=list)
    on_its_word: int = 0
    boxes: int = 0

    def document(self) -> dict[str, Any]:
        """The merge as JSON writes it."""
        return {
            "format": FORMAT,
            "version": VERSION,
            "taken": self.taken,
            "improved": self.improved,
            "kept": self.kept,
            "beyond": self.beyond,
            "on_its_word": self.on_its_word,
            "boxes": self.boxes,
            "refused": [{"entry": one.number, "text": one.text} for one in self.refused],
        }


def merge(store: Store, other: Store) -> Merge:
    """Take over what another store knows and this one does not.

    The merge is one transaction. Merging again changes nothing: for the time spent on a question
    the larger figure is kept, because sums would grow with every merge.

    Args:
        store: the store to merge into.
        other: the store to take over from (``Store.copy_of`` leaves its file alone).

    Raises:
        InputError: if ``store`` cannot be written to.
    """
    done = Merge()
    with store.writing():
        for number in other.numbers():
            try:
                _take(done, store, other, number)
            except InputError as error:
                done.refused.append(Finding(number, error.problem))
        _take_boxes(done, store, other)
    return done


def _take(done: Merge, store: Store, other: Store, number: int) -> None:
    problems = list(row_faults(other, number))
    if problems:
        raise InputError("; ".join(problems))
    entry, asked, answer = other.answered(number)
    if asked.key != entry.key:
        raise InputError("it is from another version of the encoding, or was changed")
    problems = [*answer_faults(asked, answer), *claim_faults(asked, answer)]
    if problems:
        raise InputError("; ".join(problems))
    answer = replace(answer, proof=_proof_here(answer, store, other))
    _keep(done, store, asked, answer, entry.name)
    here = store.number_of(asked.key)
    beyond = other.beyond(number)
    problems = list(kept_beyond_faults(entry, asked, answer, beyond, []))
    if problems:
        done.refused.append(Finding(number, "; ".join(problems)))
    else:
        # Seconds add up, as those of answers do: the larger figure is kept.
        more_s = max(0.0, beyond.seconds - store.beyond(here).seconds)
        done.beyond += store.keep_beyond(asked, replace(beyond, seconds=more_s))
    note = other.note(number) if not store.note(here) else ""
    store.remark(here, note, other.tags(number))


def _keep(done: Merge, store: Store, asked: Canonical, answer: Answer, name: str) -> None:
    before = store.answer(asked.key)
    if before is not None:
        # Seconds add up when two answers are combined, so only the first may bring its own.
        improved = store.keep_answer(asked, replace(answer, seconds=0.0), name)
        store.spent(asked.key, max(before.seconds, answer.seconds))
        if not improved:
            done.kept += 1
            return
        done.improved += 1
    else:
        store.keep_answer(asked, answer, name)
        done.taken += 1
    if answer.proven and Reference.read(answer.proof) is None:
        done.on_its_word += 1


def _take_boxes(done: Merge, store: Store, other: Store) -> None:
    """Take over, on trust, the boxes that the other store says hold no layout.

    Boxes that a layout of this store contradicts are refused.
    """
    layouts: dict[str, list[tuple[Canonical, Answer]]] = defaultdict(list)
    for number in store.numbers():
        _, asked, answer = store.answered(number)
        if answer.layout is not None:
            layouts[asked.box_key].append((asked, answer))
    good = []
    for row in other.rows_ruled_out():
        problems = list(faults("ruled_out", tuple(RULED_OUT), row))
        if not problems:
            box = answer_of(row)
            for asked, answer in layouts.get(str(row[0]), ()):
                problems += box_faults(asked, answer, [box])
        if problems:
            text = problems[0].replace("its layout", "a layout")
            done.refused.append(Finding(None, f"table ruled_out: {text}"))
        else:
            good.append(row)
    done.boxes = store.rule_out_rows(good)  # type: ignore[arg-type]


def _proof_here(answer: Answer, store: Store, other: Store) -> str | None:
    """The proof as this store names it: paths of certificates are relative to the store."""
    reference = Reference.read(answer.proof)
    return answer.proof if reference is None else str(reference.moved(other.path, store.path))
