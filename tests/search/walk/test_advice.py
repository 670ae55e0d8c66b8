"""An explained no: the limit that stands in the way, found by letting out one at a time."""

from __future__ import annotations

from synth.search import Status, solve
from synth.search.walk.advice import Relaxation, advice
from synth.spec import Spec


def test_a_tick_more_is_found_to_help() -> None:
    spec = Spec.parse("q = ~a", length=1, width=1, height=2, delay=0)
    outcome = solve(spec, advise_s=1e4)
    assert outcome.status is Status.IMPOSSIBLE
    assert "delay 0 is what stands in the way" in outcome.advice[0]
    assert "delay 1 instead of 0 has a layout (volume 2)" in outcome.advice
    again = solve(Spec.parse("q = ~a", length=1, width=1, height=2, delay=1))
    assert again.status is Status.FOUND
    assert again.layout is not None
    assert again.layout.volume == 2


def test_without_time_nothing_is_said() -> None:
    spec = Spec.parse("q = a & b", length=1, width=1, height=2, delay=1)
    assert solve(spec).advice == ()


def test_fixed_cells_keep_the_box_as_it_is() -> None:
    spec = Spec.parse("q = ~a", length=1, width=1, height=2, delay=0)
    kept = spec.replace(empty=frozenset({(0, 0, 1)}))
    outcome = solve(kept, advise_s=1e4)
    assert outcome.status is Status.IMPOSSIBLE
    assert all("length" not in sentence for sentence in outcome.advice)


def test_findings_in_words() -> None:
    helps = Relaxation("delay", 1, 2, 1, 32)
    other = Relaxation("width", 2, 3, 2, 45)
    never = Relaxation("height", 4, None, 7)
    open_ = Relaxation("length", 5, None, 6)
    assert advice([]) == ()
    assert advice([helps, never])[0] == "delay 1 is what stands in the way"
    assert advice([helps, other])[0] == "delay 1 and width 2 cannot all be had"
    assert advice([never]) == (
        "letting out any one limit was not found to help",
        "height up to 7 alone does not help",
    )
    assert open_.sentence() == "length above 6 was not decided in the time allowed"
