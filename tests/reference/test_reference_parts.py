"""Nominal parts against preferred values, geometry of a cable, and the loads of the examples."""

from __future__ import annotations

import math

import pytest
from scipy import constants

from coilbook.measures.response import EXAMPLE_LOADS
from coilbook.records.contents import Reference
from coilbook.records.tables.models import NominalPart

#: E6 of IEC 60063, and the older round numbers (both from memory).
E6 = (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)
ROUND = (1.0, 2.0, 5.0)


def of_kind(reference: Reference, kind: str) -> list[NominalPart]:
    """Return the parts of one kind; there are some."""
    found = [p for p in reference.parts.values() if p.kind == kind]
    assert found
    return found


def mantissa(value: float) -> float:
    """Return a number's leading digits, from 1 to 10."""
    return round(value / 10 ** math.floor(math.log10(value)), 6)


def test_tone_capacitors_are_preferred_values(reference: Reference) -> None:
    """Each belongs to the series that its row names; 22 and 47 replaced 20 and 50."""
    for part in of_kind(reference, "tone-capacitor"):
        assert part.nominal is not None
        assert part.unit == "nF"
        series = {"E6": E6, "1-2-5": ROUND}[part.series or ""]
        assert mantissa(part.nominal) in series, part.part_id
        # E6 is made for ± 20 %, and a closer tolerance is allowed in it.
        assert part.tolerance_percent is not None
        assert part.tolerance_percent <= 20


def test_e6_itself_is_a_rounded_geometric_series() -> None:
    """E6 is 10^(n/6), as IEC 60063 says, to 5 %: the list above is not just any list."""
    for n, value in enumerate(E6):
        assert value == pytest.approx(10 ** (n / 6), rel=0.05)


def test_pots_are_round_numbers_of_one_tolerance(reference: Reference) -> None:
    """1, 2.5 and 5 in each decade, ± 20 % (common practice): no value is one of the E series."""
    for part in of_kind(reference, "pot"):
        assert part.nominal is not None
        assert mantissa(part.nominal) in (1.0, 2.5, 5.0)
        assert part.tolerance_percent == 20
        assert part.evidence == "common_practice"


def coaxial_pf_per_m(permittivity: float, ratio: float) -> float:
    """Return a coaxial cable's capacitance: 2 pi epsilon / ln(D/d) (any textbook)."""
    return 1e12 * 2 * math.pi * constants.epsilon_0 * permittivity / math.log(ratio)


def test_cable_capacitance_is_that_of_a_coaxial_cable(reference: Reference) -> None:
    """Foamed (1.6) to solid (2.3) polyethylene and screens 3.5 to 5 times the wire fill the band.

    Permittivities of plastics from memory, proportions by common practice.
    """
    cable = reference.parts["cable"]
    assert cable.low is not None
    assert cable.high is not None
    assert cable.nominal is not None
    assert cable.low <= coaxial_pf_per_m(2.3, 4.0) <= cable.high
    assert coaxial_pf_per_m(1.6, 3.5) == pytest.approx(cable.low, rel=0.05)
    assert cable.low < cable.nominal < cable.high


def test_braided_lead_is_that_of_cloth_between_wires(reference: Reference) -> None:
    """Cloth and air (1.5 to 3), a braid 1.8 to 3 times the wire: the row's band, rounded."""
    lead = reference.parts["braided-lead"]
    assert lead.evidence == "recalled"
    assert lead.low == pytest.approx(coaxial_pf_per_m(1.5, 3.0), rel=0.06)
    assert lead.high == pytest.approx(coaxial_pf_per_m(3.0, 1.8), rel=0.06)


def test_the_example_loads_are_made_of_usual_parts(reference: Reference) -> None:
    """The pots, the cable and the input that responses are drawn with all stand in the table."""
    parts = reference.parts
    ohms = {1e3 * (p.nominal or 0.0) for p in of_kind(reference, "pot")}
    farads = {1e-9 * (p.nominal or 0.0) for p in of_kind(reference, "tone-capacitor")}
    length, per_m = parts["cable-length"].nominal, parts["cable"].nominal
    assert length is not None
    assert per_m is not None
    for load in EXAMPLE_LOADS:
        assert load.volume_ohm in ohms
        assert load.tone_ohm in ohms
        assert any(load.tone_f == pytest.approx(f) for f in farads)
        assert load.cable_f == pytest.approx(length * per_m * 1e-12)
        assert load.input_ohm == 1e6 * (parts["amplifier-input"].nominal or 0.0)


def test_nothing_here_claims_a_document(reference: Reference) -> None:
    """All of it is common practice or recalled, and says so."""
    assert {p.evidence for p in reference.parts.values()} == {"common_practice", "recalled"}
