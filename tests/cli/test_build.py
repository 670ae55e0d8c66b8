"""``gatefit build`` as a user meets it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from synth.layout import Layout
from tests.cli.conftest import Run

ADDER = "p = a ^ b\ns = p ^ c\nd = a & b | p & c\noutputs = s d\n"


@pytest.fixture
def adder(tmp_path: Path) -> Path:
    file = tmp_path / "adder.eqn"
    file.write_text(ADDER)
    return file


def test_a_circuit_is_built_and_its_certificate_audited(
    gatefit: Run, adder: Path, tmp_path: Path
) -> None:
    target, proof = tmp_path / "adder.json", tmp_path / "proof"
    ended = gatefit(
        "build",
        str(adder),
        "--rounds",
        "30",
        "-o",
        str(target),
        "--certificate",
        str(proof),
        "--delay",
        "60",
    )
    assert ended.code == 0
    assert "adder: found." in ended.out
    assert "delay at most 60" in ended.out
    assert "routed" in ended.err
    layout = Layout.load(target)
    assert [pin.name for pin in layout.inputs] == ["a", "b", "c"]
    assert gatefit("audit", str(proof)).code == 0
    function = "s = a ^ b ^ c; d = a & b | c & (a | b)"
    assert gatefit("check", str(target), "--function", function).code == 0


def test_quiet_and_json(gatefit: Run, adder: Path) -> None:
    ended = gatefit("build", str(adder), "--rounds", "1", "--quiet")
    assert ended.out.startswith("adder: found: ")
    assert ended.out.count("\n") == 1
    assert not ended.err
    ended = gatefit("build", str(adder), "--rounds", "1", "--json", "--by", "delay")
    assert json.loads(ended.out)["status"] == "found"


def test_limits_that_cannot_be_kept_end_undecided(gatefit: Run, adder: Path) -> None:
    ended = gatefit("build", str(adder), "--rounds", "1", "--height", "2")
    assert ended.code == 3
    assert "undecided; height 4, at most 2 cells asked" in ended.out


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--by", "size"], "--by: no way to build by 'size'"),
        (["--joint", "glue"], "--joint: no joint 'glue'"),
        (["--rounds", "-1"], "--rounds: -1 placements"),
        (["--length", "0"], "--length: a length of 0"),
        (["--time-limit", "-1"], "--time-limit"),
        (["--top", "adder"], "adder.eqn: --top: there are no modules in equations"),
    ],
)
def test_options_that_cannot_be_used_are_named(
    options: list[str], said: str, gatefit: Run, adder: Path
) -> None:
    ended = gatefit("build", str(adder), *options)
    assert ended.code == 2
    assert said in ended.err
    assert ended.err.count("\n") == 1


def test_what_is_no_circuit_is_named_with_file_and_line(gatefit: Run, tmp_path: Path) -> None:
    file = tmp_path / "flip.blif"
    file.write_text(".inputs d\n.outputs q\n.latch d q\n")
    ended = gatefit("build", str(file))
    assert ended.code == 2
    assert f"{file}: line 3: .latch: the circuit is sequential" in ended.err


def test_balanced_outputs_are_told_with_their_ticks(gatefit: Run, adder: Path) -> None:
    ended = gatefit("build", str(adder), "--rounds", "1", "--balance", "--json")
    told = json.loads(ended.out)
    assert ended.code == 0
    ticks = {(found["least"], found["most"]) for found in told["outputs"].values()}
    assert ticks == {(told["delay"], told["delay"])}
    words = gatefit("build", str(adder), "--rounds", "1", "--balance").out
    assert f"Outputs   from tick {told['delay']} (s), {told['delay']} (d)" in words
    assert "Critical path" in words


SUM = "".join(
    f"s{i} = a{i} ^ b{i} ^ c{i}\nc{i + 1} = a{i} & b{i} | c{i} & (a{i} | b{i})\n" for i in range(3)
)


def test_an_adder_is_a_row_of_slices_that_can_be_audited(gatefit: Run, tmp_path: Path) -> None:
    file, proof = tmp_path / "sum.eqn", tmp_path / "proof"
    file.write_text(SUM)
    ended = gatefit("build", str(file), "--rounds", "1", "--certificate", str(proof))
    assert ended.code == 0
    assert "rows: " in ended.err
    assert "From      row of slices" in ended.out
    assert gatefit("audit", str(proof)).code == 0
    ended = gatefit("build", str(file), "--rounds", "1", "--pins", "ends")
    assert "From      placing" in ended.out


def test_a_store_that_is_named_has_to_be_there(
    gatefit: Run, adder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One that the environment names need not be: another command may make it."""
    missing = str(tmp_path / "none.sqlite")
    ended = gatefit("build", str(adder), "--rounds", "1", "--store", missing)
    assert ended.code == 2
    assert "no such store" in ended.err
    monkeypatch.setenv("GATEFIT_STORE", missing)
    assert gatefit("build", str(adder), "--rounds", "1", "--quiet").code == 0
    assert not Path(missing).exists()
