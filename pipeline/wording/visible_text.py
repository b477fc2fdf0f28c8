"""Anybody's text made fit to be shown: on a terminal, on a page, in a message. JSON keeps the bytes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

DASH: Final = "–"


def missing(value: object) -> bool:
    """Whether a cell holds nothing (None, NaN, NaT)."""
    return value is None or value != value  # noqa: PLR0124 - only NaN and NaT differ from themselves


def listed(words: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]


def capital(text: str) -> str:
    """A sentence's beginning."""
    return text[:1].upper() + text[1:]


def name(value: object) -> str:
    """The name of a group; what was not logged is said to be so."""
    return "not logged" if missing(value) else visible(value)


def visible(text: object) -> str:
    """Anybody's text as one line that can be shown: what would steer a terminal or turn the line round becomes a picture.

    Control characters (C0, C1), bidirectional overrides and isolates, surrogates and non-characters; nothing is dropped.
    """
    return DASH if missing(text) else "".join(map(_shown, str(text)))


def lines(text: str) -> str:
    """A text of several lines for a terminal: its line ends stay, all else that would steer it becomes a picture."""
    return "\n".join(map(visible, text.split("\n")))


def for_json(document: str) -> str:
    r"""A JSON document that says the same with what would steer a terminal written as ``\u001b`` (RFC 8259, 7)."""
    return "".join(ch if ch == "\n" or _shown(ch) == ch else _escaped(ch) for ch in document)


def _escaped(ch: str) -> str:
    """One character as UTF-16 escapes."""
    code = ord(ch)
    if code < 0x10000:
        return f"\\u{code:04x}"
    high, low = divmod(code - 0x10000, 0x400)
    return f"\\u{0xD800 + high:04x}\\u{0xDC00 + low:04x}"


def _shown(ch: str) -> str:
    code = ord(ch)
    if 0x20 <= code < 0x7F:
        return ch
    if code < 0x20:
        return chr(0x2400 + code)
    if code == 0x7F:
        return "\N{SYMBOL FOR DELETE}"
    return "\N{REPLACEMENT CHARACTER}" if any(code in unsafe for unsafe in _UNSAFE) else ch


_UNSAFE: Final = (
    range(0x80, 0xA0), range(0x61C, 0x61D),
    range(0x200E, 0x2010), range(0x2028, 0x202F), range(0x2060, 0x2070), range(0xD800, 0xE000),
    range(0xFDD0, 0xFDF0), range(0xFFF9, 0xFFFC), range(0xFFFE, 0x10000), range(0xE0000, 0xE0080),
)  # fmt: skip
"""C1 controls; marks, overrides, isolates and line ends of bidirectional text; surrogates; non-characters; tags."""
