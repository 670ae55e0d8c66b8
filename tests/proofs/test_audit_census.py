"""The audit of a census: passes what is right, and names the place of what was tampered with."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import pytest

import synth
from synth.census.journal import CensusJournal
from synth.census.taking import run_census
from synth.errors import InputError
from synth.layout import Layout
from synth.layout.documents import layout_text
from synth.proofs.audit_report import AuditReport
from synth.proofs.census_certificate import CensusFolder
from synth.proofs.census_index import CensusIndex, read_census_index
from synth.proofs.certificate import how_made
from synth.proofs.certificate_index import INDEX
from synth.proofs.evidence import PROOF
from synth.proofs.index_entries import FileEntry
from synth.questions.box import BoxQuestion
from synth.questions.census import CensusQuestion, free_spec, shown
from synth.search.workers.settings import Settings
from synth.spec.classes import Columns
from synth.spec.demands import with_limits
from tests.census.in_process import HelpersHere, here
from tests.proofs.certificates import pack

__all__ = ["here"]
pytestmark = pytest.mark.usefixtures("here")

LIMITS: dict[str, Any] = {"length": 1, "width": 2, "height": 4, "delay": 1}
STACKED: dict[str, Any] = LIMITS | {"stack": "y", "joint": "buffer"}
ASKED: dict[str, tuple[dict[str, Any], tuple[Columns, ...]]] = {
    "every": (STACKED, ()),
    "sought": (STACKED, (("1110",), ("1-0-",), ("0110",))),
    "in cubes": (STACKED, ()),
}


def question(name: str) -> CensusQuestion:
    limits, sought = ASKED[name]
    return CensusQuestion.of(with_limits(free_spec(2), **limits), sought=sought)[0]


def make(
    asked: CensusQuestion,
    path: Path,
    seed: int = 0,
    journal: CensusJournal | None = None,
    workers: int = 2,
) -> None:
    """A census with a certificate."""
    settings = Settings(seed=seed, workers=workers)
    with CensusFolder(path) as folder:
        journal = journal or CensusJournal(asked)
        proofs = folder.proofs(asked)
        run_census(asked, settings, journal=journal, proofs=proofs)
        folder.finish(journal.ledger, proofs, how_made(settings.solver, seed))


@cache
def _original(name: str) -> Path:
    folder = Path(mkdtemp()) / name
    make(question(name), folder, workers=9 if name == "in cubes" else 2)
    return folder


def copy_of(name: str, tmp_path: Path) -> Path:
    """A certificate of one's own."""
    return Path(shutil.copytree(_original(name), tmp_path / name))


def forge(folder: Path, change: Callable[[CensusIndex], CensusIndex] = lambda index: index) -> None:
    """Change the index, and make sizes, hashes, words and seal right again: a careful forger."""
    index = change(read_census_index(folder)[0])
    names = sorted(path.name for path in folder.iterdir() if path.name != INDEX)
    files = tuple(FileEntry.of(folder / name) for name in names)
    text = question("every").claim(len(index.classes), complete=index.complete)
    index = replace(index, files=files, text=index.text if index.sought else text)
    (folder / INDEX).write_text(index.render(), encoding="utf-8")


def audited(folder: Path) -> AuditReport:
    report = synth.audit(folder, symmetry=False, workers=1)
    assert report.passes == (not report.problems)
    return report


def blamed(folder: Path) -> dict[str, str]:
    return {problem.file: problem.text for problem in audited(folder).problems}


@pytest.mark.parametrize("name", ["every", "sought"])
def test_certificate_passes_and_the_report_says_what_is_certain(name: str, tmp_path: Path) -> None:
    folder = copy_of(name, tmp_path)
    report = synth.audit(folder, workers=1)
    assert report.problems == ()
    assert all(question.proven and question.symmetry is None for question in report.questions)
    assert "has its layout: the simulator passes it" in report.certain[0]
    assert "in a box before its place" in report.certain[1]
    assert "of those counted have no layout at all" in report.certain[2]
    assert any("asked alike" in line for line in report.rests_on)
    assert report.claimed == json.loads((folder / INDEX).read_text("utf-8"))["claim"]["text"]


def test_certificate_of_another_seed_passes(tmp_path: Path) -> None:
    make(question("every"), tmp_path / "proof", seed=5)
    assert audited(tmp_path / "proof").passes


@pytest.mark.parametrize("kind", ["class-001.json", "spec.toml", ".cnf.gz", ".map.gz", ".drat.gz"])
@pytest.mark.parametrize("place", [0.0, 0.5, 1.0])
def test_flipped_bit_fails_and_names_the_file(kind: str, place: float, tmp_path: Path) -> None:
    folder = copy_of("every", tmp_path)
    path = max(folder.glob(f"*{kind}"), key=lambda path: path.stat().st_size)
    data = bytearray(path.read_bytes())
    data[int(place * (len(data) - 1))] ^= 1
    path.write_bytes(data)
    assert path.name in blamed(folder)


def test_proof_of_less_fails_and_names_the_file(tmp_path: Path) -> None:
    folder = copy_of("every", tmp_path)
    path = max(folder.glob(f"*{PROOF}"), key=lambda path: path.stat().st_size)
    pack(path, "0\n")
    forge(folder)
    assert "does not hold" in blamed(folder)[path.name]


def test_class_left_out_fails_and_is_named(tmp_path: Path) -> None:
    """Whoever takes a class out must not leave it forbidden in any box."""
    folder = copy_of("every", tmp_path)
    index, _ = read_census_index(folder)
    last = index.classes[-1]
    (folder / last.file).unlink()
    forge(folder, lambda index: replace(index, classes=index.classes[:-1]))
    text = blamed(folder)[INDEX]
    assert f"forbids {shown(last.columns)}" in text
    assert "no layout in that box or before it" in text


def test_class_no_longer_forbidden_gives_another_formula(tmp_path: Path) -> None:
    folder = copy_of("every", tmp_path)
    box = read_census_index(folder)[0].boxes[-1]
    assert box.forbidden
    forge(
        folder,
        lambda index: replace(
            index, boxes=(*index.boxes[:-1], replace(box, forbidden=box.forbidden[:-1]))
        ),
    )
    assert box.proven.stem + ".cnf.gz" in blamed(folder)


def test_class_forbidden_before_its_place_is_named(tmp_path: Path) -> None:
    folder = copy_of("every", tmp_path)
    asked = question("every")

    def later(index: CensusIndex) -> CensusIndex:
        first = replace(index.classes[0], place=asked.candidates[-1])
        return replace(index, classes=(first, *index.classes[1:]))

    forge(folder, later)
    problems = blamed(folder)
    assert problems["class-001.json"] == "it has another size than its place"


def test_layout_altered_is_named(tmp_path: Path) -> None:
    folder = copy_of("every", tmp_path)
    path = folder / "class-002.json"
    layout = Layout.load(path)
    changed = layout.with_cells({next(iter(layout.cells)): None})
    path.write_text(layout_text(changed), encoding="utf-8")
    forge(folder)
    assert "the simulator rejects it" in blamed(folder)[path.name]


def test_layout_of_another_class_is_named(tmp_path: Path) -> None:
    folder = copy_of("every", tmp_path)
    shutil.copyfile(folder / "class-001.json", folder / "class-002.json")
    forge(folder)
    assert "class-002.json" in blamed(folder)


def test_box_left_out_is_named(tmp_path: Path) -> None:
    folder = copy_of("every", tmp_path)
    box = read_census_index(folder)[0].boxes[2]
    for path in folder.glob(f"{box.proven.stem}.*"):
        path.unlink()
    forge(folder, lambda index: replace(index, boxes=(*index.boxes[:2], *index.boxes[3:])))
    text = blamed(folder)[INDEX]
    assert text == f"no proof shows that {box.proven.question} holds nothing else"


def test_boxes_in_cubes_pass_and_a_cube_left_out_is_named(tmp_path: Path) -> None:
    whole, cubes = tmp_path / "whole", copy_of("in cubes", tmp_path)
    make(question("every"), whole, workers=1)
    assert not read_census_index(whole)[0].splits
    index, _ = read_census_index(cubes)
    assert index.splits
    assert index.classes == read_census_index(whole)[0].classes
    report = synth.audit(cubes, workers=1)
    assert report.problems == ()
    assert any(line.startswith("Answered in cubes") for line in report.rests_on)
    assert any("checked on the clauses: each" in line for line in report.rests_on)
    left_out = index.splits[-1].cubes[0]
    for path in cubes.glob(f"{left_out}.*"):
        path.unlink()
    boxes = tuple(box for box in index.boxes if box.stem != left_out)
    forge(cubes, lambda index: replace(index, boxes=boxes))
    assert f"no cube of {index.splits[-1].stem} is left" in blamed(cubes)[INDEX]


def test_cube_that_holds_an_input_is_named(tmp_path: Path) -> None:
    folder = copy_of("in cubes", tmp_path)
    box = next(box for box in read_census_index(folder)[0].boxes if box.proven.cube is not None)
    assert box.proven.cube is not None
    held = replace(box, proven=replace(box.proven, cube=box.proven.cube._replace(pin="a")))
    forge(
        folder,
        lambda index: replace(
            index, boxes=tuple(held if one == box else one for one in index.boxes)
        ),
    )
    said = [problem.text for problem in audited(folder).problems]
    assert f"{box.stem} is of a cube that does not hold the one output" in said


def test_certificate_of_the_version_without_cubes_passes(tmp_path: Path) -> None:
    folder = tmp_path / "proof"
    make(question("every"), folder, workers=1)
    forge(folder, lambda index: replace(index, version=1))
    assert json.loads((folder / INDEX).read_text("utf-8"))["version"] == 1
    assert audited(folder).problems == ()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda index: replace(index, every_input_matters=False), ".cnf.gz"),
        (lambda index: replace(index, classes=(*index.classes, index.classes[0])), INDEX),
        (lambda index: replace(index, limits=replace(index.limits, height=5)), INDEX),
        (lambda index: replace(index, box=(1, 2, 4)), INDEX),
        (lambda index: replace(index, boxes=(*index.boxes, index.boxes[0])), INDEX),
    ],
    ids=["idle inputs", "class twice", "limits", "one box", "box twice"],
)
def test_index_forged_with_care(
    change: Callable[[CensusIndex], CensusIndex], said: str, tmp_path: Path
) -> None:
    folder = copy_of("every", tmp_path)
    forge(folder, change)
    assert any(name.endswith(said) for name in blamed(folder))


def test_more_sought_than_was_is_named(tmp_path: Path) -> None:
    folder = copy_of("sought", tmp_path)
    forge(folder, lambda index: replace(index, sought=(*index.sought, ("1011",))))
    assert any(name.endswith(".cnf.gz") for name in blamed(folder))


def test_claim_in_other_words_is_named(tmp_path: Path) -> None:
    folder = copy_of("sought", tmp_path)
    forge(folder, lambda index: replace(index, text=index.text.replace("2 of 3", "3 of 3")))
    assert blamed(folder) == {INDEX: "the claim in words is not the claim in data"}


def test_index_that_cannot_be_understood(tmp_path: Path) -> None:
    folder = copy_of("every", tmp_path)
    document = json.loads((folder / INDEX).read_text("utf-8"))
    for change in ({"version": 3}, {"classes": 3}, {"boxes": [{}]}, {"more": 1}):
        (folder / INDEX).write_text(json.dumps(document | change), encoding="utf-8")
        with pytest.raises(InputError) as raised:
            synth.audit(folder)
        assert Path(raised.value.file or "").name == INDEX


def test_census_that_is_open_claims_what_is_proven_and_goes_on(
    here: type[HelpersHere], tmp_path: Path
) -> None:
    asked = question("every")
    folder = tmp_path / "proof"
    journal = CensusJournal(asked, tmp_path / "journal.jsonl")

    def stop(step: int) -> None:
        if step == 9:
            raise KeyboardInterrupt

    here.watch = stop
    with pytest.raises(KeyboardInterrupt):
        make(asked, folder, journal=journal)
    here.watch = None
    assert not (folder / INDEX).exists()
    with CensusFolder(folder) as opened:
        kept = opened.proofs(asked)
        assert kept.known
        opened.finish(journal.ledger, kept, how_made("glucose42", 0))
    report = audited(folder)
    assert report.problems == ()
    assert "fits in: 1 x 1 x 1" in report.certain[1]
    asked_again: list[BoxQuestion] = []
    run = HelpersHere.begin

    def begin(self: HelpersHere, number: int, task: Any) -> None:
        question = task.question
        asked_again.append(BoxQuestion(question.size, question.delay, question.parts))
        run(self, number, task)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(HelpersHere, "begin", begin)
        make(asked, folder, journal=CensusJournal(asked, tmp_path / "journal.jsonl"))
    assert audited(folder).passes
    assert asked_again
    assert not set(asked_again) & {box for box, _ in kept.known}
