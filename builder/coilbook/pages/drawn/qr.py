"""The permanent address of a page, and its QR code for paper (ISO/IEC 18004) as inline SVG."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal
from urllib.parse import quote

import segno

from coilbook.pages.page import Book

#: How large a module is printed; of a large symbol smaller, so that it keeps to its corner. Below
#: 0.4 mm it would ask much of a telephone's camera at a bench.
MODULE_MM = 0.5
SMALL_MODULE_MM = 0.42
_LARGE_MODULES = 41
#: The free border that the standard asks for, in modules.
QUIET_MODULES = 4
#: So many bytes a symbol of 49 modules holds at level M; a larger one would crowd the card out.
LONGEST = 152
#: Any of the eight masks makes a symbol that every reader reads. Looking for the evenest of them
#: would take four times as long for each of ten thousand cards.
_MASK = 0


@dataclass(frozen=True, slots=True)
class Code:
    """A page's address and its symbol; without an address ``svg`` is empty and ``why`` says why."""

    address: str
    svg: str
    why: Literal["", "no_base_url", "too_long"]


def code(book: Book, folder: str) -> Code:
    """Return the code that leads to ``folder`` of the site, as in pieces/x-1, at its address."""
    base = book.archive.settings.base_url
    if not base:
        return Code("", "", "no_base_url")
    address = f"{base.rstrip('/')}/{quote(folder)}/"
    if len(address.encode()) > LONGEST:
        return Code(address, "", "too_long")
    return Code(address, _svg(address), "")


def _svg(address: str) -> str:
    symbol = segno.make_qr(address, error="m", mask=_MASK)
    side = symbol.symbol_size(border=0)[0]
    # Always black on white: many readers do not see a light symbol on a dark page.
    return symbol.svg_inline(
        scale=MODULE_MM if side <= _LARGE_MODULES else SMALL_MODULE_MM,
        unit="mm",
        border=QUIET_MODULES,
        dark="#000",
        light="#fff",
        svgclass="cb-qr",
        lineclass=None,
        omitsize=False,
    )
