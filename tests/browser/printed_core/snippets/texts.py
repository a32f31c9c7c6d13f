"""Texts, patterns, and exact numbers that were written."""

from __future__ import annotations

import re
import unicodedata
from datetime import date
from fractions import Fraction

_END = r"(?![\d.,/])"
NUMBER = re.compile(rf"(?P<sign>[+-])?(?P<whole>\d+)(?:[.,](?P<decimals>\d+))?{_END}")
WORD = re.compile(r"\b(\w+)\b\s*$", re.IGNORECASE)
RANGE = re.compile(r".*\d ?(?!e)[^\d ./]* ?(?:-|\.\.+|\bto\b) ?[.,]?\d", re.IGNORECASE)
CLOSED = re.compile(r"[1-9]\d{0,2}[.,]\d{3}\Z")
_PLAIN = str.maketrans({"½": " 1/2", "–": "-", "\u200b": None})


def methods(text: str) -> list[object]:
    """What core asks of a text."""
    return [
        text.strip(), text.lstrip(" a"), text.rstrip(), text.split(), text.split(","),
        text.split(None, 1), text.partition("-"), text.rpartition("-"), text.lower(), text.upper(),
        text.casefold(), text.replace("a", "$&"), text.startswith(("a", "1")), text.endswith("b"),
        text.isdecimal(), text.isupper(), text[1:3], text[-2:], text[:1], len(text),
        text.count("a"),
        "a" in text, text.removesuffix("b"), text.removeprefix("a"), text.translate(_PLAIN),
        " ".join(unicodedata.normalize("NFKC", text).split()), text[::-1], text.isspace(),
        text.zfill(6), text.find("b"), f"{text!r}", f"{text:>8}|{text:<4}|", text * 2,
        [c for c in text], text > "b", "{text} of {n:g}".format(text=text, n=2.5),
    ]  # fmt: skip


def patterns(text: str) -> list[object]:
    """What core asks of patterns."""
    found = NUMBER.match(text)
    word = WORD.search(text)
    return [
        None if found is None else [found[0], found["whole"], found.groupdict(), found.end()],
        None if found is None else text[found.end() :],
        None if word is None else [word[1], word.start(), word.span()],
        NUMBER.fullmatch(text) is not None, RANGE.match(text) is not None,
        CLOSED.match(text) is not None, re.sub(r"\D", "", text), re.sub(r"(\d)(\w)", r"\2\1", text),
        [m[0] for m in NUMBER.finditer(text)], re.findall(r"\w+", text),
        bool(re.match(r"\s", text)),
    ]  # fmt: skip


def exact(top: str, bottom: str, power: int) -> list[object]:
    """Exact numbers, and what they are when rounded once."""
    try:
        value = Fraction(top) / Fraction(bottom) * Fraction(10) ** power
        found = [
            float(value),
            float(-value + 1),
            value == 0,
            value > Fraction(1, 3),
            float(abs(value)),
        ]
    except (ValueError, ZeroDivisionError, OverflowError):
        return ["refused"]
    return [*found, str(value)]


def read(text: str) -> list[object]:
    """Numbers and days that somebody wrote."""
    made: list[object] = []
    try:
        made.append(float(text))
    except ValueError:
        made.append("no number")
    try:
        made.append(int(text))
    except ValueError:
        made.append("not whole")
    try:
        day = date.fromisoformat(text)
        made += [day.toordinal(), day.isoformat(), day.year, day > date(2000, 1, 1)]
    except ValueError:
        made.append("no day")
    return made
