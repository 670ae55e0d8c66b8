"""Broken circuits, and broken certificates of circuits."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from synth.building import build
from synth.circuits.aiger_text import aiger_text
from synth.circuits.reading.equations import parse_equations
from tests.fuzz.breaking import CONTROL, anything, bent, json_text, spoilt
from tests.fuzz.case import Case

EQUATIONS = "inputs = a, b\noutputs = q r\nt = a ^ b  // inner\nq = t & ~b\nr = t ? a : 1'b0\n"

BLIF = """\
.model gate
.inputs a b
.outputs q
.names a b t # inner
10 1
01 1
.names t q
0 1
.end
"""

AIGER = aiger_text(parse_equations(EQUATIONS, "gate"))

TEXTS = {"bad.eqn": EQUATIONS, "bad.blif": BLIF, "bad.aag": AIGER}


def circuit_case(draw: Random) -> Case:
    """A circuit in one of the ways to write it."""
    if draw.random() < 0.15:
        return _certificate_case(draw)
    name = draw.choice([*TEXTS, "bad.aig"])
    text = TEXTS.get(name, AIGER.replace("aag", "aig", 1))
    data = anything(draw) if draw.random() < 0.1 else _broken(text, draw)
    options = draw.choice([(), (), ("--by", "delay"), ("--length", "9"), ("--joint", "wire")])
    return Case(("build", name, "--rounds", "1", *options), {name: data})


def _broken(text: str, draw: Random) -> bytes:
    """Lines taken out, doubled, exchanged or bent."""
    lines = text.split("\n")
    for _ in range(draw.choice([1, 1, 2, 4])):
        at = draw.randrange(len(lines))
        words = lines[at].split(" ")
        match draw.randrange(7):
            case 0:
                del lines[at : at + 1]
                lines = lines or [""]
            case 1:
                lines.insert(draw.randrange(len(lines)), lines[at])
            case 2:
                words[draw.randrange(len(words))] = draw.choice(
                    ["", "q", "t", "a", "-1", "0", "7", "9" * 40, CONTROL[:9], ".latch", "x" * 9999]
                )
                lines[at] = " ".join(words)
            case 3:
                other = draw.randrange(len(lines))
                lines[at], lines[other] = lines[other], lines[at]
            case 4:
                lines[at] += draw.choice([" \\", " 1", " #", "&", ")", "(" * 999, " ? a : b"])
            case 5:
                return spoilt("\n".join(lines).encode(), draw)
            case _:
                lines[at] = lines[at].replace("t", "q")
    return "\n".join(lines).encode("utf-8", "surrogatepass")


@cache
def _certificate() -> dict[str, bytes]:
    with TemporaryDirectory() as folder:
        build(parse_equations(EQUATIONS, "gate"), rounds=0, certificate=Path(folder))
        return {path.name: path.read_bytes() for path in Path(folder).iterdir()}


def _certificate_case(draw: Random) -> Case:
    """A certificate with one file broken, or an index that says other things."""
    files = {f"proof/{name}": data for name, data in _certificate().items()}
    name = draw.choice([*files, "proof/index.json", "proof/index.json"])
    if name == "proof/index.json" and draw.random() < 0.7:
        files[name] = json_text(bent(json.loads(files[name]), draw))
    else:
        files[name] = spoilt(files[name], draw)
    return Case(("audit", "proof"), files)
