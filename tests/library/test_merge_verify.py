"""Two stores into one, and a store gone through from end to end."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from synth.library import Canonical, Store
from synth.library.merge import Merge, merge
from synth.library.proofs import Reference, index_hash
from synth.library.verify import Verification, verify
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.search import solve
from synth.spec import Spec
from tests.library.answers import VOLUME, best_so_far, impossible, pins_asked, question, solved

Kept = tuple[Spec, Outcome]


def store_of(path: Path, *kept: Kept) -> Path:
    with Store(path) as store:
        for spec, outcome in kept:
            store.keep(Problem(spec, VOLUME), outcome, name="a gate")
    return path


def merged(path: Path, other: Path) -> Merge:
    with Store.copy_of(other) as theirs, Store(path) as ours:
        return merge(ours, theirs)


def verified(path: Path, *, proofs: bool = True) -> Verification:
    with Store(path) as store:
        return verify(store, proofs=proofs)


def content(path: Path) -> list[tuple[object, ...]]:
    """All that is known, whatever the order in which it came."""
    with Store(path) as store:
        return sorted((entry.key, store.answer(entry.key)) for entry in store.entries())


def change(path: Path, statement: str, *values: object) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(statement, values)
        connection.commit()


@pytest.fixture
def two(tmp_path: Path) -> tuple[Path, Path]:
    no = solved("q = a ^ b", length=1, width=1, height=2)
    ours = store_of(tmp_path / "ours.sqlite", solved(), no)
    theirs = store_of(tmp_path / "theirs.sqlite", solved(), pins_asked())
    return ours, theirs


def test_what_is_new_is_taken(two: tuple[Path, Path]) -> None:
    ours, theirs = two
    data = theirs.read_bytes()
    done = merged(ours, theirs)
    assert (done.taken, done.improved, done.kept, done.refused) == (1, 0, 1, [])
    assert done.on_its_word == 1
    spec, outcome = pins_asked()
    with Store(ours) as store:
        assert store.count() == 3
        again = store.recall(Problem(spec, VOLUME))
        assert again is not None
        assert again.layout == outcome.layout
        assert store.entry(3).name == "a gate"
    assert theirs.read_bytes() == data
    assert verified(ours).passes


def test_merging_again_changes_nothing(two: tuple[Path, Path]) -> None:
    ours, theirs = two
    with Store(theirs) as store:
        store.keep_answer(question(delay=4, text="q = a | b"), best_so_far(None, 3, seconds=9.0))
    merged(ours, theirs)
    before = content(ours)
    done = merged(ours, theirs)
    assert (done.taken, done.improved, done.kept) == (0, 0, 3)
    assert content(ours) == before


def test_both_ways_know_the_same(two: tuple[Path, Path], tmp_path: Path) -> None:
    ours, theirs = two
    asked = question(text="q = a | b")
    for path, bound, seconds in ((ours, 2, 5.0), (theirs, 3, 1.0)):
        with Store(path) as store:
            store.keep_answer(asked, best_so_far(None, bound, seconds=seconds))
    copy = tmp_path / "copy.sqlite"
    copy.write_bytes(ours.read_bytes())
    done = merged(ours, theirs)
    assert (done.taken, done.improved) == (1, 1)
    merged(theirs, copy)
    assert content(ours) == content(theirs)
    with Store(ours) as store:
        kept = store.answer(asked.key)
        assert kept is not None
        assert (kept.bound, kept.seconds) == (3, 5.0)


def test_boxes_ruled_out_come_along(two: tuple[Path, Path]) -> None:
    ours, theirs = two
    boxes = [BoxAnswer(BoxQuestion((1, 1, height), 2), None) for height in (1, 2)]
    with Store(theirs) as store:
        store.rule_out(question(), boxes)
    with Store(ours) as store:
        store.rule_out(question(), boxes[:1])
        before = set(store.rows_ruled_out())
    done = merged(ours, theirs)
    with Store(ours) as store:
        assert set(boxes) <= set(store.ruled_out(question()))
        assert done.boxes == len(set(store.rows_ruled_out()) - before) > 0


def spoil_layout(path: Path) -> str:
    """Take a part away from the layout of the first entry."""
    with closing(sqlite3.connect(path)) as connection:
        ((text,),) = connection.execute("SELECT layout FROM layouts WHERE number = 1").fetchall()
    document = json.loads(text)
    document["parts"] = document["parts"][:-1]
    change(path, "UPDATE layouts SET layout = ? WHERE number = 1", json.dumps(document))
    return "does not pass the simulator"


def spoil_delay(path: Path) -> str:
    change(path, "UPDATE results SET delay = delay - 1 WHERE number = 1")
    return "its delay is stored as"


def spoil_question(path: Path) -> str:
    change(path, "UPDATE results SET asked = replace(asked, '\"reach\":15', '\"reach\":14')")
    return "another"


def spoil_text(path: Path) -> str:
    change(path, "UPDATE layouts SET layout = 'no JSON' WHERE number = 1")
    return "cannot be read"


def spoil_status(path: Path) -> str:
    change(path, "UPDATE results SET status = 'impossible' WHERE number = 1")
    return "it says impossible and has a layout"


def drop_layout(path: Path) -> str:
    change(path, "DELETE FROM layouts WHERE number = 1")
    return "it says found and has no layout"


SPOIL = [spoil_layout, spoil_delay, spoil_question, spoil_text, spoil_status, drop_layout]


@pytest.mark.parametrize("spoil", SPOIL)
def test_nothing_spoilt_is_taken_and_all_of_it_is_seen(
    tmp_path: Path, spoil: Callable[[Path], str]
) -> None:
    theirs = store_of(tmp_path / "theirs.sqlite", solved())
    assert verified(theirs).passes
    said = spoil(theirs)
    done = merged(tmp_path / "ours.sqlite", theirs)
    assert (done.taken, done.improved, done.kept) == (0, 0, 0)
    (refused,) = done.refused
    assert refused.number == 1
    assert said in refused.text
    found = verified(theirs)
    assert not found.passes
    assert any(said in finding.text for finding in found.wrong)


@pytest.mark.parametrize("column", ["volume", "floor", "length", "parts", "inputs"])
def test_a_list_that_is_wrong_is_seen(tmp_path: Path, column: str) -> None:
    path = store_of(tmp_path / "one.sqlite", solved())
    change(path, f"UPDATE results SET {column} = {column} + 1")
    (finding,) = verified(path).wrong
    assert column in finding.text


def test_answers_of_another_encoding_are_no_fault_and_not_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    theirs = store_of(tmp_path / "theirs.sqlite", solved())
    for module in ("canonical", "verify"):
        monkeypatch.setattr(f"synth.library.{module}.ENCODING_VERSION", 2)
    done = verified(theirs)
    assert (done.passes, done.outdated, done.layouts, done.unproven) == (True, 1, 1, 0)
    with Store(theirs) as store:
        assert store.recall(Problem(solved()[0], VOLUME)) is None
    (refused,) = merged(tmp_path / "ours.sqlite", theirs).refused
    assert "another version of the encoding" in refused.text


def test_a_contradiction_is_refused_and_the_rest_is_taken(two: tuple[Path, Path]) -> None:
    ours, theirs = two
    spec, outcome = solved()
    with Store(theirs) as store:
        asked, _ = Canonical.of(Problem(spec, VOLUME))
        store.connection.execute("DELETE FROM results WHERE key = ?", (asked.key,))
        store.keep_answer(asked, impossible())
    done = merged(ours, theirs)
    assert done.taken == 1
    (refused,) = done.refused
    assert "one answer says impossible and another" in refused.text or (
        "one answer says found and another impossible" in refused.text
    )
    with Store(ours) as store:
        assert store.recall(Problem(spec, VOLUME)) is not None
    assert outcome.status is Status.FOUND


# Certificates


@pytest.fixture(scope="module")
def certified(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a store and, in ``proofs/``, the certificate of its only entry."""
    folder = tmp_path_factory.mktemp("certified")
    spec = Spec.parse("q = ~a", length=1, width=1, height=2, delay=1)
    (folder / "proofs").mkdir()
    outcome = solve(spec, workers=1, certificate=folder / "proofs" / "not")
    path = folder / "one.sqlite"
    with Store(path) as store:
        proof = str(Reference.to(folder / "proofs" / "not", path))
        store.keep(Problem(spec, VOLUME), outcome, proof=proof)
        entry = store.entry(1)
    assert entry.proof == f"proofs/not sha256:{index_hash(folder / 'proofs' / 'not')}"
    return path


def test_a_certificate_is_audited(certified: Path) -> None:
    done = verified(certified)
    assert (done.passes, done.audited, done.unproven, done.absent) == (True, 1, 0, [])
    assert verified(certified, proofs=False).audited == 0


def test_a_certificate_comes_along_by_its_new_path(certified: Path, tmp_path: Path) -> None:
    ours = tmp_path / "deep" / "ours.sqlite"
    ours.parent.mkdir()
    done = merged(ours, certified)
    assert (done.taken, done.on_its_word) == (1, 0)
    assert verified(ours).audited == 1


def test_a_certificate_that_is_not_there_is_said_and_no_fault(
    certified: Path, tmp_path: Path
) -> None:
    alone = tmp_path / "alone.sqlite"
    alone.write_bytes(certified.read_bytes())
    done = verified(alone)
    assert done.passes
    assert [finding.number for finding in done.absent] == [1]


def copied(certified: Path, folder: Path) -> Path:
    """The store and its certificate, to be spoilt."""
    proofs = certified.parent / "proofs" / "not"
    (folder / "proofs" / "not").mkdir(parents=True)
    for file in proofs.iterdir():
        (folder / "proofs" / "not" / file.name).write_bytes(file.read_bytes())
    store = folder / "one.sqlite"
    store.write_bytes(certified.read_bytes())
    return store


def test_a_spoilt_certificate_is_seen(certified: Path, tmp_path: Path) -> None:
    store = copied(certified, tmp_path)
    assert verified(store).passes
    file = next((tmp_path / "proofs" / "not").glob("*.drat.gz"))
    file.write_bytes(file.read_bytes()[:-1] + b"x")
    (finding,) = verified(store).wrong
    assert file.name in finding.text


def test_another_certificate_in_its_place_is_seen(certified: Path, tmp_path: Path) -> None:
    """Though it is a good one: by its hash, and if that is forged by what it is of."""
    store = copied(certified, tmp_path)
    other = tmp_path / "proofs" / "other"
    solve(Spec.parse("q = ~a", length=1, width=1, height=3, delay=1), workers=1, certificate=other)
    proof = Reference.to(other, store)
    forged = replace(proof, folder="proofs/not")
    for file in (tmp_path / "proofs" / "not").iterdir():
        file.unlink()
    for file in other.iterdir():
        (tmp_path / "proofs" / "not" / file.name).write_bytes(file.read_bytes())
    (finding,) = verified(store).wrong
    assert "another hash" in finding.text
    change(store, "UPDATE results SET proof = ?", str(forged))
    (finding,) = verified(store).wrong
    assert "about another question" in finding.text
