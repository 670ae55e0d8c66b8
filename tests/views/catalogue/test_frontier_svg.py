"""Plots: the frontier is exact, and what is proven, known and impossible stays apart."""

from __future__ import annotations

from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from synth.views.catalogue import Gate
from synth.views.catalogue.frontier_svg import frontier_of, plots_html

POINTS = st.lists(st.tuples(st.integers(0, 9), st.integers(1, 60)), min_size=1)


@given(POINTS)
def test_the_frontier_is_what_nothing_beats(points: list[tuple[int, int]]) -> None:
    edge = frontier_of(points)

    def beaten(one: tuple[int, int]) -> bool:
        return any(o != one and o[0] <= one[0] and o[1] <= one[1] for o in points)

    assert edge == sorted({point for point in points if not beaten(point)})


def marks(gate: Gate, kind: str) -> list[str]:
    tree = ElementTree.fromstring(plots_html(gate))
    return [node.get("class", "") for node in tree.iter() if node.get("class") == kind]


def named(gates: list[Gate], title: str) -> Gate:
    (gate,) = (gate for gate in gates if gate.title == title)
    return gate


def test_proven_layouts_open_ones_and_impossible_delays_have_marks_of_their_own(
    gates: list[Gate],
) -> None:
    xor, neither = named(gates, "xor2"), named(gates, "nor2")
    assert (len(marks(xor, "plot-proven")), len(marks(xor, "plot-open"))) == (0, 1)
    assert (len(marks(neither, "plot-proven")), len(marks(neither, "plot-open"))) == (1, 0)
    assert len(marks(neither, "plot-none")) == 1
    assert "delay 0: no layout; ruled out" in plots_html(neither)


def test_each_kind_of_answer_has_a_plot(gates: list[Gate]) -> None:
    tree = ElementTree.fromstring(plots_html(named(gates, "or2")))
    captions = [node.text for node in tree.iter("figcaption")]
    assert captions == ["Free-standing, joints: wire", "Stacks along y, joints: wire"]


def test_without_a_layout_there_is_no_plot(gates: list[Gate]) -> None:
    bare = [gate for gate in gates if not gate.layouts]
    assert bare
    assert all(plots_html(gate) == "" for gate in bare)


def test_the_measure_stands_with_its_unit(gates: list[Gate]) -> None:
    assert ">volume, cells<" in plots_html(named(gates, "xor2"))
