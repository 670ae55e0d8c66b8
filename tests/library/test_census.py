"""A census in a store: what it says of each function, and that it need not be taken again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from synth.census.journal import CensusJournal
from synth.census.taking import run_census
from synth.library import Store
from synth.library.census import keep_census, recall_census
from synth.library.entry import Query
from synth.library.fitting import fitting
from synth.library.verify import verify
from synth.questions.box import BoxQuestion
from synth.questions.census import CensusQuestion, free_spec
from synth.questions.events import BoxStarted, Event
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.search.workers.settings import Settings
from synth.spec import Spec
from synth.spec.demands import with_limits
from tests.census.in_process import here

__all__ = ["here"]
pytestmark = pytest.mark.usefixtures("here")

LIMITS: dict[str, Any] = {
    **{"length": 1, "width": 2, "height": 4, "delay": 1, "stack": "y", "joint": "buffer"}
}
ONE = Settings()


def asked_of(outputs: int = 1, *, box: Any = None, **limits: Any) -> CensusQuestion:
    spec = with_limits(free_spec(2, outputs), **(LIMITS | limits))
    return CensusQuestion.of(spec, box=box)[0]


def taken(asked: CensusQuestion, store: Store | None = None) -> tuple[CensusJournal, list[Event]]:
    """A census, from what a store knows, and the boxes that were asked about."""
    events: list[Event] = []

    class Watcher:
        def event(self, event: Event) -> None:
            if isinstance(event, BoxStarted):
                events.append(event)

    journal = CensusJournal(asked)
    if store is not None:
        recall_census(store, journal.ledger)
    run_census(asked, ONE, journal=journal, reporter=Watcher())
    return journal, events


def problem(text: str, **limits: Any) -> Problem:
    return Problem.of(Spec.parse(text, **(LIMITS | limits)))[0]


def test_each_function_has_its_answer(tmp_path: Path) -> None:
    with Store(tmp_path / "gates.sqlite") as store:
        journal, _ = taken(asked_of())
        assert keep_census(store, journal.ledger, "glucose42", 0) == 8
        assert keep_census(store, journal.ledger, "glucose42", 0) == 0
        found = store.recall(problem("z = ~(x | y)"))
        assert found is not None
        assert found.status is Status.FOUND
        assert found.claim.startswith("smallest by volume 2, under length at most 1")
        none = store.recall(problem("q = b ^ a"))
        assert none is not None
        assert none.status is Status.IMPOSSIBLE
        assert "a census ruled out 8 boxes" in none.reason
        checked = verify(store)
        assert checked.passes
        assert not checked.not_shown
        boxes = {answer.question for answer in store.recall_boxes(problem("q = a ^ b", height=9))}
        assert BoxQuestion((1, 2, 4), 1) in boxes


def test_what_a_store_knows_is_not_asked_again(tmp_path: Path) -> None:
    with Store(tmp_path / "gates.sqlite") as store:
        first, _ = taken(asked_of())
        keep_census(store, first.ledger, "glucose42", 0)
        again, begun = taken(asked_of(), store)
        assert not begun
        assert again.ledger.places() == first.ledger.places()
        assert again.ledger.smallest() == first.ledger.smallest()
        wider, begun = taken(asked_of(height=5), store)
        assert {event.size[2] for event in begun if isinstance(event, BoxStarted)} == {5}
        assert wider.ledger.places() == taken(asked_of(height=5))[0].ledger.places()


def test_one_box_claims_no_smallest_layout(tmp_path: Path) -> None:
    with Store(tmp_path / "gates.sqlite") as store:
        journal, _ = taken(asked_of(box=(1, 2, 4)))
        keep_census(store, journal.ledger, "glucose42", 0)
        asked = problem("q = ~(a & b)")
        assert store.recall(asked) is None
        known = store.known(asked)
        assert known is not None
        assert known.status is Status.UNDECIDED
        assert known.layout is not None
        assert not list(store.entries(Query(status="found")))


def test_each_order_of_outputs_is_a_question_of_its_own(tmp_path: Path) -> None:
    with Store(tmp_path / "gates.sqlite") as store:
        journal, _ = taken(asked_of(2, height=3, joint="buffer"))
        assert journal.ledger.places()
        keep_census(store, journal.ledger, "glucose42", 0)
        for columns in journal.ledger.places():
            for order in (columns, columns[::-1]):
                answer = store.recall(journal.ledger.asked.problem_of(order))
                assert answer is not None
                assert answer.status is Status.FOUND
        assert verify(store).passes


def test_what_fits_a_box(tmp_path: Path) -> None:
    with Store(tmp_path / "gates.sqlite") as store:
        journal, _ = taken(asked_of())
        keep_census(store, journal.ledger, "glucose42", 0)
        for size in ((1, 2, 4), (1, 2, 3), (1, 1, 1), (2, 1, 4)):
            expected = {
                place.size
                for place in journal.ledger.places().values()
                if all(own <= most for own, most in zip(place.size, size, strict=True))
            }
            found = fitting(store, size, Query())
            assert {(entry.length, entry.width, entry.height) for entry in found} == expected
        assert [entry.delay for entry in fitting(store, (1, 2, 4), Query(delay=0))] == [0]


def test_of_each_function_the_smallest_fits_whatever_its_joints(tmp_path: Path) -> None:
    with Store(tmp_path / "gates.sqlite") as store:
        for joint in ("wire", "buffer"):
            journal, _ = taken(asked_of(joint=joint))
            keep_census(store, journal.ledger, "glucose42", 0)
        found = fitting(store, (1, 2, 4), Query())
        by_joint = [fitting(store, (1, 2, 4), Query(joints=joint)) for joint in ("wire", "buffer")]
        functions = [{entry.function_key for entry in entries} for entries in by_joint]
        assert functions[0] & functions[1]
        assert len(found) == len(functions[0] | functions[1])
        for entry in found:
            others = [
                other.volume or 0
                for entries in by_joint
                for other in entries
                if other.function_key == entry.function_key
            ]
            assert entry.volume == min(others)
