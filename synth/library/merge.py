"""Two stores into one: nothing is taken over that the simulator does not pass."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from synth.errors import InputError
from synth.library.answer import Answer
from synth.library.proofs import Reference
from synth.library.store import Store
from synth.library.verify import Finding, answer_faults

FORMAT = "gatefit-library-merge"
VERSION = 1


@dataclass
class Merge:
    """What came of it; entries are named by their numbers in the other store.

    Attributes:
        taken: questions that were not known before.
        improved: questions of which more is known now.
        kept: questions of which as much was known already.
        refused: what was not taken, and why.
        on_its_word: answers for good taken without a certificate: that nothing is smaller, or
            possible, is the word of whoever made the other store.
        boxes: single boxes without a layout, taken on the other's word, too.
    """

    taken: int = 0
    improved: int = 0
    kept: int = 0
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
            "on_its_word": self.on_its_word,
            "boxes": self.boxes,
            "refused": [{"entry": one.number, "text": one.text} for one in self.refused],
        }


def merge(store: Store, other: Store) -> Merge:
    """Take over what another store knows and this one does not.

    All of it is one transaction. Doing it again changes nothing: of the time spent on a question
    the larger figure stays, sums would grow with every merge.

    Args:
        store: the store that grows.
        other: the other one (``Store.copy_of`` leaves its file alone).

    Raises:
        InputError: if ``store`` cannot be written to.
    """
    done = Merge()
    with store.writing():
        for entry in list(other.entries()):
            try:
                _take(done, store, other, entry.number)
            except InputError as error:
                done.refused.append(Finding(entry.number, error.problem))
        done.boxes = store.rule_out_all(other)
    return done


def _take(done: Merge, store: Store, other: Store, number: int) -> None:
    entry = other.entry(number)
    asked, answer = other.asked(number), other.answer(entry.key)
    assert answer is not None
    if asked.key != entry.key:
        raise InputError("it is of another version of the encoding, or was changed")
    faults = list(answer_faults(asked, answer))
    if faults:
        raise InputError("; ".join(faults))
    answer = replace(answer, proof=_proof_here(answer, store, other))
    before = store.answer(asked.key)
    if before is not None:
        # Seconds add up where answers are put together, so they come in with the first only.
        improved = store.keep_answer(asked, replace(answer, seconds=0.0), entry.name)
        store.spent(asked.key, max(before.seconds, answer.seconds))
        if not improved:
            done.kept += 1
            return
        done.improved += 1
    else:
        store.keep_answer(asked, answer, entry.name)
        done.taken += 1
    if answer.proven and Reference.read(answer.proof) is None:
        done.on_its_word += 1


def _proof_here(answer: Answer, store: Store, other: Store) -> str | None:
    """The proof as this store names it: folders of certificates are relative to a store."""
    reference = Reference.read(answer.proof)
    return answer.proof if reference is None else str(reference.moved(other.path, store.path))
