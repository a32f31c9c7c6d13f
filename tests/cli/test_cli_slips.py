"""Slips at the keyboard that a repairer makes: what is meant is understood or named.

Those in an archive's files are in ``tests/records/first_day_slips.toml``.
"""

from __future__ import annotations

from typing import Any

import pytest

FAMILY = ("--family", "full-size-humbucker")

#: What is typed, how it ends, and what is said of it (on either stream).
SLIPS: list[tuple[tuple[str, ...], int, str]] = [
    (("show", "lq-1"), 1, "no piece 'lq-1'. Did you mean 'lq-0001'?"),
    (("show", "12"), 1, "no piece '12'. Did you mean 'lq-0012'?"),
    (
        ("compare", *FAMILY, "--pair", "8.1", "k"),
        1,
        "'k' stands apart from its number. Write the two together, as in 8.1k, or in quotation "
        'marks, as in "8.1 k".',
    ),
    (
        ("compare", "--pair", "8.1k"),
        1,
        "  blade-humbucker                Humbucker with two blades",
    ),
    (("winding",), 1, "with a plain word such as humbucker:\n  full-size-humbucker"),
    (
        ("compare", "--family", "humbucker", "--pair", "8.1k"),
        0,
        "'humbucker' is taken for full-size-humbucker. A humbucker without another word is the "
        "full-size one.",
    ),
    (("winding", "--family", "Soap-Bar"), 0, "'Soap-Bar' is taken for wide-bar-single-coil."),
    (("ranges", "Small humbucker"), 0, "'Small humbucker' is taken for small-humbucker."),
    (("ranges", "humbuker"), 1, "no family 'humbuker'. Did you mean 'humbucker'?"),
    (("ranges", "qqq"), 1, "no family 'qqq'.   full-size-humbucker"),
    (
        ("compare", *FAMILY, "--pair", "8.1"),
        0,
        "--pair: '8.1' has no unit and was read as 8.1 kΩ. Write the unit if you meant another.",
    ),
    (
        ("compare", *FAMILY, "--pair", "8100"),
        1,
        "--pair: 8100 kΩ (no unit is written, and kΩ was assumed) is above 2000 kΩ, which "
        "pair-resistance never is. If it was 8100 Ω, write that.",
    ),
    (("compare", *FAMILY, "--pair", "8.1k", "--at", "72"), 0, "If it was 72 °F, write that."),
    (
        ("compare", *FAMILY, "--coil", "4k"),
        1,
        "--coil: full-size-humbucker has two coils. Give --coil-a and --coil-b, or --pair for both "
        "in series.",
    ),
    (("compare", *FAMILY, "--pair", "8.1k", "--position", "Bridge"), 0, "· bridge ·"),
    (("compare", *FAMILY, "--pair", "8.1k", "--years", "1957-58"), 0, "1957–58"),
    (
        ("compare", *FAMILY, "--read", "resistance=8k"),
        1,
        "Write pair-resistance or coil-resistance@coil_a.",
    ),
    (("explain", "cell-emty"), 1, "Did you mean 'cell-empty'?"),
    (("schema", "chek"), 1, "Did you mean 'check'?"),
]


@pytest.mark.parametrize(
    ("arguments", "ends", "says"), SLIPS, ids=[" ".join(s[0])[:40] for s in SLIPS]
)
def test_a_slip_is_understood_or_named(
    coilbook: Any, arguments: tuple[str, ...], ends: int, says: str
) -> None:
    """What was probably meant is done and said, or what to write stands there."""
    result = coilbook(*arguments)
    assert result.exit_code == ends
    assert says in result.output


def test_a_table_for_a_folder(coilbook: Any, bench: Any) -> None:
    """A table named where its archive belongs is told from a folder, with what to name."""
    result = coilbook("check", bench / "pieces.csv")
    assert result.exit_code == 1
    assert result.stderr.endswith("is a file. Name the folder that it lies in.\n")
