"""Text that is safe to show: on a terminal, in a page, in a message.

Floor 1: imports nothing of ours.
"""

from __future__ import annotations

import unicodedata

_JOINERS = "\u200c\u200d"
"""Marks without width that some scripts need; they are of the category ``Cf`` and harmless."""

_UNSAFE = frozenset({"Cc", "Cf", "Cs", "Cn", "Co", "Zl", "Zp"})
"""Unicode's general categories (Unicode Standard Annex 44, table 12) of characters that may control
a terminal, change the reading order, or have no shape: controls, formats, surrogates, unassigned
and private characters, and separators of lines."""


def is_printable(text: str, *, lines: bool = False) -> bool:
    """Whether a text can be shown as it is; with ``lines`` it may have several lines."""
    if text.isascii() and text.isprintable():
        return True
    return all(_is_safe(character) or (lines and character == "\n") for character in text)


def cleaned(text: str, *, lines: bool = False) -> str:
    r"""The text with everything unsafe written as an escape, such as ``\x1b``.

    Letters, marks and signs of all scripts stay as they are.

    Args:
        text: any text.
        lines: whether it may have several lines.
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(
        character if _is_safe(character) or (lines and character == "\n") else _escaped(character)
        for character in text
    )


_EXCERPT = 40
"""How much of a long line is shown on each side of a caret, in characters."""


def pointed(line: str, at: int) -> str:
    """The line around its character ``at``, and below it a caret under that character.

    Both lines are indented by two columns; a long line is cut on both sides.
    """
    left, right = max(0, at - _EXCERPT), min(len(line), at + _EXCERPT)
    head = "..." if left > 0 else ""
    tail = "..." if right < len(line) else ""
    # Give every character one column, whatever a terminal does with tabs and control characters.
    excerpt = "".join(char if char.isprintable() else " " for char in line[left:right])
    return f"  {head}{excerpt}{tail}\n  {' ' * (len(head) + at - left)}^"


def _is_safe(character: str) -> bool:
    return character in _JOINERS or unicodedata.category(character) not in _UNSAFE


def _escaped(character: str) -> str:
    number = ord(character)
    if number < 1 << 8:
        return f"\\x{number:02x}"
    return f"\\u{number:04x}" if number < 1 << 16 else f"\\U{number:08x}"
