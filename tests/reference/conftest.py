"""What the tests of the documented reference share: the reference as loaded, and outside tables."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from coilbook.records import load_reference
from coilbook.records.contents import Reference

HERE = Path(__file__).parent


@pytest.fixture(scope="session")
def reference() -> Reference:
    """Return the committed reference; a test of its own says what is wrong if it does not load."""
    loaded = load_reference()
    if loaded.value is None:
        pytest.fail("\n".join(map(str, loaded.problems)))
    return loaded.value


def published(name: str) -> list[dict[str, str]]:
    """Return the rows of a table of outside values that lies beside the tests."""
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="session")
def published_wires() -> list[dict[str, str]]:
    """Wire by gauge: overall diameters, nominal mils, resistance per length.

    Diameters in mm: NEMA MW 1000, as the open data package PyOpenMagnetics 1.7.35
    transcribes it (run; the standard itself was not open). Nominal mils: 36 to 40 AWG seen in
    published wire tables, the rest from memory and from that package. Resistances: computed
    outside the project from the nominal mils with IEC 60028 copper; 39 and 45 AWG have none.
    """
    return published("published_wires.csv")


@pytest.fixture(scope="session")
def published_magnets() -> list[dict[str, str]]:
    """Typical values of MMPA Standard 0100-00 (grade 4: an older edition), all from memory."""
    return published("published_magnets.csv")


@pytest.fixture(scope="session")
def recalled_iec_wires() -> list[dict[str, str]]:
    """Largest diameters by IEC 60317-0-1, from memory, written down before any look-up."""
    return published("recalled_iec_wires.csv")


@pytest.fixture(scope="session")
def recalled_magnets_cgs() -> list[dict[str, str]]:
    """Typical values of MMPA Standard 0100-00 in gauss, oersted and MGOe, from memory."""
    return published("recalled_magnets_cgs.csv")
