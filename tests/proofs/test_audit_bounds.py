"""A certificate that asks for more than it has to show is refused before anything is derived."""

from __future__ import annotations

import gzip
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import synth
from synth.errors import InputError
from synth.proofs import audit_bounds, audit_question
from synth.proofs.audit_bounds import TooLong, unpacked
from synth.proofs.certificate_index import INDEX, Index
from synth.proofs.evidence import SUFFIXES
from synth.proofs.index_entries import Proven
from synth.questions.box import BoxQuestion
from tests.proofs.certificates import copy_of, forge


def problems(folder: Path) -> str:
    return "\n".join(map(str, synth.audit(folder, workers=1).problems))


@pytest.fixture
def derived(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """The questions whose formulas are derived."""
    asked = []
    encode = audit_question.encode

    def watched(question: Any) -> Any:
        asked.append(question.size)
        return encode(question)

    monkeypatch.setattr(audit_question, "encode", watched)
    return asked


def with_question(index: Index, size: tuple[int, int, int], delay: int) -> Index:
    first = index.questions[0]
    more = replace(first, question=BoxQuestion(size, delay, None))
    return replace(index, questions=(*index.questions, more))


def test_a_question_that_the_claim_does_not_need_is_not_derived(
    tmp_path: Path, derived: list[Any]
) -> None:
    folder = copy_of("smallest", tmp_path)
    forge(folder, lambda index: with_question(index, (40, 40, 40), 60))
    assert "stands in it twice" in problems(folder)
    forge(folder, lambda index: replace(index, questions=renamed(index)))
    assert "shows nothing that the claim needs" in problems(folder)
    assert (40, 40, 40) not in derived


def renamed(index: Index) -> tuple[Proven, ...]:
    *kept, last = index.questions
    return (*kept, replace(last, evidence=replace(last.evidence, stem="40x40x40-delay60")))


def test_a_formula_that_gatefit_would_not_write_is_not_derived(
    tmp_path: Path, derived: list[Any]
) -> None:
    """Needed by its claim, were that true: there is none under huge limits."""
    folder = copy_of("impossible", tmp_path)
    text = (folder / "spec.toml").read_text(encoding="utf-8")
    for name in ("length", "height"):
        text = text.replace(f"{name} = 2", f"{name} = 64")
    (folder / "spec.toml").write_text(text.replace("delay = 1", "delay = 60"), encoding="utf-8")

    def change(index: Index) -> Index:
        limits = replace(index.limits, length=64, height=64, delay=60)
        last = index.questions[-1]
        evidence = replace(last.evidence, stem="64x2x64-delay60")
        huge = Proven(BoxQuestion((64, 2, 64), 60, None), evidence)
        return replace(index, limits=limits, questions=(*index.questions, huge))

    forge(folder, change)
    assert "gatefit writes 40,000,000 at most" in problems(folder)
    assert (64, 2, 64) not in derived


@pytest.mark.parametrize(
    ("key", "value"),
    [("size", [10**78, 1, 1]), ("size", [65, 1, 1]), ("delay", 10**7), ("parts", 10**78)],
)
def test_an_index_beyond_all_specifications_is_refused(
    key: str, value: object, tmp_path: Path
) -> None:
    folder = copy_of("smallest", tmp_path)
    document = json.loads((folder / INDEX).read_text(encoding="utf-8"))
    document["questions"][0][key] = value
    (folder / INDEX).write_text(json.dumps(document), encoding="utf-8")
    with pytest.raises(InputError, match="is too large"):
        synth.audit(folder)


def test_a_clause_count_that_the_file_cannot_hold_is_not_believed(
    tmp_path: Path, derived: list[Any]
) -> None:
    folder = copy_of("smallest", tmp_path)

    def change(index: Index) -> Index:
        *kept, last = index.questions
        more = replace(last, evidence=replace(last.evidence, clauses=30_000_000))
        less = replace(kept[0], evidence=replace(kept[0].evidence, clauses=1))
        return replace(index, questions=(less, *kept[1:], more))

    forge(folder, change)
    found = problems(folder)
    assert "cannot have 30,000,000 clauses" in found
    assert "cannot have 1 clauses" in found


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_a_file_that_unpacks_to_more_than_it_should_is_not_unpacked(
    suffix: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(audit_bounds, "SMALL", 1 << 16)
    folder = copy_of("smallest", tmp_path)
    path = min(folder.glob("*" + suffix))
    path.write_bytes(gzip.compress(b"1 0\n" * 1_000_000))
    forge(folder)
    assert f"{path.name}: it unpacks to more than the" in problems(folder)


def test_files_are_unpacked_up_to_their_bound(tmp_path: Path) -> None:
    path = tmp_path / "file.gz"
    path.write_bytes(gzip.compress(b"x" * 1000))
    assert unpacked(path, 1000) == b"x" * 1000
    with pytest.raises(TooLong, match="999 bytes"):
        unpacked(path, 999)


def test_a_file_that_cannot_be_read_is_reported(tmp_path: Path) -> None:
    folder = copy_of("smallest", tmp_path)
    path = min(folder.glob("*.map.gz"))
    path.unlink()
    path.symlink_to("/dev/null")
    assert f"{path.name}: it is no file" in problems(folder)


def test_a_deeply_nested_verdict_is_none(tmp_path: Path) -> None:
    folder = copy_of("smallest", tmp_path)
    (folder / "verdict.json").write_text("[" * 100_000, encoding="utf-8")
    forge(folder)
    assert "it is not the verdict of the simulator" in problems(folder)


def test_what_is_said_of_how_it_was_made_is_words_and_numbers(tmp_path: Path) -> None:
    folder = copy_of("smallest", tmp_path)
    for value in ([[[]]], {"a": 1}, True, "\x1b[2J"):
        document = json.loads((folder / INDEX).read_text(encoding="utf-8"))
        document["made"]["encoder"] = value
        (folder / INDEX).write_text(json.dumps(document), encoding="utf-8")
        with pytest.raises(InputError, match=r"made\.encoder"):
            synth.audit(folder)
        document["made"]["encoder"] = "x"
        (folder / INDEX).write_text(json.dumps(document), encoding="utf-8")


def test_a_specification_without_the_limits_of_the_index_is_reported(tmp_path: Path) -> None:
    folder = copy_of("smallest", tmp_path)
    text = (folder / "spec.toml").read_text(encoding="utf-8")
    (folder / "spec.toml").write_text(text.replace("length = 3\n", ""), encoding="utf-8")
    forge(folder)
    assert "its limits are not those of spec.toml" in problems(folder)
