"""Certificates with cubes: they pass, and whoever leaves a piece out is caught."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

import synth
from synth.medium import Direction
from synth.proofs.certificate_index import INDEX, Index
from synth.proofs.evidence import SUFFIXES
from synth.proofs.index_entries import Proven
from synth.questions.events import BoxEnded, Event
from tests.proofs.certificates import forged
from tests.waiting import Clock, TooHard

SPEC = synth.Spec.parse("q = a ^ b", length=2, width=2, height=2, delay=1, stack="y")
SPLIT = "2x2x2-delay1"
ASKED = ("least-delay",)
"""Left out, or no solver would be asked: the truth table alone says that one tick is too few."""


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("cubes") / "c"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("synth.search.walk.questioner.LEAST_SPLIT", 0)
        synth.solve(SPEC, certificate=folder, workers=2, without=ASKED)
    return folder


@pytest.fixture
def folder(original: Path, tmp_path: Path) -> Path:
    shutil.copytree(original, tmp_path / "c")
    return tmp_path / "c"


def blamed(folder: Path) -> set[str]:
    return {problem.file for problem in synth.audit(folder, symmetry=False).problems}


def test_certificate_with_cubes_passes_and_says_so(folder: Path) -> None:
    report = synth.audit(folder)
    assert report.passes, report.problems
    assert all(question.symmetry is None for question in report.questions)
    assert any("Answered in cubes: 1 box" in line for line in report.rests_on)
    assert any("checked on the clauses" in line for line in report.rests_on)
    index = json.loads((folder / INDEX).read_text("utf-8"))
    assert index["version"] == 4
    (split,) = index["splits"]
    assert split["name"] == SPLIT
    assert len(split["cubes"]) == 2
    assert {"shown_by": SPLIT}.items() <= index["boxes"][-1].items()
    assert not (folder / f"{SPLIT}.cnf.gz").exists()
    assert [q["cube"] for q in report.document()["questions"] if "cube" in q]


def test_flipped_bit_of_a_cube_is_found(folder: Path) -> None:
    for suffix in SUFFIXES:
        path = min(folder.glob(f"{SPLIT}-q-at-*{suffix}"))
        data = bytearray(path.read_bytes())
        data[len(data) // 2] ^= 1
        path.write_bytes(data)
        assert path.name in blamed(folder)


def drop(folder: Path, stem: str) -> Callable[[Index], Index]:
    for suffix in SUFFIXES:
        (folder / (stem + suffix)).unlink()

    def change(index: Index) -> Index:
        (split,) = index.splits
        kept = tuple(other for other in split.cubes if other != stem)
        return replace(
            index,
            questions=tuple(q for q in index.questions if q.stem != stem),
            splits=(replace(split, cubes=kept),),
            files=tuple(entry for entry in index.files if not entry.name.startswith(stem)),
        )

    return change


@pytest.mark.parametrize("number", [0, 1])
def test_cube_left_out_is_found(folder: Path, number: int) -> None:
    (split,) = json.loads((folder / INDEX).read_text("utf-8"))["splits"]
    problems = forged(folder, drop(folder, split["cubes"][number]))
    assert len(problems) == 1
    assert problems[0].startswith(f"{INDEX}: no cube of {SPLIT} is left for layouts with q at")


def test_cube_twice_in_place_of_another_is_found(folder: Path) -> None:
    (split,) = json.loads((folder / INDEX).read_text("utf-8"))["splits"]
    one, other = split["cubes"]
    dropped = drop(folder, other)

    def change(index: Index) -> Index:
        index = dropped(index)
        return replace(index, splits=(replace(index.splits[0], cubes=(one, one)),))

    assert any("no cube of" in problem for problem in forged(folder, change))


def with_cube(index: Index, change: Callable[[Proven], Proven]) -> Index:
    """The index with the first cube changed, its place in the split kept."""
    (split,) = index.splits
    questions = tuple(
        change(proven) if proven.stem == split.cubes[0] else proven for proven in index.questions
    )
    return replace(index, questions=questions)


@pytest.mark.parametrize(
    ("place", "said"),
    [
        ({"cell": (1, 0, 0), "face": Direction.PX}, "is not what the specification gives"),
        ({"cell": (9, 9, 9)}, "no cube of"),
        ({"pin": "a"}, "hold 2 pins"),
        ({"pin": "nobody"}, "which is no pin"),
    ],
)
def test_cube_that_is_said_to_sit_elsewhere_is_found(
    folder: Path, place: dict[str, object], said: str
) -> None:
    def move(proven: Proven) -> Proven:
        assert proven.cube is not None
        return replace(proven, cube=proven.cube._replace(**place))

    problems = forged(folder, lambda index: with_cube(index, move))
    assert any(said in problem for problem in problems), problems


def test_cube_in_place_of_its_box_is_found(folder: Path) -> None:
    """A cube is no answer for all of its box, whether it is called a cube or not."""

    def shown_by_cube(index: Index) -> Index:
        stem = index.splits[0].cubes[0]
        boxes = tuple((need, stem if by == SPLIT else by) for need, by in index.boxes)
        return replace(index, boxes=boxes)

    assert any("no question" in problem for problem in forged(folder, shown_by_cube))

    def not_a_cube(index: Index) -> Index:
        return with_cube(index, lambda proven: replace(proven, cube=None))

    assert any(".cnf.gz" in problem for problem in forged(folder, not_a_cube))


def test_split_under_another_name_is_found(folder: Path) -> None:
    def rename(index: Index) -> Index:
        boxes = tuple((need, "x" if by == SPLIT else by) for need, by in index.boxes)
        return replace(index, boxes=boxes, splits=(replace(index.splits[0], stem="x"),))

    assert any("x is not the name of" in problem for problem in forged(folder, rename))


def test_split_of_another_question_is_found(folder: Path) -> None:
    def move(index: Index) -> Index:
        (split,) = index.splits
        return replace(index, splits=(replace(split, question=split.question._replace(delay=2)),))

    assert any("is not the name of" in problem for problem in forged(folder, move))


class RunsOutInCubes(TooHard):
    """The time is over when the first cube of the box has had its answer."""

    def event(self, event: Event) -> None:
        """Take note of one event."""
        super().event(event)
        if isinstance(event, BoxEnded) and event.cube and event.answer == "impossible":
            self.clock.run_out()


def test_undecided_search_keeps_the_cubes_it_closed(tmp_path: Path, clock: Clock) -> None:
    reporter = RunsOutInCubes(clock, (2, 2, 2), share_s=100.0)
    limits = {"time_limit_s": 1000.0, "workers": 1, "reporter": reporter, "without": ASKED}
    outcome = synth.solve(SPEC, certificate=tmp_path / "c", **limits)
    assert outcome.status is synth.Status.UNDECIDED
    report = synth.audit(tmp_path / "c", symmetry=False)
    assert report.passes, report.problems
    assert "others are open" in report.claimed
    assert len([q for q in report.document()["questions"] if "cube" in q]) == 1
