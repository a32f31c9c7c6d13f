"""Near misses: the option that was probably meant."""

from __future__ import annotations

import pytest

from coilbook.core.written.spelling import did_you_mean, nearest

PIECES = [f"lq-{i:04d}" for i in range(1, 263)]


@pytest.mark.parametrize(
    ("typed", "options", "meant"),
    [
        ("coil_c", ["pair", "coil_a", "magnet"], "coil_a"),
        ("Neck", ["bridge", "neck"], "neck"),
        ("full-size-humbuker", ["small-humbucker", "full-size-humbucker"], "full-size-humbucker"),
        ("zzz", ["bridge", "neck"], None),
        ("neck", [], None),
    ],
)
def test_the_nearest_option_is_found_or_none(
    typed: str, options: list[str], meant: str | None
) -> None:
    """A slip finds its word whatever the letter case; nothing like it finds nothing."""
    assert nearest(typed, options) == meant
    assert did_you_mean(typed, options) == (f"Did you mean '{meant}'? " if meant else "")


def test_of_like_ids_the_one_that_begins_alike_is_taken() -> None:
    """Among hundreds of ids a digit apart, a lost last digit leads to one with the same start."""
    found = nearest("lq-001", PIECES)
    assert found is not None
    assert found.startswith("lq-001")
