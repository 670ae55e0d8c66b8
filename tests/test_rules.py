"""Every rule of the medium has a name, its words, and a method in either reading."""

from __future__ import annotations

import os
import re
from dataclasses import replace

import pytest

from synth.encoding import Question, encode
from synth.medium_rules import MEDIUM_RULES, by_sentence, sentence
from synth.spec import Spec
from tests.rule_table import HEAD, ROOMS, ROOT, SILENT, faults, readings, sections, sources, table

PAGE = ROOT / "DEVELOPERS.md"
READ = {room: list(readings(sources(room))) for room in ROOMS}

BESIDES = {
    "the constant",
    "cells hold what is asked",
    # Accelerations: what follows from the rules, or leaves one layout of many.
    "surely on implies possibly on",
    "what is known stays known",
    "more inputs power more",
    "more inputs leave fewer inverters on",
    "more inputs turn on more buffers",
    "the neighbour has less surely on",
    "the neighbour has more possibly on",
    "what leads to an output",
    "the anchor sits at its first place",
    "exchangeable inputs are in order",
}
"""What the encoding asks for that is no rule of the medium."""


def test_both_rooms_read_every_rule() -> None:
    assert not faults(READ), "\n".join(faults(READ))


@pytest.mark.parametrize("rule", MEDIUM_RULES)
def test_a_rule_has_words_of_its_section(rule: str) -> None:
    _, text = sections()[rule.split()[0]]
    assert MEDIUM_RULES[rule] in text


def test_every_section_from_parts_to_measures_has_rules() -> None:
    # Section 10 has facts to check against, and no rules.
    assert [*dict.fromkeys(rule.split()[0] for rule in MEDIUM_RULES)] == [*"23456789", "11"]


def test_the_table_of_the_developers_is_the_generated_one() -> None:
    page, written = PAGE.read_text(encoding="utf-8"), table(READ)
    there = re.search(re.escape(HEAD[0]) + r"\n(?:\|.*\n)*", page)
    assert there, "DEVELOPERS.md has no table of rules"
    if os.environ.get("GATEFIT_UPDATE_GOLDEN"):
        PAGE.write_text(page.replace(there[0], written), encoding="utf-8")
    else:
        assert there[0] == written, "run this test once with GATEFIT_UPDATE_GOLDEN=1"


def changed(room: str, old: str, new: str) -> list[str]:
    """The faults after a change in every docstring of a room."""
    modules = {name: text.replace(old, new) for name, text in sources(room).items()}
    assert modules != sources(room)
    return faults(READ | {room: list(readings(modules))})


@pytest.mark.parametrize("room", ROOMS)
def test_a_rule_that_nobody_reads_is_found(room: str) -> None:
    assert changed(room, "Medium: 3 runs.", "") == [f"{room}: nobody reads '3 runs'"]


@pytest.mark.parametrize("room", ROOMS)
def test_every_rule_would_be_missed(room: str) -> None:
    """Whichever rule no docstring names any more, it is found missing, and no other is."""
    for rule in {rule for one in READ[room] for rule in one.rules}:
        without = [
            replace(one, rules=tuple(name for name in one.rules if name != rule))
            for one in READ[room]
        ]
        missing = [fault for fault in faults(READ | {room: without}) if "nobody reads" in fault]
        assert missing == [f"{room}: nobody reads {rule!r}"]


def test_a_rule_that_does_not_exist_is_found() -> None:
    found = changed("simulator", "Medium: 3 runs.", "Medium: 3 walks.")
    assert sorted(found) == [
        "simulator: nobody reads '3 runs'",
        "simulator: touch.runs: no rule '3 walks'",
    ]


def test_a_private_reading_is_found() -> None:
    found = changed("simulator", "def runs(", "def _runs(")
    assert found == ["simulator: touch._runs: is not public"]


def test_a_rule_below_another_line_of_rules_is_found() -> None:
    (found,) = changed("encoding", "Medium: 3 runs.", "Medium: 3 runs.\n\n        Forgotten.")
    assert found == "encoding: shape.Shape.wires_run: the rules are not its one last line"


def test_a_first_line_that_names_another_section_is_found() -> None:
    (found,) = changed("encoding", "Section 3: a wire runs", "Section 4: a wire runs")
    assert found.startswith("encoding: shape.Shape.wires_run: its first line does not name")


def test_an_excuse_for_a_rule_that_is_read_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests.rule_table.SILENT", {**SILENT, ("encoding", "3 runs"): "idle"})
    assert faults(READ) == ["encoding: '3 runs' is read, and said not to be"]


QUESTIONS = [
    Question(Spec.parse("q = a & b", stack="y"), (2, 2, 3), 1),
    Question(Spec.parse("q = a", stack="x", joint="buffer"), (2, 2, 2), 1, parts=4),
    Question(Spec.parse("q = ~a", stack="z"), (2, 2, 2), 1, count_links=True, allow_held=True),
    Question(Spec.parse("q = a", stack="z").replace(ground=True), (1, 1, 2), 1),
    Question(Spec.parse("q = a; r = b", stack="y", chain="q:b", link_delay=0), (1, 2, 2), 1),
    Question(Spec.parse("q = a").replace(empty=frozenset({(0, 0, 0)})), (2, 2, 2), 1),
]


def test_clauses_are_counted_by_rules_that_the_encoding_reads() -> None:
    """Each rule that adds clauses is the medium's, and has a method; the rest is listed."""
    counted: set[str] = set()
    for question in QUESTIONS:
        encoding = encode(question)
        counted |= encoding.formula.counts.keys()
        assert sum(encoding.clauses_by_rule.values()) == len(encoding.clauses)
    assert counted - MEDIUM_RULES.keys() <= BESIDES
    read = {rule for one in READ["encoding"] for rule in one.rules}
    assert counted & MEDIUM_RULES.keys() <= read
    # These bar variables or pick plays, and need no clause.
    silently = {"2 buffer delays", "4 inverter sees", "4 buffer sees", "5 settling starts"}
    silently |= {"6 outputs read", "6 distances of copies", "7 hosts", "7 buffers"}
    silently |= {"7 pins", "7 pitch", "8 ground", "8 inverters"}
    silently |= {"11 pitch", "11 faces", "11 distances", "11 handed on", "11 first copy"}
    silently |= {"11 outputs read", "11 delay"}
    assert read - counted == silently


def test_counts_read_as_sentences_in_the_order_of_the_medium() -> None:
    counts = {"the constant": 1, "9 parts": 2, "4 driven": 3}
    assert list(by_sentence(counts).items()) == [
        (sentence("4 driven"), 3),
        ("9 parts: parts = cells that are not empty", 2),
        ("the constant", 1),
    ]
    assert sentence("4 driven").startswith("4 driven: A solid is driven when")
