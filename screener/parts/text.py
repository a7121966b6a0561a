"""Bringing a written designation to one alphabet, character for character, so that spans stay those of the input."""

from __future__ import annotations

_DASHES = "‐‑‒–—―−﹣－"
_TIMES = "×✕✖⨯∗＊"
_BLANKS = "\t\n\r\v\f\u00a0\u2007\u2009\u200a\u202f\u3000"
# Cyrillic and Greek capitals that look like Latin ones: price lists mix keyboards.
_LOOK_LIKE_LATIN = dict(zip("АВСЕКМНОРТХУ", "ABCEKMHOPTXY", strict=True)) | dict(
    zip("ΑΒΕΖΗΙΚΜΝΟΡΤΥΧ", "ABEZHIKMNOPTYX", strict=True)
)


def _table() -> dict[int, str]:
    table = {ord(char): "-" for char in _DASHES}
    table |= {ord(char): "X" for char in _TIMES}
    table |= {ord(char): " " for char in _BLANKS}
    table |= {ord(char): latin for char, latin in _LOOK_LIKE_LATIN.items()}
    table |= {ord(char.lower()): latin for char, latin in _LOOK_LIKE_LATIN.items()}
    table[ord("_")] = " "
    table |= {0xFF10 + digit: str(digit) for digit in range(10)}
    table |= {code: chr(code - 32) for code in range(ord("a"), ord("z") + 1)}
    table |= {ord(small): big for small, big in zip("äöüéèà", "ÄÖÜÉÈÀ", strict=True)}
    table |= {ord("⁄"): "/", ord("／"): "/", ord("*"): "X", ord("⌀"): " ", ord("Ø"): " ", ord("ø"): " "}
    return table


_TABLE = _table()
SEPARATORS = " -/,;.+_()[]:|'\"="


def normalise(text: str) -> str:
    """Return the text in capitals with one kind of dash, blank and times sign; as long as the input.

    >>> normalise("6205–2rs")
    '6205-2RS'
    """
    return text.translate(_TABLE)


def number_text(value: float) -> str:
    """Return a dimension as the trade writes it: no needless zeros."""
    return f"{value:g}"
