"""How a reading was taken, and what is left of it, reaches the piece's page in words."""

from __future__ import annotations

from pathlib import Path

import pytest

from coilbook.core.reduction.reduce import reduce_reading
from coilbook.pages.piece.value_lines import at_most, of_the_probe
from coilbook.records import load_archive, load_reference
from coilbook.records.contents import Reading

_PIECES = """\
piece_id,family_id,state,potted,publish
a-1,staggered-rod-single-coil,untouched,no,yes
"""
_READINGS = """\
piece_id,component,property_id,value,temperature,circuit,parallel,test_frequency,equivalent,standoff,zero
a-1,coil,coil-resistance,5.8k,20,in_circuit,,,,,
a-1,coil,coil-resistance,150k,20,in_circuit,,,,,
a-1,coil,coil-resistance,5.9k,20,in_circuit,250k,,,,
a-1,coil,coil-inductance,2.5 H,,,,1 kHz,parallel,,
a-1,magnet,pole-flux-density,40 mT,,,,,,1.5 mm,-1 mT
a-1,magnet,pole-flux-density,95 mT,,,,,,0,
"""
_SETTINGS = 'title = "T"\npublisher = "T"\nlicence = "L"\nkind = "invented"\n'


@pytest.fixture(scope="module")
def readings(tmp_path_factory: pytest.TempPathFactory) -> tuple[Reading, ...]:
    """Return the readings above as a shop's archive yields them."""
    folder: Path = tmp_path_factory.mktemp("archive")
    files = {
        "coilbook.toml": _SETTINGS,
        "pieces.csv": _PIECES,
        "readings.csv": _READINGS,
        "instruments.csv": "instrument_id,name,measures,accuracy_percent,accuracy_digits\n",
    }
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    reference = load_reference().value
    assert reference is not None
    archive = load_archive(folder, reference).value
    assert archive is not None
    return archive.pieces["a-1"].readings


def test_an_unknown_path_tells_both_ends(readings: tuple[Reading, ...]) -> None:
    """5.8 kΩ hidden by 100 kΩ is 6.157 kΩ, by the plain circuit; others have no upper end."""
    told = [at_most(reduce_reading(r), r.property) for r in readings[:3]]
    assert told == ["at most 6.16\xa0kΩ if nothing under 100 kΩ lies across", "", ""]


def test_how_bridge_and_probe_were_set_is_told(readings: tuple[Reading, ...]) -> None:
    """As it was written: the equivalent with its frequency, the gap, the probe's zero."""
    assert [of_the_probe(r) for r in readings[2:]] == [
        [],
        ["parallel equivalent at 1 kHz"],
        ["1.5 mm off the pole", "-1 mT with no magnet near"],
        [],
    ]
