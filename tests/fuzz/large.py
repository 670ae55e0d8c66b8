"""Inputs that are in order, or nearly, and ask for much: large layouts, deep play, bombs."""

from __future__ import annotations

import gzip
import hashlib
import json
from random import Random
from typing import Any

from tests.fuzz.breaking import json_text
from tests.fuzz.cases import (
    LAYOUT_COMMANDS,
    Case,
    certificate,
    placed,
    sealed,
)

FACES = {"-x": 0, "+x": 0, "-y": 1, "+y": 1}


def random_document(draw: Random, most_cells: int = 150) -> dict[str, Any]:
    """A layout of any parts anywhere; most are illegal, many are played."""
    size = [draw.randint(1, 7), draw.randint(1, 5), draw.randint(1, 6)]
    while size[0] * size[1] * size[2] > most_cells:
        size[draw.randrange(3)] = 1
    parts = []
    for x in range(size[0]):
        for y in range(size[1]):
            for z in range(size[2]):
                entry: dict[str, Any] = {"at": [x, y, z]}
                odd = z % 2 == 1 and draw.random() < 0.8
                kinds = ("wire", "inverter", "buffer") if odd else ("solid", "ledge", "clear")
                entry["part"] = draw.choice(kinds)
                if entry["part"] == "inverter":
                    entry["on"] = draw.choice(["-z", "-z", "+x", "-y"])
                if entry["part"] == "buffer":
                    entry |= {"to": draw.choice(list(FACES)), "delay": draw.choice([1, 2, 4, 64])}
                if draw.random() < 0.8:
                    parts.append(entry)
    pins = []
    for number in range(draw.choice([0, 1, 2, 3, 5, 9, 17])):
        face = draw.choice(list(FACES))
        at = [draw.randrange(side) for side in size]
        at[FACES[face]] = 0 if face[0] == "-" else size[FACES[face]] - 1
        role = "output" if number and draw.random() < 0.4 else "input"
        joint = draw.choice(["wire", "buffer"])
        pins.append({"name": f"p{number}", "role": role, "at": at, "face": face, "joint": joint})
    stack = draw.choice([None, {"axis": draw.choice("xyz"), "pitch": draw.choice([1, 3, 6, 400])}])
    return {
        **{"format": "gatefit-layout", "version": 1, "size": size, "parts": parts},
        **{"pins": pins, "stack": stack, "ground": draw.random() < 0.3},
    }


def random_case(draw: Random) -> Case:
    """Such a layout, for a command that takes one."""
    command = draw.choice([*LAYOUT_COMMANDS, ["check", "F", "--rules", "rules.toml"]])
    rules = f"reach = {draw.choice([1, 15, 1000])}\nbuffer_delays = [1, 2, 4, 64]\n"
    return Case(
        tuple("bad.json" if word == "F" else word for word in command),
        {"bad.json": json_text(random_document(draw)), "rules.toml": rules.encode()},
    )


def chain(length: int, rows: int, delay: int) -> dict[str, Any]:
    """Buffers one after another, to and fro: it settles after as many ticks as they delay."""
    parts = []
    for y in range(0, 2 * rows - 1, 2):
        forth = y % 4 == 0
        for x in range(length):
            parts.append({"at": [x, y, 0], "part": "solid"})
            part: dict[str, Any] = {"at": [x, y, 1], "part": "wire"}
            if 0 < x < length - 1:
                part |= {"part": "buffer", "to": "+x" if forth else "-x", "delay": delay}
            parts.append(part)
        if y < 2 * rows - 2:
            x = length - 1 if forth else 0
            parts += [{"at": [x, y + 1, 0], "part": "solid"}, {"at": [x, y + 1, 1], "part": "wire"}]
    last = 2 * rows - 2
    face, x = ("+x", length - 1) if last % 4 == 0 else ("-x", 0)
    pins = [
        {"name": "a", "role": "input", "at": [0, 0, 1], "face": "-x"},
        {"name": "q", "role": "output", "at": [x, last, 1], "face": face},
    ]
    return {
        **{"format": "gatefit-layout", "version": 1, "size": [length, 2 * rows - 1, 2]},
        **{"parts": parts, "pins": pins, "stack": {"axis": "y", "pitch": 2 * rows + 1}},
    }


def grid(side: int, inputs: int) -> dict[str, Any]:
    """Sheets of wire on sheets of solid, and inverters on some."""
    parts: list[dict[str, Any]] = []
    for x in range(side):
        for y in range(side):
            for z in range(side):
                if z % 3 == 0:
                    parts.append({"at": [x, y, z], "part": "solid"})
                elif z % 3 == 1:
                    part = {"part": "wire"} if z % 2 else {"part": "inverter", "on": "-z"}
                    parts.append({"at": [x, y, z], **part})
    pins = [
        {"name": f"a{n}", "role": "input", "at": [0, 2 * n, 1], "face": "-x"} for n in range(inputs)
    ]
    pins.append({"name": "q", "role": "output", "at": [side - 1, 0, 1], "face": "+x"})
    head = {"format": "gatefit-layout", "version": 1, "size": [side] * 3}
    return {**head, "parts": parts, "pins": pins}


def large_case(draw: Random) -> Case:
    """A document that is too much, or nearly."""
    match draw.randrange(7):
        case 0:
            document = chain(draw.choice([10, 30, 60]), draw.choice([3, 9, 20]), 4)
        case 1:
            document = grid(draw.choice([8, 16, 30, 40]), draw.choice([1, 3]))
        case 2:
            return many_case(draw)
        case 3 | 4:
            return hostile_certificate(draw)
        case 5:
            number = draw.choice([10**6, 10**9, 10**78])
            option = draw.choice(["length", "width", "height", "volume", "delay", "parts", "pitch"])
            return Case(("solve", "q = ~a", f"--{option}={number}", "--stack", "y", "--delay=-1"))
        case _:
            return Case((draw.choice(["show", "check", "view"]), "/dev/zero"))
    command = draw.choice(LAYOUT_COMMANDS)
    return Case(
        tuple("big.json" if word == "F" else word for word in command),
        {"big.json": json_text(document)},
    )


def many_case(draw: Random) -> Case:
    """A file of megabytes."""
    part = b'{"at":[0,0,0],"part":"solid"},'
    head = b'{"format":"gatefit-layout","version":1,"size":[1000000,1,1],"pins":[],"parts":['
    data = draw.choice(
        [
            head + part * 1_000_000 + b"1]}",
            head + part * 2_000_000 + b"1]}",
            b"[" + b"[]," * 10_000_000 + b"1]",
            b'{"format":"' + b"x" * 30_000_000 + b'"}',
            b"reach = [" + b"[]," * 600_000 + b"]",
            b"\n".join(b"a%d = 1" % number for number in range(150_000)),
            b"a." * 15 + b"a = 1\n" * 50_000,
        ]
    )
    files = {"big": data, "gate.json": b"{}"}
    command = draw.choice([["show", "big"], ["check", "gate.json", "--spec", "big.toml"]])
    return Case(tuple(command), files | {"big.toml": data})


def hostile_certificate(draw: Random) -> Case:
    """A certificate that asks for more than it has to show, sealed with care."""
    files = dict(certificate())
    index = json.loads(files["index.json"])
    question = draw.choice(index["questions"])
    match draw.randrange(5):
        case 0:
            question["size"] = draw.choice([[40, 40, 40], [10**78, 1, 1], [64, 64, 64]])
        case 1:
            question["delay"] = draw.choice([60, 10**7])
        case 2:
            more = []
            for number in range(20_000):
                cube = {"pin": "q", "cell": [number, 0, 0], "face": "+x"}
                more.append({**question, "cube": cube})
            index["questions"] += more
        case 3:
            limits = {"length": 64, "width": 64, "height": 64, "delay": draw.choice([1, 64])}
            index["claim"]["limits"] |= limits
            text = files["spec.toml"].decode()
            for name, old in (("length", 2), ("width", 1), ("height", 2), ("delay", 1)):
                text = text.replace(f"{name} = {old}", f"{name} = {limits[name]}")
            files["spec.toml"] = text.encode()
        case _:
            name = draw.choice([name for name in files if name.endswith(".gz")])
            files[name] = gzip.compress(draw.choice([b"0", b"1 0\n", b"\n"]) * 30_000_000)
    for entry in index["files"]:
        data = files[entry["name"]]
        entry |= {"size": len(data), "sha256": hashlib.sha256(data).hexdigest()}
    files["index.json"] = sealed(index)
    return Case(("audit", "proof", "--quiet", "--workers", "1"), placed(files))
