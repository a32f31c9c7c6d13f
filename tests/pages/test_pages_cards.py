"""The cards' own decisions: which code they carry and what they leave out.

A symbol's size is that of ISO/IEC 18004 (recalled): version v has 17 + 4 v modules a side, and four
free ones around it.
"""

from __future__ import annotations

import re
from types import SimpleNamespace
from typing import Any, cast

import pytest

from coilbook.pages import text
from coilbook.pages.drawn import qr
from coilbook.pages.family import wall_card as family_card
from coilbook.pages.page import Book
from coilbook.pages.piece import bench_card as card


def book(base_url: str | None) -> Book:
    """Return as much of a book as a code needs."""
    settings = SimpleNamespace(base_url=base_url)
    return cast(Book, SimpleNamespace(archive=SimpleNamespace(settings=settings)))


def test_without_an_address_there_is_no_code() -> None:
    """An archive that does not know where it will stand gets no code, and the reason."""
    assert qr.code(book(None), "pieces/x-1") == qr.Code("", "", "no_base_url")


@pytest.mark.parametrize("base", ["https://x.example/shop", "https://x.example/shop/"])
def test_an_address_ends_like_the_permanent_links(base: str) -> None:
    """With and without a slash in the settings the address is the same, and ends in a slash."""
    assert qr.code(book(base), "pieces/x-1").address == "https://x.example/shop/pieces/x-1/"


@pytest.mark.parametrize("length", [40, 60, 84, 106, 107, 130, 152])
def test_a_symbol_keeps_to_its_corner_and_can_be_scanned(length: int) -> None:
    """Whatever the address, modules are 0.4 mm or more and the whole is 25 mm or less."""
    base = "https://x.example/" + "a" * (length - len("https://x.example//p/"))
    found = qr.code(book(base), "p")
    assert len(found.address) == length
    width, modules = re.findall(r'width="([\d.]+)mm".*?transform="scale\(([\d.]+)\)"', found.svg)[0]
    side = float(width) / float(modules)
    assert float(modules) >= 0.4
    assert float(width) <= 25.0
    # Four free modules on each side, and 17 + 4 v between them.
    assert (side - 8.0 - 17.0) % 4.0 == pytest.approx(0.0, abs=1e-6)


def test_an_address_too_long_for_the_corner_is_only_written() -> None:
    """Beyond that the card carries the address in letters, and says why there is no code."""
    found = qr.code(book("https://x.example/" + "a" * 150), "pieces/x-1")
    assert found.why == "too_long"
    assert found.svg == ""
    assert found.address.endswith("/pieces/x-1/")


def row(what: str = "Pair, resistance", written: str = "7.9k") -> card.CardRow:
    """Return a row of a card."""
    return card.CardRow(what, written, "", 0, "7.90 ± 0.05 kΩ", "", False, ())


def test_a_sheet_takes_what_it_has_room_for_in_order() -> None:
    """Rows are taken from the first on; one that finds no room ends the table."""
    rows = [row(str(i)) for i in range(5)]
    assert card._that_fit(rows, [1, 1, 1, 1, 1], 3) == tuple(rows[:3])
    assert card._that_fit(rows, [1, 1, 9, 1, 1], 3) == tuple(rows[:2])


def test_a_long_cell_counts_for_its_lines() -> None:
    """What breaks into two lines on paper takes the room of two."""
    assert card._lines(row()) == 1
    assert card._lines(row(written="7.9 kΩ, 26 °C, in circuit, 500k across")) == 2


def _said(words: str) -> tuple[family_card.Said, ...]:
    return (family_card.Said("", (words,), text.evidence("recalled", None, None), False),)


def test_neighbouring_periods_of_which_the_same_is_said_share_a_line() -> None:
    """They are joined, but never where the archive tells them apart."""
    lines = [
        family_card.CardLine("1956", _said("7–8"), ()),
        family_card.CardLine("1957", _said("7–8"), ()),
        family_card.CardLine("1958", _said("7–8"), ("7.5 (7.2–7.8), 9",)),
        family_card.CardLine("1959", _said("8–9"), ()),
    ]
    assert [line.years for line in family_card._joined(lines)] == ["1956, 1957", "1958", "1959"]
    assert family_card._joined(cast(Any, [])) == ()
