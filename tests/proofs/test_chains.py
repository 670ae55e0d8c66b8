"""Certificates of slices: proven, audited, and bound to the chain and the delay of its links."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from synth.proofs.audit import audit
from synth.proofs.certificate_index import INDEX
from synth.questions.outcome import Status
from synth.search import solve
from synth.spec import Spec

LIMITS = {"length": 2, "width": 1, "height": 2, "delay": 2, "joint": "buffer"}
OR = Spec.parse("co = a | ci", stack="x", chain="co:ci", link_delay=1, **LIMITS)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The certificate of the smallest or-slice: a wire and a buffer."""
    where = tmp_path_factory.mktemp("chains") / "or"
    found = solve(OR, certificate=where)
    assert found.status is Status.FOUND
    assert found.layout is not None
    assert found.layout.size == (2, 1, 2)
    return where


def test_a_slice_is_proven_smallest(folder: Path) -> None:
    report = audit(folder)
    assert report.passes, report.problems
    claimed = json.loads((folder / INDEX).read_text(encoding="utf-8"))["claim"]
    assert "link delay at most 1" in claimed["text"]
    assert "chained from co to the next ci" in claimed["text"]
    assert claimed["limits"]["link_delay"] == 1


def test_links_sooner_than_a_buffer_are_proven_impossible(tmp_path: Path) -> None:
    never = OR.replace(limits=replace(OR.limits, link_delay=0))
    found = solve(never, certificate=tmp_path / "none")
    assert found.status is Status.IMPOSSIBLE
    assert audit(tmp_path / "none").passes


def test_a_claim_about_sooner_links_is_not_borne_out(folder: Path, tmp_path: Path) -> None:
    """Neither the specification nor the index can be changed to say more than was shown."""
    for name, old, new in (
        ("spec.toml", "link_delay = 1", "link_delay = 0"),
        (INDEX, '"link_delay": 1', '"link_delay": 0'),
    ):
        forged = tmp_path / name.replace(".", "-")
        forged.mkdir()
        for file in folder.iterdir():
            (forged / file.name).write_bytes(file.read_bytes())
        text = (forged / name).read_text(encoding="utf-8")
        assert old in text
        (forged / name).write_text(text.replace(old, new), encoding="utf-8")
        assert not audit(forged).passes
