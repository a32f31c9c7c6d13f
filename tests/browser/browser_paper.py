"""What tests of printed pages share: a PDF as pixels, and what stands in them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2

MM_PER_INCH = 25.4


def raster(pdf: Path, dpi: int) -> list[Any]:
    """Return each page of a PDF as grey pixels, ``dpi`` to the inch."""
    document = pypdfium2.PdfDocument(pdf)
    pages = [page.render(scale=dpi / 72, grayscale=True).to_numpy().squeeze() for page in document]
    document.close()
    return pages


def runs(line: Any) -> list[tuple[int, int]]:
    """Return where each run of black pixels in a line begins and ends."""
    dark = np.concatenate([[0], (line < 128).astype(int), [0]])
    change = np.diff(dark)
    return list(zip(np.flatnonzero(change == 1), np.flatnonzero(change == -1), strict=True))


def text(pdf: Path) -> str:
    """Return the text of a PDF without spaces and hyphens, which depend on where lines break."""
    document = pypdfium2.PdfDocument(pdf)
    found = "".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    return squeezed(found)


def squeezed(words: str) -> str:
    """Return words without spaces and hyphens; pdfium marks one at a line's end."""
    return "".join(c for c in words if not c.isspace() and c not in "-\ufffe\x02")
