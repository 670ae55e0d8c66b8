"""``gatefit shrink`` from the outside."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from synth.layout import Layout
from synth.layout.documents import layout_text
from synth.medium import SOLID
from synth.shrinking import crew
from tests.cli.conftest import NOT_GATE, Run

LOOSE = NOT_GATE.replace(size=(2, 2, 4)).with_cells({(0, 1, 3): SOLID, (1, 1, 0): SOLID})


@pytest.fixture
def loose(tmp_path: Path) -> str:
    (tmp_path / "loose.json").write_text(layout_text(LOOSE), encoding="utf-8")
    return "loose.json"


def test_it_writes_what_it_reached(gatefit: Run, loose: str) -> None:
    ended = gatefit(
        "shrink", loose, "--pins", "free", "--effort", "1", "-o", "small.json",
        "--plot", "small.svg", "--plot", "small.png", "--resume", "small.jsonl",
    )  # fmt: skip
    assert ended.code == 0
    assert "Shrunk: volume 16 to 2, parts 5 to 2" in ended.out
    assert "Whether a smaller layout exists is not known" in ended.out
    assert "2 x 1 x 1, delay 1, 2 parts (deletion)" in ended.err
    assert Layout.load("small.json").volume == 2
    assert gatefit("check", "small.json", "--function", "q = ~a").code == 0
    root = ElementTree.fromstring(Path("small.svg").read_text(encoding="utf-8"))
    texts = ["".join(node.itertext()).strip() for node in root.iter() if node.tag.endswith("text")]
    assert "16: 2 x 2 x 4" in texts
    assert "2: 2 x 1 x 1" in texts
    assert Path("small.png").read_bytes().startswith(b"\x89PNG")
    again = gatefit(
        "shrink", loose, "--pins", "free", "--effort", "1", "--resume", "small.jsonl", "--json"
    )
    assert again.code == 0
    assert "from 2 x 1 x 1, delay 1, 2 parts, from the journal" in again.err
    assert Layout.from_document(again.document["layout"]).volume == 2
    assert [gain["kind"] for gain in again.document["gains"]] == ["deletion"] * len(
        again.document["gains"]
    )


def test_limits_that_the_layout_breaks_come_first_and_what_is_not_kept_is_said(
    gatefit: Run, loose: str
) -> None:
    kept = gatefit("shrink", loose, "--pins", "free", "--effort", "1", "--height", "2")
    assert kept.code == 0
    not_kept = gatefit("shrink", loose, "--effort", "1", "--delay", "0", "--json")
    assert not_kept.code == 3
    assert not_kept.document["keeps_limits"] is False
    said = gatefit("shrink", loose, "--effort", "1", "--delay", "0")
    assert "It does not keep all limits asked yet: 0 ticks cannot be had by any layout" in said.out
    low = gatefit("shrink", loose, "--effort", "1", "--height", "1")
    assert "It does not keep all limits asked yet: more time may help" in low.out


def test_what_it_prints_can_be_checked(gatefit: Run, loose: str) -> None:
    ended = gatefit("shrink", loose, "--effort", "1", "--json", "--quiet")
    assert ended.err == ""
    assert gatefit("check", "-", "--function", "q = ~a", stdin=ended.out).code == 0


@pytest.mark.parametrize("function", [(), ("--function", "q = a ^ b")])
def test_what_it_was_made_for_stays_in_its_file(gatefit: Run, function: tuple[str, ...]) -> None:
    drawn = Path(__file__).parents[2] / "docs" / "loose_xor.drawing"
    ended = gatefit("shrink", str(drawn), *function, "--effort", "1", "--quiet", "-o", "s.drawing")
    assert ended.code == 0
    assert Layout.load("s.drawing").volume < Layout.load(drawn).volume
    heading = " ".join(Path("s.drawing").read_text(encoding="utf-8").split())
    assert "name loose exclusive-or function q = a ^ b delay 2 stack y" in heading


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--minimize", "weight"], "no measure 'weight'"),
        (["--time-limit", "-1"], "--time-limit: a time limit of -1 seconds"),
        (["--plot", "x.pdf"], "--plot: the ending of 'x.pdf' is not that of a picture"),
        (["--function", "q = a"], "gatefit: loose.json: the layout is not right"),
        (["--function", "q = ~b"], "the pins of the layout are not those"),
        (["--resume", "loose.json"], "loose.json"),
        (["-o", "none/x.json"], "cannot write 'none/x.json'"),
    ],
)
def test_what_cannot_be_used_is_refused_in_one_line(
    arguments: list[str], says: str, gatefit: Run, loose: str
) -> None:
    ended = gatefit("shrink", loose, "--effort", "1", *arguments)
    assert ended.code == 2
    assert ended.out == ""
    assert says in ended.err
    assert ended.err.count("\n") == 1
    assert json.loads(Path(loose).read_text())["format"] == "gatefit-layout"


def test_stopped_from_the_keyboard_it_writes_the_best_so_far(
    gatefit: Run, loose: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(self: crew.Alone, until: float | None) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(crew.Alone, "take", stop)
    ended = gatefit("shrink", loose, "--time-limit", "60", "-o", "small.json")
    assert ended.code == 130
    assert "layout written to small.json, as far as it got" in ended.err
    assert Layout.load("small.json").volume < LOOSE.volume
