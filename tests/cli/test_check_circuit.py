"""``gatefit check --circuit``: a layout held against a circuit, of few inputs or of many."""

from __future__ import annotations

from pathlib import Path

import pytest

from synth.layout import Layout
from synth.layout.documents import layout_text
from tests.building.test_checking import built
from tests.cli.conftest import Run

NAMES = [f"a[{index}]" for index in range(17)]
PARITY = f"q = {NAMES[-1]} & (a[0] ^ a[1] | {' & '.join(NAMES[2:])})\n"


@pytest.fixture
def wide(tmp_path: Path) -> str:
    """A layout of 17 inputs; its circuit and another one lie beside it."""
    built(17).save(tmp_path / "wide.json")
    (tmp_path / "wide.eqn").write_text(PARITY)
    (tmp_path / "other.eqn").write_text(PARITY.replace("^", "|"))
    return "wide.json"


def test_many_inputs_pass_or_fail(gatefit: Run, wide: str) -> None:
    ended = gatefit("check", wide, "--circuit", "wide.eqn", "--delay", "200")
    assert ended.code == 0
    assert "Verdict: passes" in ended.out
    assert "function  yes: equal in every assignment of 17 inputs, by a proof of " in ended.out
    ended = gatefit("check", wide, "--circuit", "other.eqn")
    assert ended.code == 1
    assert "Verdict: FAILS" in ended.out
    assert "output 'q' is wrong in " in ended.out
    document = gatefit("check", wide, "--circuit", "other.eqn", "--json").document
    assert document["format"] == "gatefit-circuit-verdict"
    assert (document["passes"], document["legal"], document["function"]) == (False, True, False)


def test_without_a_circuit_what_can_be_said_is_said(gatefit: Run, wide: str) -> None:
    ended = gatefit("check", wide)
    assert ended.code == 0
    assert (
        "17 inputs are too many for a table: hold it against a circuit with --circuit" in ended.out
    )
    assert "delay     at most" in ended.out
    assert gatefit("check", wide, "--delay", "0").code == 1


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--function", "xor2"], "--function and --circuit: a function is given twice"),
        (["--review"], "--review: the layout has too many inputs to play every assignment"),
        (["--copies", "2"], "--copies: the layout has too many inputs"),
        (["--link-delay", "2"], "--link-delay: the layout has too many inputs"),
        (["--top", "main"], "wide.eqn: --top: there are no modules in equations"),
    ],
)
def test_what_does_not_go_with_it_is_refused(
    options: list[str], said: str, gatefit: Run, wide: str
) -> None:
    ended = gatefit("check", wide, "--circuit", "wide.eqn", *options)
    assert ended.code == 2
    assert ended.err.startswith(f"gatefit: {said}")
    assert not ended.out


def test_a_module_without_a_circuit_is_refused(gatefit: Run, wide: str) -> None:
    ended = gatefit("check", wide, "--top", "main")
    assert ended.code == 2
    assert "--top: there is no circuit to choose a module of" in ended.err


def test_few_inputs_are_played_and_reviewed_as_ever(gatefit: Run, tmp_path: Path) -> None:
    layout = Layout.load(Path(__file__).parents[1] / "data" / "c17.json")
    (tmp_path / "c17.json").write_text(layout_text(layout))
    (tmp_path / "c17.eqn").write_text(
        "n10 = ~(n1 & n3)\nn11 = ~(n3 & n6)\nn16 = ~(n2 & n11)\nn19 = ~(n11 & n7)\n"
        "n22 = ~(n10 & n16)\nn23 = ~(n16 & n19)\noutputs = n22 n23\n"
    )
    ended = gatefit("check", "c17.json", "--circuit", "c17.eqn")
    assert ended.code == 0
    assert "function  yes" in ended.out
    assert "Review: " in ended.out
    (tmp_path / "c17.eqn").write_text("inputs = n1 n2 n3 n6 n7\nn22 = n1 & n2\nn23 = n2 & n3\n")
    assert gatefit("check", "c17.json", "--circuit", "c17.eqn", "--brief").code == 1


def test_many_inputs_are_shown_with_their_power(gatefit: Run, wide: str) -> None:
    ones = ",".join(f"{name}=1" for name in NAMES)
    ended = gatefit("show", wide, "--inputs", ones)
    assert ended.code == 0
    said = ended.out.splitlines()[0].split()
    assert said[0] == "Settled:"
    assert said[-1] == "q=1"
    assert set(said[1:-1]) == set(ones.split(","))
    assert "The inputs change at tick 0; nothing changes after tick " in ended.out
    off = ones.replace("a[16]=1", "a[16]=0")
    assert gatefit("show", wide, "--inputs", off).out.splitlines()[0].endswith(" q=0")
