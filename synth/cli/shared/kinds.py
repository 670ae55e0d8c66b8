"""What a file holds and what its name says it holds: never two different things."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path

from synth.errors import InputError
from synth.layout.drawing import DRAWING_ENDING
from synth.words import listed

ENDINGS: dict[str, tuple[str, ...]] = {
    "JSON": (".json",),
    "a drawing": (DRAWING_ENDING,),
    "JSON lines": (".jsonl", ".ndjson"),
    "SVG": (".svg",),
    "PNG": (".png",),
    "glTF": (".gltf",),
    "VCD": (".vcd",),
    "Verilog": (".v", ".sv"),
    "CSV": (".csv",),
    "HTML": (".html", ".htm"),
    "DOT": (".dot", ".gv"),
    "plain text": (".txt", ".text", ".md", ".log"),
    "TOML": (".toml",),
    "SQLite": (".sqlite", ".sqlite3", ".db"),
    "PDF": (".pdf",),
    "a photograph": (".jpg", ".jpeg", ".gif", ".webp", ".bmp", ".tif", ".tiff"),
    "binary glTF": (".glb",),
    "an archive": (".zip", ".gz", ".tar", ".tgz", ".7z"),
    "a word processor's text": (".doc", ".docx", ".odt", ".rtf"),
}
"""Kinds of files by the endings of their names (common practice, no source).

Any other ending says nothing of what is in a file, and is nobody's business here.
"""

NO_TEXT = ("PNG", "SQLite", "PDF", "a photograph", "binary glTF", "an archive")
"""Kinds that no text is."""

MARKUP = ("HTML", "SVG")
"""Kinds that nobody reads on a terminal."""


def require_ending(path: str, kind: str, option: str = "--output") -> None:
    """Refuse a file whose name says that it holds something else than it will.

    Args:
        path: the file.
        kind: what it will hold, a key of ``ENDINGS``; ``text of any kind`` for lines by a
            template of the user's own.
        option: by which it was named.

    Raises:
        InputError: with a name that fits.
    """
    ending = Path(path).suffix.lower()
    says = next((other for other, endings in ENDINGS.items() if ending in endings), kind)
    # All but pictures and archives is text, and may be named so.
    a_text = kind not in NO_TEXT and says == "plain text"
    if says == kind or a_text or (kind not in ENDINGS and says not in NO_TEXT):
        return
    fitting = ENDINGS.get(kind, ENDINGS["plain text"])[0]
    raise InputError(
        f"the ending of {path!r} says {says}, but the file would hold {kind}",
        place=option,
        way_out=f"name it {Path(path).with_suffix(fitting).name!r}, or write another kind of file",
    )


def require_readable(kind: str, example: str) -> None:
    """Refuse to pour markup onto a terminal; into a pipe or a file it may go.

    Args:
        kind: what is to be written.
        example: a name for a file of it.

    Raises:
        InputError: with the option that names a file.
    """
    if kind in MARKUP and sys.stdout.isatty():
        raise InputError(
            f"{kind} cannot be read on a terminal",
            way_out=f"name a file: -o {example}",
        )


def kind_for(
    output: str | None, asked: str | None, kinds: Mapping[str, str], default: str | None = None
) -> str:
    """The kind of file to write: the one asked by ``--as``, or else what the file's ending says.

    Args:
        output: the file, or None: standard output.
        asked: the value of ``--as``, or None.
        kinds: what the file of each kind holds, a key of ``ENDINGS`` each; several kinds may hold
            the same, then the first of them counts.
        default: the kind where neither says one; None: there has to be one.

    Raises:
        InputError: if neither says one of the kinds.
    """
    if asked is not None:
        return asked
    ending = Path(output or "").suffix.lower()
    for kind, holds in kinds.items():
        if ending in ENDINGS.get(holds, ()):
            return kind
    if default is not None:
        return default
    endings = [ENDINGS[holds][0] for holds in kinds.values() if holds in ENDINGS]
    said = "nothing says what to write"
    if output is not None:
        said = f"the ending of {output!r} does not say what to write"
    raise InputError(
        said,
        place="--output" if output else "--as",
        way_out=f"name a file that ends in {listed(endings, 'or')}, or add --as "
        f"{listed(list(kinds), 'or')}",
    )
