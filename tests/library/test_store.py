"""What is kept of a question never says less than before."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.errors import InputError
from synth.layout.documents import layout_text
from synth.library import Canonical, Query, Store
from synth.library.answer import Answer, better_of
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.simulator import check
from synth.spec import Limits, Spec
from tests.library.answers import (
    VOLUME,
    best_so_far,
    found,
    impossible,
    pins_asked,
    question,
    solved,
)

CERTIFICATE = "proofs/one sha256:" + "a" * 64


# Semantics


def test_an_answer_comes_back(store: Store) -> None:
    spec, outcome = solved()
    assert store.recall(Problem(spec, VOLUME)) is None
    assert store.keep(Problem(spec, VOLUME), outcome)
    again = store.recall(Problem(spec, VOLUME))
    assert again is not None
    assert (again.status, again.layout, again.verdict) == (
        Status.FOUND,
        outcome.layout,
        outcome.verdict,
    )
    assert (again.claim, again.reason) == (outcome.claim, "")
    assert again.stats.questions == 0
    assert outcome.stats.document().keys() == again.stats.document().keys()


def test_impossible_comes_back_with_its_reason(store: Store) -> None:
    spec, outcome = solved("q = a ^ b", length=1, width=1, height=2)
    assert outcome.status is Status.IMPOSSIBLE
    store.keep(Problem(spec, VOLUME), outcome)
    again = store.recall(Problem(spec, VOLUME))
    assert again is not None
    assert (again.status, again.reason, again.layout) == (Status.IMPOSSIBLE, outcome.reason, None)


def test_undecided_is_known_but_no_answer(store: Store) -> None:
    spec, outcome = solved()
    undecided = replace(outcome, status=Status.UNDECIDED, claim="", reason="the time was up")
    store.keep(Problem(spec, VOLUME), undecided)
    assert store.recall(Problem(spec, VOLUME)) is None
    known = store.known(Problem(spec, VOLUME))
    assert known is not None
    assert (known.status, known.layout) == (Status.UNDECIDED, outcome.layout)


def test_a_refused_layout_is_not_kept(store: Store) -> None:
    spec, outcome = solved()
    refused = replace(outcome, status=Status.REFUSED)
    assert not store.keep(Problem(spec, VOLUME), refused)
    assert store.count() == 0


def test_the_same_answer_twice_changes_nothing(store: Store) -> None:
    spec, outcome = solved()
    assert store.keep(Problem(spec, VOLUME), outcome)
    assert not store.keep(Problem(spec, VOLUME), outcome)
    assert store.count() == 1


def test_a_better_layout_replaces_a_worse_one_and_not_the_other_way_round(store: Store) -> None:
    asked = question()
    for volume, kept in ((9, 9), (12, 9), (7, 7), (8, 7)):
        store.keep_answer(asked, best_so_far(volume, 2))
        assert next(store.entries()).volume == kept
    assert next(store.entries()).seconds == 4.0


def test_bounds_only_rise(store: Store) -> None:
    asked = question()
    for bound, kept in ((None, None), (3, 3), (2, 3), (None, 3), (5, 5)):
        store.keep_answer(asked, best_so_far(9, bound))
        assert next(store.entries()).bound == kept


@pytest.mark.parametrize("decided", [found(6), impossible()], ids=["found", "impossible"])
def test_an_undecided_answer_never_overwrites_a_decided_one(store: Store, decided: Answer) -> None:
    asked = question()
    undecided = best_so_far(None, 4)
    store.keep_answer(asked, undecided)
    assert store.keep_answer(asked, decided)
    before = store.answer(asked.key)
    assert not store.keep_answer(asked, undecided)
    assert store.answer(asked.key) == before
    assert before == replace(decided, seconds=2.0)


def test_a_proof_is_never_lost(store: Store) -> None:
    asked = question()
    store.keep_answer(asked, found(6, parts=3, proof=CERTIFICATE))
    store.keep_answer(asked, found(6, parts=3))
    # Not even for a layout with fewer parts: the certificate is of the one it came with.
    store.keep_answer(asked, found(6, parts=2))
    kept = store.answer(asked.key)
    assert kept == found(6, parts=3, proof=CERTIFICATE)


def test_a_proof_comes_to_an_answer_without(store: Store) -> None:
    asked = question()
    store.keep_answer(asked, found(6, parts=2))
    store.keep_answer(asked, found(6, parts=3, proof=CERTIFICATE))
    assert store.answer(asked.key) == found(6, parts=3, proof=CERTIFICATE)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (found(6), impossible()),
        (found(6), best_so_far(5, None)),
        (found(6), found(7)),
        (found(6), best_so_far(None, 7)),
        (impossible(), best_so_far(9, None)),
        (best_so_far(6, None), best_so_far(None, 7)),
    ],
)
def test_answers_that_contradict_are_refused_loudly(
    store: Store, first: Answer, second: Answer
) -> None:
    """Whichever came first stays, and nobody is left to think that all is well."""
    for before, after in ((first, second), (second, first)):
        asked = question(delay=3 if before is first else 4)
        store.keep_answer(asked, before)
        with pytest.raises(InputError, match="one of the two is wrong"):
            store.keep_answer(asked, after)
        assert store.answer(asked.key) == before


def answers() -> st.SearchStrategy[Answer]:
    """Answers of which no two contradict: the smallest layout has 6 cells."""
    seconds = st.floats(0, 100, allow_nan=False)
    undecided = st.builds(
        lambda volume, bound, spent: best_so_far(volume, bound, seconds=spent),
        st.none() | st.integers(6, 12),
        st.none() | st.integers(1, 6),
        seconds,
    )
    decided = st.builds(
        lambda parts, proof, spent: found(6, parts, proof=proof, seconds=spent),
        st.integers(0, 6),
        st.sampled_from([CERTIFICATE, "answers of glucose4, no proof kept"]),
        seconds,
    )
    return undecided | decided


def says(answer: Answer) -> tuple[object, ...]:
    """How much an answer says; more is more."""
    layout = answer.layout
    return (
        answer.proven,
        (answer.proof or "").startswith("proofs"),
        -1000 if layout is None else -layout.volume,
        answer.bound or 0,
    )


@given(st.lists(answers(), min_size=1, max_size=6))
def test_what_is_kept_never_says_less(given_answers: list[Answer]) -> None:
    kept = given_answers[0]
    for answer in given_answers[1:]:
        after = better_of(kept, answer, VOLUME)
        assert says(after)[0] >= max(says(kept)[0], says(answer)[0])
        if kept.proven or not answer.proven:
            assert all(new >= old for new, old in zip(says(after), says(kept), strict=True))
        kept = after


@given(st.lists(answers(), min_size=2, max_size=4))
def test_the_order_of_answers_makes_no_difference_to_what_is_known(
    given_answers: list[Answer],
) -> None:
    outcomes = set()
    for order in permutations(given_answers):
        kept = order[0]
        for answer in order[1:]:
            kept = better_of(kept, answer, VOLUME)
        outcomes.add(says(kept) if not kept.proven else says(kept)[:3])
    assert len(outcomes) == 1


# Reading back


def test_a_layout_that_does_not_work_is_not_given_back(tmp_path: Path) -> None:
    spec, outcome = solved()
    path = tmp_path / "one.sqlite"
    with Store(path) as store:
        store.keep(Problem(spec, VOLUME), outcome)
        assert store.layout(1).size == outcome.layout.size if outcome.layout else None
    assert outcome.layout is not None
    spoilt = layout_text(outcome.layout.with_cells({(0, 0, 0): None}))
    with sqlite3.connect(path) as connection:
        pins = {pin.name: f"x{i}" for i, pin in enumerate(outcome.layout.inputs, 1)}
        for name, canonical in (pins | {"q": "y1"}).items():
            spoilt = spoilt.replace(f'"name": "{name}"', f'"name": "{canonical}"')
        connection.execute("UPDATE layouts SET layout = ?", (spoilt,))
    connection.close()
    with Store(path) as store:
        for read in (
            lambda: store.layout(1),
            lambda: store.recall(Problem(spec, VOLUME)),
        ):
            with pytest.raises(InputError, match=r"does not pass the simulator.*library verify"):
                read()


def test_an_entry_says_what_there_is(store: Store) -> None:
    spec, outcome = pins_asked()
    store.keep(Problem(spec, VOLUME), outcome, name="or with one not")
    entry = store.entry(1)
    layout = store.layout(1)
    asked, _ = Canonical.of(Problem(spec, VOLUME))
    assert check(layout, store.asked(1).spec).passes
    assert (entry.key, store.asked(1)) == (asked.key, asked)
    assert (entry.inputs, entry.outputs, entry.name) == (3, 1, "or with one not")
    assert entry.table == " ".join(asked.spec.function.outputs.values())
    assert Spec.parse(entry.function).function == asked.spec.function
    assert (entry.length, entry.width, entry.height) == layout.size
    assert (entry.volume, entry.floor, entry.parts) == (
        layout.volume,
        layout.floor,
        layout.part_count,
    )
    assert (entry.status, entry.proven, entry.joints, entry.stack) == ("found", True, "mixed", "")
    assert (entry.delay_asked, entry.minimize, entry.bound) == (2, VOLUME, None)
    assert entry.delay == check(layout, asked.spec).delay
    assert entry.proof == "answers of glucose42, no proof kept"
    assert store.claim(1) == outcome.claim
    assert entry.document()["volume"] == layout.volume


def test_nothing_is_kept_that_cannot_be_shown(store: Store) -> None:
    with pytest.raises(InputError, match="cannot be shown"):
        store.keep_answer(question(), found(6), "\x1b[2J")
    assert store.count() == 0
    store.keep_answer(question(), found(6, claim="said \x07"), "naïve 東京")
    assert (store.entry(1).name, store.claim(1)) == ("naïve 東京", "said \\x07")


def test_no_such_entry(store: Store) -> None:
    for ask in (store.entry, store.layout, store.asked, store.claim):
        with pytest.raises(InputError, match="no entry 7"):
            ask(7)


def test_an_entry_without_a_layout_has_none_to_give(store: Store) -> None:
    store.keep_answer(question(), impossible())
    with pytest.raises(InputError, match="has no layout: impossible"):
        store.layout(1)


# Queries


def filled(store: Store) -> None:
    texts = ("q = ~a", "q = a & b", "q = a ^ b", "s = a ^ b; c = a & b", "q = a & b & c")
    for index, text in enumerate(texts):
        for delay in (1, 2):
            for stack in (None, "y"):
                asked = Canonical.of(Problem(Spec.parse(text, delay=delay, stack=stack), VOLUME))[0]
                answer: Answer = found(4 + index, delay=delay)
                if delay == 1 and index > 2:
                    answer = impossible() if stack else best_so_far(None, 3)
                store.keep_answer(asked, answer, name=f"gate {index}_%")


@pytest.mark.parametrize(
    "query",
    [
        Query(),
        Query(inputs=2),
        Query(outputs=2),
        Query(stack="y"),
        Query(stack=""),
        Query(status="impossible"),
        Query(proven=False),
        Query(volume=5),
        Query(delay=1, inputs=2),
        Query(delay_asked=1, status="undecided"),
        Query(text="^"),
        Query(text="3_%"),
        Query(text="GATE 4"),
        Query(joints="buffer"),
    ],
)
def test_queries_admit_what_they_say(store: Store, query: Query) -> None:
    """Against a plain reading of every entry."""
    filled(store)

    def admitted(entry: object) -> bool:
        for name in Query.__dataclass_fields__:
            asked = getattr(query, name)
            if asked is None:
                continue
            if name == "text":
                words = f"{entry.name}\n{entry.function}".lower()  # type: ignore[attr-defined]
                if asked.lower() not in words:
                    return False
                continue
            value = getattr(entry, name)
            bound = name in ("volume", "delay")
            if value is None or (value > asked if bound else value != asked):
                return False
        return True

    everything = list(store.entries())
    assert len(everything) == 20
    assert list(store.entries(query)) == [entry for entry in everything if admitted(entry)]


def test_entries_like_a_function_whatever_its_names_and_limits(store: Store) -> None:
    filled(store)
    like = list(store.entries_like(Spec.parse("z = r & ~~p")))
    assert len(like) == 4
    assert {entry.function for entry in like} == {"y1 = x1 & x2"}


# Boxes ruled out


def test_boxes_ruled_out_serve_other_limits(store: Store) -> None:
    near, far = question(delay=2), question(delay=3)
    assert near.key != far.key
    no = BoxAnswer(BoxQuestion((2, 1, 2), 2), None)
    few = BoxAnswer(BoxQuestion((2, 1, 3), 2, 4), None)
    store.rule_out(near, [no, few, no])
    store.rule_out(near, [])
    assert store.ruled_out(far) == [no, few]
    assert store.ruled_out(question(text="q = a | b")) == []
    fewer = Canonical(near.problem.under(Limits(parts=3)))
    assert store.ruled_out(fewer) == []


def test_transactions_are_all_or_nothing(store: Store) -> None:
    def stopped_half_way() -> None:
        with store.writing():
            store.keep_answer(question(), found(6))
            store.rule_out(question(), [BoxAnswer(BoxQuestion((1, 1, 1), 2), None)])
            raise RuntimeError

    with pytest.raises(RuntimeError):
        stopped_half_way()
    assert store.count() == 0
    assert store.ruled_out(question()) == []
    assert store.keep_answer(question(), found(6))


def test_a_memory_is_what_a_store_is() -> None:
    from synth.questions.memory import Memory

    def remembered(memory: Memory) -> Outcome | None:
        return memory.recall(Problem(solved()[0], VOLUME))

    with Store(":memory:") as store:
        assert remembered(store) is None
