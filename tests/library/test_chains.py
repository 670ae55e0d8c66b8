"""Chains in a store: another question, the same for all names, and said in a list."""

from __future__ import annotations

from synth.library.briefly import asked_besides
from synth.library.canonical import Canonical
from synth.questions.problem import Problem
from synth.spec import Spec

LIMITS = {"length": 3, "width": 2, "height": 3, "delay": 2, "stack": "x"}


def canonical(text: str, **limits: object) -> Canonical:
    problem, _ = Problem.of(Spec.parse(text, **{**LIMITS, **limits}))
    return Canonical.of(problem)[0]


def test_a_chain_and_the_delay_of_its_links_make_another_question() -> None:
    alone = canonical("co = a | ci")
    chained = canonical("co = a | ci", chain="co:ci")
    quick = canonical("co = a | ci", chain="co:ci", link_delay=1)
    assert len({one.key for one in (alone, chained, quick)}) == 3
    assert len({one.box_key for one in (alone, chained, quick)}) == 3


def test_names_and_order_are_of_no_account() -> None:
    one = canonical("co = a | ci", chain="co:ci")
    assert one.key == canonical("x = i | b", inputs="b i", chain="x:i").key
    assert one.key == canonical("x = i | b", inputs="i b", chain="x:i").key


def test_which_input_goes_with_which_output_counts() -> None:
    text = "p = a & i; q = a | j"
    straight = canonical(text, chain="p:i q:j")
    assert straight.key == canonical("p = a & j; q = a | i", chain="p:j q:i").key
    assert straight.key != canonical(text, chain="p:j q:i").key


def test_names_come_back_with_the_layout() -> None:
    problem, _ = Problem.of(Spec.parse("p = a & i; q = a | j", **{**LIMITS, "chain": "p:j q:i"}))
    asked, naming = Canonical.of(problem)
    back = {naming.asked[link.output]: naming.asked[link.input] for link in asked.spec.chain}
    assert back == {"p": "j", "q": "i"}
    assert Canonical.from_document(asked.document()) == asked


def test_a_list_says_what_is_chained() -> None:
    document = canonical("co = a | ci", chain="co:ci", link_delay=1).document()
    assert asked_besides(document) == ("chain y1:x2", "link delay at most 1")
