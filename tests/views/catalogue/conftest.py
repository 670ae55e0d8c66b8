"""A small store of real answers, and the catalogue made of it, once for all tests here."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from synth.exports.gltf import gltf
from synth.exports.pictures import png
from synth.library import Canonical, Store
from synth.library.beyond import Beyond
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.questions.statistics import Statistics
from synth.search.walk.solve import solve
from synth.simulator import check
from synth.spec import Limits, Spec, StackDemand
from synth.views.catalogue import MARKER, Export, Gate, gates_of, items_of, site_files, write_folder
from tests.stored import stored_layout

XOR = stored_layout("xor2")
VOLUME = ("volume",)


def filled(path: Path) -> Store:
    """Found, impossible and undecided answers; one of two outputs; one function twice."""
    store = Store(path)

    def keep(spec: Spec, outcome: Outcome) -> None:
        store.keep(Problem(spec, VOLUME), outcome)

    small = {"length": 2, "width": 2, "height": 3}
    for text, name in (("q = a | b", "or2"), ("q = ~(a | b)", "nor2")):
        for delay in (0, 1, 2):
            spec = Spec.parse(text, delay=delay, **small).replace(name=name)
            keep(spec, solve(spec, minimize=VOLUME, workers=1))
    stacked = Spec.parse("q = a | b", delay=1, **small).replace(name="or2-stack")
    stacked = stacked.replace(stack=StackDemand("y"))
    keep(stacked, solve(stacked, minimize=VOLUME, workers=1))
    adder = Spec.parse("s = a ^ b; c = a & b", delay=1, length=1, width=1, height=2)
    keep(adder, solve(adder, minimize=VOLUME, workers=1))
    xor = Spec.parse("q = a ^ b", delay=2, width=2).replace(
        stack=StackDemand("y"), name="xor2-stack"
    )
    best = Outcome(
        Status.UNDECIDED,
        XOR,
        check(XOR, xor, delay=2),
        reason="the time is up",
        stats=Statistics(bound=20, seconds=1.5, solver="cadical195"),
    )
    keep(xor, best)
    for text in ("q = a & ~b", "q = ~a & b"):
        asked = Spec(Spec.parse(text).function, Limits(length=1, width=1, height=1, delay=1))
        keep(asked.replace(ground=text.endswith("~b")), Outcome(Status.IMPOSSIBLE, reason="all"))
    shorter = xor.replace(limits=replace(xor.limits, length=XOR.length - 1))
    keep(shorter, Outcome(Status.UNDECIDED, reason="the time is up", stats=Statistics(bound=20)))
    problem, _ = Problem.of(shorter, VOLUME)
    canonical, naming = Canonical.of(problem)
    assert store.keep_beyond(canonical, Beyond(naming.to_canonical(XOR), 2, 1.5))
    return store


@pytest.fixture(scope="session")
def store_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("store") / "gates.sqlite"
    filled(path).close()
    return path


@pytest.fixture(scope="session")
def gates(store_path: Path) -> list[Gate]:
    with Store(store_path) as store:
        return gates_of(items_of(store))


@pytest.fixture(scope="session")
def site(gates: list[Gate], tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("site") / "gates"
    exports = (Export("png", "PNG", png), Export("gltf", "glTF", gltf))
    files = site_files(gates, title="All & every gate", exports=exports)
    write_folder(path, files, marker=MARKER)
    return path
