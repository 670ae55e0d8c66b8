"""How documents are broken: values put where others belong, text cut, bent and spoilt.

All of it is drawn from one ``random.Random``, so that a seed stands for a document.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from random import Random
from typing import Any

CONTROL = "\x1b[2J\x1b]0;x\x07\x00\x7f\u202e\u2028\x85"
"""Terminal escapes, a change of direction, line ends that are none in JSON."""


DEEP, LONG = "deep", "long"
"""Stand for what Python's own tools fail at: lists in lists, and a number of 5,000 digits."""

_WRITTEN = {
    json.dumps(DEEP).encode(): b"[" * 900 + b"0" + b"]" * 900,
    json.dumps(LONG).encode(): b"9" * 5000,
}


def junk(draw: Random) -> Any:
    """A value that hardly belongs anywhere."""
    return copy.deepcopy(
        draw.choice(
            [
                *(None, True, False, 0, 1, -1, 2, 5, 64, 65, 255, 10**6, 10**9, -(10**9), 10**78),
                *(1.5, -0.0, 1e308, "", "x", "a", "q", "+x", "-z", "wire", "0", "01-", "q = a"),
                *([], {}, [0, 0, 0], [1, 1, 1], [0], [[]], [[0, 0, 0]], {"at": [0, 0, 0]}),
                *([10**6] * 3, [1] * 3000, ["+x"] * 50, {"x": {}}, {"": None}),
                *(CONTROL, "\ud800", "x" * 100_000, "ä€😀", "a\nb", "../../x", "/dev/zero"),
                *(DEEP, LONG, [[[[[[[[[[]]]]]]]]]]),
            ]
        )
    )


def places(value: Any) -> list[tuple[Any, Any]]:
    """Every container in a document with each of its keys."""
    found: list[tuple[Any, Any]] = []
    keys = list(value) if isinstance(value, dict) else range(len(value))
    for key in keys:
        found.append((value, key))
        if isinstance(value[key], dict | list):
            found += places(value[key])
    return found


def bent(document: Any, draw: Random) -> Any:
    """A JSON document with some of its values replaced, taken out, doubled or exchanged."""
    document = copy.deepcopy(document)
    for _ in range(draw.choice([1, 1, 1, 2, 5])):
        found = places(document) if isinstance(document, dict | list) else []
        if not found:
            return junk(draw)
        holder, key = draw.choice(found)
        other, other_key = draw.choice(found)
        match draw.randrange(6):
            case 0 | 1:
                holder[key] = junk(draw)
            case 2:
                del holder[key]
            case 3 if isinstance(holder, list):
                holder.insert(key, copy.deepcopy(holder[key]))
            case 3:
                holder[draw.choice(["x", "", CONTROL, "format", "y" * 5000])] = junk(draw)
            case 4:
                holder[key] = copy.deepcopy(other[other_key])
            case _:
                number = holder[key]
                whole = isinstance(number, int) and not isinstance(number, bool)
                holder[key] = number + draw.choice([-1, 1, 60, 10**5]) if whole else junk(draw)
    return document


def json_text(document: Any) -> bytes:
    """JSON of a document that may be broken itself."""
    return written(json.dumps(document))


def written(text: str) -> bytes:
    """JSON text with what ``DEEP`` and ``LONG`` stand for in their places."""
    data = text.encode("utf-8", "surrogatepass")
    for word, meant in _WRITTEN.items():
        data = data.replace(word, meant)
    return data


def spoilt(data: bytes, draw: Random) -> bytes:
    """Bytes cut short, flipped, repeated, or in another encoding."""
    at = draw.randrange(len(data) + 1)
    other = draw.randrange(len(data) + 1)
    start, end = sorted((at, other))
    changes: list[Callable[[], bytes]] = [
        lambda: data[:at],
        lambda: data[at:],
        lambda: data[:start] + data[end:],
        lambda: data[:at] + draw.randbytes(draw.choice([1, 2, 8])) + data[at:],
        lambda: data[:at] + bytes([draw.randrange(256)]) + data[at + 1 :],
        lambda: data + data[start:end],
        lambda: data[:at] + draw.choice(LURES) + data[at:],
        lambda: data.decode("utf-8", "replace").encode("utf-16"),
        lambda: b"\xef\xbb\xbf" + data,
        lambda: data.replace(b"\n", b"\r\n"),
    ]
    return draw.choice(changes)()


LURES = (
    *(b"\xff\xfe", b"\xc3", b"\x00", b"\x1b[31m", b"\n", b'"', b"{", b"}", b"[", b"]", b"#", b"="),
    *(b"[" * 5000, b'{"a":' * 5000, b"9" * 5000, b"a." * 3000, b"NaN", b"1e999", b"-Infinity"),
    *(b'{"a":1,"a":1}', b"1979-02-31", b"0x_1", b"'''", b'"""', b"\\ud800", b"\\u0000"),
)


def anything(draw: Random) -> bytes:
    """Bytes that are no document at all."""
    return draw.choice(
        [
            b"",
            b"\n",
            b"null",
            b"5",
            b"[",
            b"{}",
            b"[]",
            draw.choice(LURES),
            draw.choice(LURES) * 3,
            draw.randbytes(draw.randrange(200)),
            json_text(junk(draw)),
        ]
    )


def broken_json(document: Any, draw: Random) -> bytes:
    """A JSON document broken in one way or another; at times not at all."""
    match draw.randrange(10):
        case 0:
            return json_text(document)
        case 1:
            return anything(draw)
        case 2 | 3:
            return spoilt(json_text(document), draw)
        case _:
            return json_text(bent(document, draw))


DRAWN_JUNK = (
    *("##", "#", "::", "==", "++", " .", "..", "~<", "~_", "~", "1>", "9v", "0>", "*>", "15*", "|"),
    *("||", "z = 1", "z = 0", "z = 999999", "z = 0, x = 1 to 2", "x = 0 1", "y = +--+", "// ", "^"),
    *("a>", ">q", "<a", "in1>", "2a>", "v", "\t", " " * 5000, "|" * 5000, "## " * 300, "~<" * 9000),
    *("Pins", "pins\n  a output", "stack z", "ground maybe", "delay 99999", "size 9 x 9 x 9"),
    *("function q = a ^", 'name "', "table 0 1", "Settled: a=1", "Verdict: passes", "Made for "),
    *("buffers\n  [0, 0, 0] delay 12", "gatefit-drawing 7", "\u00e4\U0001f600", "+-" * 3000 + "x"),
)


def broken_drawing(text: str, draw: Random) -> bytes:
    """A drawing broken in one way or another; at times not at all."""
    lines = text.split("\n")
    match draw.randrange(10):
        case 0:
            return text.encode()
        case 1:
            return anything(draw)
        case 2:
            return spoilt(text.encode(), draw)
        case 3 | 4:
            for _ in range(draw.choice([1, 1, 3])):
                at, other = draw.randrange(len(lines)), draw.randrange(len(lines))
                lines[at] = draw.choice(["", lines[other], lines[at] + lines[other]])
            return "\n".join(lines).encode()
        case _:
            for _ in range(draw.choice([1, 1, 1, 2, 5])):
                at = draw.randrange(len(lines))
                cut = draw.randrange(len(lines[at]) + 1)
                end = cut + draw.choice([0, 1, 2, 3])
                lines[at] = lines[at][:cut] + draw.choice(DRAWN_JUNK) + lines[at][end:]
            return "\n".join(lines).encode()


LISTED_JUNK = (
    *(
        "0",
        "-1",
        "9" * 30,
        "1e3",
        "",
        "solid",
        "solod",
        "buffer",
        "inverter",
        "+x",
        "+z",
        "12",
        "65",
    ),
    *('"', '""', ",,,", ";", "\t", "x", "x,y,z", "\u00e4", "\x1b[2J", "x" * 5000, "0,0,0,solid,,"),
)


def broken_list(text: str, draw: Random) -> bytes:
    """A list of parts broken in one way or another; at times not at all."""
    lines = text.split("\n")
    match draw.randrange(8):
        case 0:
            return text.encode()
        case 1:
            return anything(draw)
        case 2:
            return spoilt(text.encode(), draw)
        case _:
            for _ in range(draw.choice([1, 1, 1, 3])):
                at = draw.randrange(len(lines))
                words = lines[at].split(",")
                words[draw.randrange(len(words))] = draw.choice(LISTED_JUNK)
                lines[at] = ",".join(words)
            return "\n".join(lines).encode()


TOML_JUNK = (
    *("1", "-1", "0", "65", "1e999", "nan", "1.5", "true", '""', '"x"', '"q = a"', "[]", "{}"),
    *("[[]]", "[1, 2, 3]", '["a", "b"]', "{ a = 1 }", "9" * 5000, "9" * 30, "1000000000"),
    *('"' + "x" * 50_000 + '"', '"\\u001b[2J\\u0007"', '"\\U0010FFFF"', "1979-05-27", "07:32:00"),
    *("[" * 300 + "]" * 300, '["+x", "+x"]', '"+z"', "[" + "1," * 3000 + "]", "[[0, 0, 0]]"),
)


def broken_toml(text: str, draw: Random) -> bytes:
    """A TOML document broken in one way or another; at times not at all."""
    lines = text.splitlines()
    match draw.randrange(10):
        case 0:
            return text.encode()
        case 1:
            return anything(draw)
        case 2 | 3:
            return spoilt(text.encode(), draw)
        case 4:
            del lines[draw.randrange(len(lines))]
        case 5:
            lines.insert(draw.randrange(len(lines) + 1), draw.choice(lines))
        case 6:
            line = draw.choice(["x = 1", "[x]", "[[x]]", "a.b.c = 1", '"\\u001b" = 1', "[limits]"])
            lines.insert(draw.randrange(len(lines) + 1), line)
        case _:
            for _ in range(draw.choice([1, 1, 2])):
                at = draw.choice([n for n, line in enumerate(lines) if "=" in line] or [0])
                key = lines[at].partition("=")[0]
                lines[at] = f"{key}= {draw.choice(TOML_JUNK)}"
    return "\n".join(lines).encode("utf-8", "surrogatepass")
