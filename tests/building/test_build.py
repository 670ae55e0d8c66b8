"""Building whole circuits: right, proven, resumable, honest about limits."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import pytest

from synth.building import BuildLimits, Built, build, pipeline
from synth.building.events import Event, Improved, StageDone
from synth.building.placing import Placement, Scheduler, Taste
from synth.circuits.circuit import Circuit
from synth.circuits.reading.equations import parse_equations
from synth.circuits.reading.read import read_circuit
from synth.errors import InputError
from synth.layout import Layout
from synth.medium import Direction, Rules
from synth.proofs.audit import audit
from synth.proofs.certificate_index import INDEX
from synth.proofs.circuit_index import CIRCUIT, FORMULA, LAYOUT, PROOF, read_circuit_index
from synth.questions.outcome import Status
from synth.shrinking.aim import Aim, Judged
from synth.shrinking.turns import Turns
from synth.simulator import check
from synth.simulator.acyclic import Network, network_of
from synth.spec import Spec
from synth.views.explanation import explain
from synth.views.judged import Stand
from synth.views.judged import judge as judged
from synth.views.text.explaining import explain_text
from tests.circuits.drawn import drawn_circuit
from tests.circuits.test_reading import C17

CIRCUITS = Path(__file__).parents[2] / "benchmarks" / "circuits"


def adder(bits: int) -> Circuit:
    """An adder by the textbook: exclusive-ors and a carry that runs through."""
    lines = []
    for index in range(bits):
        lines += [
            f"p{index} = a{index} ^ b{index}",
            f"s{index} = p{index} ^ c{index}",
            f"c{index + 1} = a{index} & b{index} | p{index} & c{index}",
        ]
    sums = " ".join(f"s{index}" for index in reversed(range(bits)))
    return parse_equations("\n".join([*lines, f"outputs = {sums} c{bits}"]), f"adder{bits}")


class Watching:
    """Keeps events."""

    def __init__(self) -> None:
        self.events: list[Event] = []

    def event(self, event: Event) -> None:
        self.events.append(event)


def test_c17_is_built_judged_and_proven() -> None:
    watching = Watching()
    built = build(parse_equations(C17, "c17"), rounds=200, watcher=watching)
    assert built.status is Status.FOUND
    assert built.layout is not None
    function = "n22 = n1 & n3 | n2 & ~(n3 & n6); n23 = n2 & ~(n3 & n6) | n7 & ~(n3 & n6)"
    assert check(built.layout, Spec.parse(function)).passes
    assert built.exact_delay
    assert check(built.layout).delay == built.delay
    assert built.gates == 6
    assert judged(built.layout).stand is Stand.PASSES
    assert {piece.name for piece in built.layout.pieces} >= {"n22", "n23", "n1", "n7"}
    assert "equal in every assignment of 5 inputs" in built.claim
    assert "no limits" in built.claim
    volumes = [event.volume for event in watching.events if isinstance(event, Improved)]
    assert volumes == sorted(volumes, reverse=True)
    assert volumes[0] == built.routed
    assert volumes[-1] == built.layout.volume
    stages = [event.stage for event in watching.events if isinstance(event, StageDone)]
    assert stages == ["optimised", "mapped", "routed", "composed", "proven"]


def test_same_seed_and_rounds_give_the_same_layout() -> None:
    circuit = adder(1)
    first, again = (build(circuit, rounds=40, seed=3).layout for _ in range(2))
    assert first == again


def test_limits_that_are_not_kept_are_told_and_limits_that_can_be_are_kept() -> None:
    circuit = adder(1)
    free = build(circuit, rounds=100)
    assert free.layout is not None
    kept = build(circuit, limits=BuildLimits(width=free.layout.width), rounds=100)
    assert kept.status is Status.FOUND
    low = build(circuit, limits=BuildLimits(height=3, delay=1), rounds=5)
    assert low.status is Status.UNDECIDED
    assert low.layout is not None
    assert re.search(r"height [46], at most 3 cells asked; delay \d+, at most 1 tick", low.reason)
    assert f"delay {low.delay}, at most 1 tick asked" in low.reason


@pytest.mark.parametrize("seed", range(12))
def test_circuits_at_random_are_found(seed: int) -> None:
    circuit = drawn_circuit(Random(seed), inputs=9, ands=30, outputs=5)
    built = build(circuit, rounds=2, by="delay" if seed % 2 else "area")
    assert built.status is Status.FOUND


@pytest.fixture(scope="module")
def segments() -> tuple[Built, Watching]:
    """The decoder of seven segments, not shrunk."""
    watching = Watching()
    return build(read_circuit(CIRCUITS / "segments.blif"), rounds=1, watcher=watching), watching


def test_a_function_of_few_inputs_is_composed_where_that_is_smaller(
    segments: tuple[Built, Watching],
) -> None:
    """The decoder of seven segments takes two levels, and far less than its gates placed."""
    built, watching = segments
    assert built.status is Status.FOUND
    stages = [event.stage for event in watching.events if isinstance(event, StageDone)]
    assert stages == ["optimised", "mapped", "routed", "composed", "proven"]
    assert built.layout is not None
    assert built.layout.volume < built.routed / 4
    assert built.delay is not None
    assert built.delay <= 8
    faces = {pin.face for pin in built.layout.inputs}, {pin.face for pin in built.layout.outputs}
    assert faces == ({Direction.NX}, {Direction.PX})


@pytest.mark.parametrize("quick", [{"by": "delay"}, {"limits": BuildLimits(delay=4)}])
def test_the_quicker_construction_wins_where_the_delay_counts(
    quick: dict[str, Any], segments: tuple[Built, Watching]
) -> None:
    small, fast = segments[0], build(read_circuit(CIRCUITS / "segments.blif"), rounds=1, **quick)
    for built in (small, fast):
        assert built.status is Status.FOUND
        assert built.origin is not None
        assert built.layout is not None
        assert (built.origin.volume, built.origin.delay) == (built.layout.volume, built.delay)
    assert small.delay is not None
    assert fast.delay is not None
    assert fast.delay < small.delay
    assert small.layout is not None
    assert fast.layout is not None
    assert small.layout.volume < fast.layout.volume
    assert small.origin != fast.origin


def test_a_slim_layout_keeps_a_narrow_width() -> None:
    built = build(parse_equations(C17, "c17"), limits=BuildLimits(width=2), rounds=1)
    assert built.status is Status.FOUND
    assert built.layout is not None
    assert built.layout.width == 2
    assert built.origin is not None
    assert built.origin.made_by == "slim"


@pytest.mark.parametrize("options", [{"balance": True}, {"limits": BuildLimits(height=4)}])
def test_nothing_composed_is_taken_that_breaks_what_is_asked(options: dict[str, Any]) -> None:
    built = build(read_circuit(CIRCUITS / "segments.blif"), rounds=1, **options)
    assert built.status is Status.FOUND
    assert built.layout is not None
    assert built.layout.height == 4


@pytest.fixture
def spoilt_placing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every placement leaves out what a gate reads."""
    place = Scheduler.place

    def spoilt(scheduler: Scheduler, taste: Taste) -> Placement:
        placement = place(scheduler, taste)
        name, column = next(iter(placement.columns.items()))
        other = type(column)(column.gate, column.slot, column.lane, column.reads[:1])
        placement.columns[name] = other
        return placement

    monkeypatch.setattr(Scheduler, "place", spoilt)


@pytest.mark.usefixtures("spoilt_placing")
def test_a_wrong_layout_is_refused() -> None:
    """If placing went wrong, nothing of it is returned as right."""
    # Of fewer inputs a right layout would be composed, and with free pins a row made.
    built = build(adder(4), rounds=1, pins="ends")
    assert built.status is Status.REFUSED
    assert not built.claim


@pytest.mark.usefixtures("spoilt_placing")
def test_a_wrong_layout_is_told_where_another_one_is_right() -> None:
    watching = Watching()
    built = build(adder(1), rounds=1, watcher=watching)
    assert built.status is Status.FOUND
    told = [one for one in watching.events if isinstance(one, StageDone) if one.stage == "rejected"]
    assert len(told) == 1
    assert "a layout that is wrong was left out" in told[0].words


def test_a_build_goes_on_from_its_journal(tmp_path: Path) -> None:
    circuit, journal = adder(1), tmp_path / "build.jsonl"
    first = build(circuit, rounds=150, resume=journal)
    assert first.layout is not None
    lines = journal.read_text().splitlines()
    with journal.open("a") as file:
        file.write(lines[-1][:30])  # what a kill leaves
    again = build(circuit, rounds=0, resume=journal)
    assert again.layout == first.layout
    assert again.layout is not None
    assert again.layout.pieces == first.layout.pieces
    with pytest.raises(InputError, match=r"line 1: the journal is of another build"):
        build(parse_equations(C17, "c17"), rounds=0, resume=journal)
    for other in ("[1]\n", "no end of line"):
        journal.write_text(other)
        with pytest.raises(InputError, match="line 1: this is no journal of a build"):
            build(circuit, rounds=0, resume=journal)
        assert journal.read_text() == other


def test_a_journal_keeps_nothing_that_is_worse_than_what_it_holds(tmp_path: Path) -> None:
    circuit, journal = adder(1), tmp_path / "build.jsonl"
    best = build(circuit, rounds=150, resume=journal).layout
    text = journal.read_text()
    again = build(circuit, rounds=5, seed=1, resume=journal)
    assert again.layout is not None
    assert best is not None
    assert again.layout.volume <= best.volume
    if again.layout.volume == best.volume:
        assert journal.read_text() == text
    build(circuit, rounds=0, resume=journal)
    once = journal.read_text()
    build(circuit, rounds=0, resume=journal)
    assert journal.read_text() == once


def test_a_journal_of_other_pins_says_which(tmp_path: Path) -> None:
    journal = tmp_path / "build.jsonl"
    build(adder(1), rounds=0, resume=journal)
    said = r"line 1: the journal is of another build: pins is 'free', not 'ends'; name another file"
    with pytest.raises(InputError, match=said):
        build(adder(1), rounds=0, pins="ends", resume=journal)


@pytest.fixture(scope="module")
def certified(tmp_path_factory: pytest.TempPathFactory) -> tuple[Built, Path]:
    folder = tmp_path_factory.mktemp("built") / "proof"
    return build(adder(2), rounds=20, certificate=folder), folder


def test_a_certificate_is_audited(certified: tuple[Built, Path]) -> None:
    built, folder = certified
    report = audit(folder)
    assert report.passes
    assert "every assignment of 5 inputs" in report.certain[0]
    assert read_circuit_index(folder)[0].delay == built.delay


def sealed_again(folder: Path, **changes: object) -> None:
    """Write the index anew, as somebody would who forges a certificate."""
    from dataclasses import replace

    from synth.proofs.index_entries import FileEntry

    index = read_circuit_index(folder)[0]
    files = tuple(FileEntry.of(folder / entry.name) for entry in index.files)
    (folder / INDEX).write_text(replace(index, files=files, **changes).render())  # type: ignore[arg-type]


def other_circuit(folder: Path) -> None:
    text = (folder / CIRCUIT).read_text().splitlines()
    place = next(number for number, line in enumerate(text) if len(line.split()) == 3)
    made, one, other = text[place].split()
    text[place] = f"{made} {int(one) ^ 1} {other}"
    (folder / CIRCUIT).write_text("\n".join(text) + "\n")


def fewer_parts(folder: Path) -> None:
    layout = Layout.load(folder / LAYOUT)
    cells = dict(layout.cells)
    del cells[max(cell for cell, block in cells.items() if block.part.value == "inverter")]
    layout.replace(cells=cells).save(folder / LAYOUT)


def empty_proof(folder: Path) -> None:
    (folder / PROOF).write_text("0\n")


def weaker_formula(folder: Path) -> None:
    lines = (folder / FORMULA).read_text().splitlines()
    (folder / FORMULA).write_text("\n".join([*lines[:-1], "1 0"]) + "\n")


FORGED: list[tuple[Callable[[Path], None], str]] = [
    (other_circuit, LAYOUT),
    (fewer_parts, LAYOUT),
    (empty_proof, PROOF),
    (weaker_formula, FORMULA),
]


@pytest.mark.parametrize(("forge", "blamed"), FORGED)
def test_a_forged_certificate_fails_and_the_file_is_named(
    forge: Callable[[Path], None], blamed: str, certified: tuple[Built, Path], tmp_path: Path
) -> None:
    folder = tmp_path / "forged"
    shutil.copytree(certified[1], folder)
    forge(folder)
    assert not audit(folder).passes  # its hash is not the one in the index
    sealed_again(folder)
    report = audit(folder)
    assert report.problems[0].file == blamed


def test_a_shorter_delay_than_its_own_is_no_claim(
    certified: tuple[Built, Path], tmp_path: Path
) -> None:
    folder = tmp_path / "forged"
    shutil.copytree(certified[1], folder)
    sealed_again(folder, delay=1)
    assert "not at most 1 tick" in str(audit(folder).problems[0])


@pytest.mark.parametrize(
    "text",
    [
        "the layout computes adder2 within 3 ticks and is smallest",
        "the layout computes adder3 within {delay} ticks",
        "the layout computes adder2 within 1{delay} ticks",
    ],
)
def test_a_claim_in_words_that_is_not_that_of_the_data_fails(
    text: str, certified: tuple[Built, Path], tmp_path: Path
) -> None:
    folder = tmp_path / "forged"
    shutil.copytree(certified[1], folder)
    sealed_again(folder, text=text.format(delay=certified[0].delay))
    (problem,) = audit(folder).problems
    assert (problem.file, problem.text) == (INDEX, "the claim in words is not the claim in data")


def test_a_name_of_several_words_cannot_pass_for_a_claim(tmp_path: Path) -> None:
    text = "y = a & b"
    name = "and2 within 1 tick and is smallest"
    build(parse_equations(text, name), rounds=1, workers=1, certificate=tmp_path / "proof")
    assert audit(tmp_path / "proof").passes
    claimed = read_circuit_index(tmp_path / "proof")[0].text
    assert claimed.startswith(f"the layout computes {name!r} within ")


def at_least(bits: int) -> Circuit:
    """Whether one number is at least another: a row whose longest way no assignment takes."""
    lines = ["g0 = 1'b1"]
    for index in range(bits):
        one, other = f"u_{index}", f"v_{index}"
        lines.append(f"g{index + 1} = {one} & ~{other} | ~({one} ^ {other}) & g{index}")
    return parse_equations("\n".join([*lines, f"ge = g{bits}"]), "ge")


def test_the_least_delay_counts_where_every_assignment_can_be_played(tmp_path: Path) -> None:
    folder = tmp_path / "proof"
    free = build(at_least(6), rounds=1, workers=1, certificate=folder)
    assert free.layout is not None
    network = network_of(free.layout)
    assert isinstance(network, Network)
    assert free.delay is not None
    assert free.delay < network.delay
    assert free.exact_delay
    assert free.delay == free.outputs["ge"].most
    assert f"within {free.delay} ticks" in free.claim
    assert free.origin is not None
    assert free.origin.delay == free.delay
    # The audit finds the same.
    assert read_circuit_index(folder)[0].delay == free.delay
    assert audit(folder).passes
    # A limit that the longest way breaks, and no assignment does, throws nothing away.
    limited = build(at_least(6), limits=BuildLimits(delay=free.delay), rounds=1, workers=1)
    assert limited.status is Status.FOUND
    assert limited.layout is not None
    assert limited.layout.cells == free.layout.cells


def test_pieces_and_the_critical_path_end_at_the_delay() -> None:
    """Of a comparator, whose longest way no assignment takes."""
    lines = []
    for name, one, other in (("lt", "~a", "b"), ("gt", "a", "~b")):
        products = [
            f"{one}{bit} & {other}{bit}"
            + "".join(f" & ~(a{high} ^ b{high})" for high in range(bit + 1, 4))
            for bit in range(4)
        ]
        lines.append(f"{name} = {' | '.join(products)}")
    built = build(parse_equations("\n".join(lines), "cmp"), rounds=1, workers=1)
    assert built.layout is not None
    network = network_of(built.layout)
    assert isinstance(network, Network)
    assert built.delay is not None
    assert built.delay < network.delay
    assert built.pieces is not None
    assert built.pieces.critical[-1].tick == built.delay
    assert max(built.pieces.until.values()) == built.delay
    found = explain(built.layout)
    assert found.ticks == found.verdict.delay == built.delay
    assert f"Critical path, {built.delay} ticks" in explain_text(found)


def test_a_row_whose_longest_way_breaks_the_limit_is_shrunk_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    entered: list[Judged] = []

    def enter(_turns: Turns, _aim: Aim, judged: Judged, _told: object) -> None:
        entered.append(judged)

    monkeypatch.setattr(Turns, "enter", enter)
    build(at_least(6), limits=BuildLimits(delay=20), rounds=1, effort=1, workers=1)
    assert [judged.verdict.delay for judged in entered][:1] == [20]


def test_a_folder_with_other_things_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(InputError, match=r"mine\.txt"):
        build(adder(1), rounds=0, certificate=tmp_path)
    assert [entry.name for entry in tmp_path.iterdir()] == ["mine.txt"]


def test_other_rules_are_kept() -> None:
    rules = Rules(reach=9, buffer_delays=(2, 4))
    built = build(adder(2), rounds=5, rules=rules)
    assert built.status is Status.FOUND
    assert built.layout is not None
    assert isinstance(network_of(built.layout, rules), Network)


def test_the_document_is_json_and_tells_the_pieces() -> None:
    document = json.loads(json.dumps(build(adder(1), rounds=1).document()))
    assert document["format"] == "gatefit-build"
    titles = [f"{piece['kind']} {piece['name']}" for piece in document["pieces"]]
    assert set(titles) >= {step["piece"] for step in document["critical"][1:]}
    assert document["critical"][-1]["tick"] == document["delay"]
    parts = sum(piece["parts"] for piece in document["pieces"])
    assert parts == len(document["layout"]["parts"])
    assert Layout.from_document(document["layout"]).volume <= document["routed_volume"]


def test_the_certificate_of_another_circuit_is_not_replaced(tmp_path: Path) -> None:
    folder = tmp_path / "proof"
    build(adder(1), rounds=0, certificate=folder)
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    with pytest.raises(InputError, match="holds the certificate of another circuit"):
        build(adder(2), rounds=0, certificate=folder)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    build(adder(1), rounds=0, certificate=folder)
    assert audit(folder).passes


def test_a_folder_of_something_else_is_refused_before_anything_is_built(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    seen = Watching()
    with pytest.raises(InputError, match=r"mine\.txt"):
        build(adder(1), rounds=0, certificate=tmp_path, watcher=seen)
    assert not seen.events


@pytest.mark.parametrize("name", ["rounds", "effort"])
def test_less_than_nothing_is_refused(name: str) -> None:
    with pytest.raises(InputError, match=f"{name}: -1 is too few"):
        build(adder(1), **{name: -1})  # type: ignore[arg-type]


def test_a_certificate_of_the_same_circuit_under_another_name_is_replaced(tmp_path: Path) -> None:
    folder = tmp_path / "proof"
    build(adder(1), rounds=0, certificate=folder)
    build(replace(adder(1), name="other"), rounds=0, certificate=folder)
    assert audit(folder).passes


def test_a_folder_that_cannot_be_made_is_refused_before_anything_is_built(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    seen = Watching()
    with pytest.raises(InputError, match="cannot be written"):
        build(adder(1), rounds=0, certificate=tmp_path / "file" / "x", watcher=seen)
    assert not seen.events
    new = tmp_path / "new"
    with pytest.raises(InputError, match="pins"):
        build(adder(1), rounds=0, certificate=new, pins="nowhere")
    assert not new.exists()


def test_what_a_journal_holds_is_gone_on_from_where_nothing_can_be_placed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal = tmp_path / "gains.jsonl"
    first = build(adder(1), rounds=2, pins="ends", resume=journal)
    monkeypatch.setattr(pipeline, "MOST_CELLS", 1)
    monkeypatch.setattr(pipeline, "composed", lambda *given, **more: ())
    again = build(adder(1), rounds=0, pins="ends", resume=journal)
    assert again.layout is not None
    assert first.layout is not None
    assert again.layout.cells == first.layout.cells
