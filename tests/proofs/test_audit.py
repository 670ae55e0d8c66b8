"""The audit: passes what is right, and names the file of whatever was tampered with.

A clumsy forger changes files; a careful one (``forge``) makes sizes, hashes and seal right again,
so that only what the files say can give the forgery away.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import synth
from synth.errors import InputError
from synth.layout import Layout
from synth.proofs.audit_report import AuditReport
from synth.proofs.certificate_index import INDEX, Index
from tests.proofs.certificates import ASKED, copy_of, forge, pack, unpack

KINDS = ("spec.toml", "layout.json", "verdict.json", ".cnf.gz", ".map.gz", ".drat.gz")


def audit(folder: Path) -> AuditReport:
    return synth.audit(folder, symmetry=False)


def blamed(folder: Path) -> set[str]:
    """The files that an audit finds fault with; none means that it passes."""
    report = audit(folder)
    assert report.passes == (not report.problems)
    if report.problems:
        assert report.certain == report.rests_on == ()
    return {problem.file for problem in report.problems}


def hardest(folder: Path, suffix: str) -> Path:
    """The largest file of a kind."""
    return max(folder.glob(f"*{suffix}"), key=lambda path: path.stat().st_size)


@pytest.mark.parametrize("name", ASKED)
def test_certificate_passes_and_the_report_says_what_is_certain(name: str, tmp_path: Path) -> None:
    folder = copy_of(name, tmp_path)
    lines: list[str] = []
    report = synth.audit(folder, progress=lines.append)
    assert report.passes
    assert report.problems == ()
    assert all(question.proven for question in report.questions)
    assert all(question.symmetry is None for question in report.questions)
    assert len(lines) >= len(report.questions)
    claim = json.loads((folder / INDEX).read_text("utf-8"))["claim"]
    assert report.claimed == claim["text"]
    assert ("the simulator passes it" in report.certain[0]) == (name != "impossible")
    assert any("holds a layout" in line for line in report.certain)
    assert any("formulas say what the medium says" in line for line in report.rests_on)
    assert ("no copy leans" in " ".join(report.rests_on)) == (name != "parts")
    document = report.document()
    assert document["format"] == "gatefit-audit"
    assert json.loads(json.dumps(document)) == document


# A flipped bit


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("place", [0.0, 0.5, 1.0])
def test_flipped_bit_fails_and_names_the_file(kind: str, place: float, tmp_path: Path) -> None:
    folder = copy_of("parts", tmp_path)
    path = hardest(folder, kind)
    data = bytearray(path.read_bytes())
    data[int(place * (len(data) - 1))] ^= 1
    path.write_bytes(data)
    assert path.name in blamed(folder)


@settings(max_examples=40)
@given(place=st.floats(0, 1), bit=st.integers(0, 7))
def test_flipped_bit_of_the_index_fails_or_makes_it_unreadable(
    place: float, bit: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = copy_of("parts", tmp_path_factory.mktemp("bit")) / INDEX
    data = bytearray(path.read_bytes())
    data[int(place * (len(data) - 1))] ^= 1 << bit
    path.write_bytes(data)
    try:
        names = blamed(path.parent)
    except InputError as error:
        names = {Path(error.file or "").name}
    assert INDEX in names


def test_missing_and_surplus_files_are_named(tmp_path: Path) -> None:
    folder = copy_of("parts", tmp_path)
    gone = hardest(folder, ".drat.gz")
    gone.unlink()
    (folder / "layout.json").unlink()
    (folder / "letter").write_text("dear", encoding="utf-8")
    (folder / "more").mkdir()
    assert blamed(folder) == {gone.name, "layout.json", "letter", "more"}
    (folder / "spec.toml").unlink()
    assert "spec.toml" in blamed(folder)


# Forged proofs and formulas


def forged(tmp_path: Path, kind: str, change: Callable[[str], str]) -> tuple[str, set[str]]:
    """The name of a file changed with care, and what the audit blames."""
    folder = copy_of("impossible", tmp_path)
    path = folder / "2x2x2-delay1"
    path = path.with_name(path.name + kind)
    pack(path, change(unpack(path)))
    forge(folder)
    return path.name, blamed(folder)


def without_line(text: str, number: int) -> str:
    lines = text.splitlines(keepends=True)
    del lines[number]
    return "".join(lines)


@pytest.mark.parametrize(
    "change",
    [
        lambda text: without_line(text, -1),
        lambda text: text[: len(text) // 2],
        lambda text: "0\n",
        lambda text: "",
        lambda text: "2 0\n" + text,
        lambda text: "-2 0\n2 0\n0\n",
        lambda text: "no proof\n",
        lambda text: "d 1 0\n" * 3 + "0\n",
    ],
    ids=["no end", "half", "end only", "empty", "added step", "two lies", "words", "deletions"],
)
def test_forged_proof_fails(change: Callable[[str], str], tmp_path: Path) -> None:
    name, names = forged(tmp_path, ".drat.gz", change)
    assert names == {name}


def test_exchanged_proofs_fail(tmp_path: Path) -> None:
    folder = copy_of("impossible", tmp_path)
    one, other = folder / "2x2x2-delay1.drat.gz", folder / "1x2x2-delay1.drat.gz"
    one.rename(folder / "spare")
    other.rename(one)
    (folder / "spare").rename(other)
    forge(folder)
    assert one.name in blamed(folder)


@pytest.mark.parametrize("kind", [".cnf.gz", ".map.gz"])
def test_formula_or_map_that_the_specification_does_not_give_fails(
    kind: str, tmp_path: Path
) -> None:
    name, names = forged(tmp_path, kind, lambda text: text + "0\n")
    assert names == {name}
    name, names = forged(tmp_path / "2", kind, lambda text: without_line(text, -1))
    assert names == {name}


def test_contradiction_slipped_in_with_a_proof_of_it_fails(tmp_path: Path) -> None:
    folder = copy_of("impossible", tmp_path)
    formula = folder / "2x2x2-delay1.cnf.gz"
    lines = unpack(formula).splitlines()
    pack(formula, "\n".join([*lines[:-2], "2 0", "-2 0"]) + "\n")
    pack(folder / "2x2x2-delay1.drat.gz", "0\n")
    forge(folder)
    assert blamed(folder) == {formula.name, "2x2x2-delay1.drat.gz"}


# Forged claims


def drop_question(folder: Path, stem: str, *, needs_too: bool) -> None:
    def change(index: Index) -> Index:
        return replace(
            index,
            questions=tuple(q for q in index.questions if q.stem != stem),
            boxes=tuple(box for box in index.boxes if not (needs_too and box[1] == stem)),
            files=tuple(entry for entry in index.files if not entry.name.startswith(stem)),
        )

    for path in folder.glob(f"{stem}.*"):
        path.unlink()
    forge(folder, change)


@pytest.mark.parametrize("needs_too", [True, False])
@pytest.mark.parametrize(
    ("name", "stem"), [("impossible", "2x2x2-delay1"), ("parts", "1x1x2-delay2-parts1")]
)
def test_dropped_box_fails(name: str, stem: str, needs_too: bool, tmp_path: Path) -> None:
    folder = copy_of(name, tmp_path)
    assert (folder / f"{stem}.cnf.gz").is_file()
    drop_question(folder, stem, needs_too=needs_too)
    assert blamed(folder) == {INDEX}


def changed(**changes: Any) -> Callable[[Index], Index]:
    return lambda index: replace(index, **changes)


def with_limit(name: str, value: int) -> Callable[[Index], Index]:
    return lambda index: replace(index, limits=replace(index.limits, **{name: value}))


@pytest.mark.parametrize(
    "change",
    [
        with_limit("length", 3),
        with_limit("delay", 2),
        changed(text="there is no layout at all"),
        changed(status="found", values={"volume": 8}),
        changed(status="undecided"),
        changed(measures=("length",)),
        changed(measures=()),
        changed(rules=synth.Rules(buffer_delays=(2,))),
        changed(boxes=()),
        changed(questions=(), boxes=()),
    ],
    ids=lambda change: "",
)
def test_forged_claim_of_impossible_fails(change: Callable[[Index], Index], tmp_path: Path) -> None:
    folder = copy_of("impossible", tmp_path)
    forge(folder, change)
    names = blamed(folder)
    if change(_index(folder)).rules != synth.Rules():
        assert "2x2x2-delay1.cnf.gz" in names
    elif change(_index(folder)).measures == ("length",):
        assert names <= {INDEX}  # Of "impossible" measures say nothing.
    else:
        assert INDEX in names


def _index(folder: Path) -> Index:
    from synth.proofs.certificate_index import read_index

    return read_index(folder)[0]


def test_limit_raised_in_specification_and_index_needs_more_boxes(tmp_path: Path) -> None:
    folder = copy_of("impossible", tmp_path)
    path = folder / "spec.toml"
    text = path.read_text("utf-8")
    path.write_text(text.replace("length = 2", "length = 3"), encoding="utf-8")
    forge(folder, with_limit("length", 3))

    def reworded(index: Index) -> Index:
        return replace(index, text=index.claim(synth.Spec.load(path)).text())

    forge(folder, reworded)
    report = audit(folder)
    assert [problem.file for problem in report.problems] == [INDEX]
    assert "its boxes are not those that the claim needs" in report.problems[0].text
    assert "3 x 1 x 1" in report.problems[0].text


@pytest.mark.parametrize("value", [1, 3])
def test_other_value_than_that_of_the_layout_fails(value: int, tmp_path: Path) -> None:
    folder = copy_of("smallest", tmp_path)

    def change(index: Index) -> Index:
        claim = replace(
            index.claim(synth.Spec.load(folder / "spec.toml")), values={"volume": value}
        )
        return replace(index, values=claim.values, text=claim.text())

    forge(folder, change)
    assert INDEX in blamed(folder)


# Forged layouts


def test_layout_that_does_something_else_fails(tmp_path: Path) -> None:
    folder = copy_of("smallest", tmp_path)
    path = folder / "layout.json"
    layout = Layout.load(path)
    for cell in layout.cells:
        layout.with_cells({cell: None}).save(path)
        forge(folder)
        assert path.name in blamed(folder)


def test_larger_layout_than_claimed_fails(tmp_path: Path) -> None:
    folder = copy_of("smallest", tmp_path)
    larger = synth.solve(
        synth.Spec.parse("q = ~(a | b)", length=1, width=2, height=4, delay=1, stack="y").replace(
            empty=frozenset({(0, 0, 3)})
        )
    )
    assert larger.layout is not None
    assert larger.verdict is not None
    larger.layout.save(folder / "layout.json")
    (folder / "verdict.json").write_text(json.dumps(larger.verdict.document()), encoding="utf-8")
    forge(folder)
    assert {"layout.json", INDEX} <= blamed(folder)


def test_forged_verdict_fails(tmp_path: Path) -> None:
    folder = copy_of("smallest", tmp_path)
    path = folder / "verdict.json"
    verdict = json.loads(path.read_text("utf-8"))
    path.write_text(json.dumps(verdict | {"delay": 0}), encoding="utf-8")
    forge(folder)
    assert blamed(folder) == {path.name}
    path.write_text("{", encoding="utf-8")
    forge(folder)
    assert blamed(folder) == {path.name}


def test_specification_of_another_function_fails(tmp_path: Path) -> None:
    folder = copy_of("smallest", tmp_path)
    path = folder / "spec.toml"
    path.write_text(path.read_text("utf-8").replace("00 1", "00 0"), encoding="utf-8")
    forge(folder)
    assert any(name.endswith(".cnf.gz") for name in blamed(folder))
    path.write_text("inputs = [", encoding="utf-8")
    forge(folder)
    assert blamed(folder) == {path.name}


# No certificate


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"),
        ("[]", "is no table"),
        ("{}", "no certificate"),
        ('{"format": "gatefit-layout", "version": 1}', "no certificate"),
        ('{"format": "gatefit-certificate", "version": 5}', "version 5"),
        ('{"format": "gatefit-certificate", "version": 1}', "the key 'claim' is missing"),
    ],
)
def test_index_that_cannot_be_understood_is_said(text: str, said: str, tmp_path: Path) -> None:
    (tmp_path / INDEX).write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=said) as caught:
        audit(tmp_path)
    assert caught.value.file == str(tmp_path / INDEX)


def test_no_folder_at_all(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such folder"):
        audit(tmp_path / "nowhere")


# Earlier versions

EARLIER = {
    "smallest": (
        "the layout is the smallest by volume 6, under length at most 3, width at most 2, height "
        "at most 3, delay at most 1"
    ),
    "impossible": (
        "there is no layout under length at most 2, width at most 2, height at most 2, delay at "
        "most 1"
    ),
}
"""The claims as versions 1 and 2 worded them."""


@pytest.mark.parametrize("version", [1, 2])
@pytest.mark.parametrize("name", EARLIER)
def test_earlier_certificates_are_audited_by_their_own_words(
    name: str, version: int, tmp_path: Path
) -> None:
    folder = copy_of(name, tmp_path)
    forge(folder, lambda index: replace(index, version=version, text=EARLIER[name]))
    document = json.loads((folder / INDEX).read_text("utf-8"))
    assert ("splits" in document, document["version"]) == (version == 2, version)
    report = synth.audit(folder, symmetry=False)
    assert report.passes, report.problems
    assert any("stacking along y" in line for line in report.rests_on)
    forge(folder, lambda index: replace(index, version=3))
    assert "the claim in words" in synth.audit(folder, symmetry=False).problems[0].text


def test_claim_names_all_that_was_in_force(tmp_path: Path) -> None:
    report = synth.audit(copy_of("impossible", tmp_path), symmetry=False)
    assert "stacking along y at the box's own size, wire joints, without ground" in report.claimed
    assert "reach 15" in report.claimed
