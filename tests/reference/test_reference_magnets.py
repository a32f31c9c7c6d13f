"""The magnet grades against the outside list, and minimum values against their own names."""

from __future__ import annotations

from coilbook.records.types import Reference


def test_typical_values_are_those_of_the_list(
    reference: Reference, published_magnets: list[dict[str, str]]
) -> None:
    """The typical rows are exactly those of the list of MMPA 0100 (from memory)."""
    outside = {
        (row["grade"], row["process"]): tuple(
            float(row[name]) for name in ("br_mt", "hc_ka_per_m", "bhmax_kj_per_m3")
        )
        for row in published_magnets
    }
    ours = {
        (m.grade, m.process): (m.br_mt, m.hc_ka_per_m, m.bhmax_kj_per_m3)
        for m in reference.magnets.values()
        if m.value_kind == "typical"
    }
    assert ours == outside


def test_typical_and_minimum_are_not_mixed(reference: Reference) -> None:
    """MMPA 0100 gives typical values and IEC 60404-8-1 minimum ones; all are marked as recalled."""
    kinds = {(m.standard, m.value_kind) for m in reference.magnets.values()}
    assert kinds == {("MMPA Standard 0100", "typical"), ("IEC 60404-8-1", "minimum")}
    assert {m.evidence for m in reference.magnets.values()} == {"recalled"}


def test_minimum_values_agree_with_their_names(reference: Reference) -> None:
    """The first number of an IEC 60404-8-1 name is BHmax in kJ/m³, rounded (rule from memory).

    The second is a tenth of the coercivity of the polarisation in kA/m, rounded up or down, which
    is never below the coercivity of the flux density that the table gives.
    """
    minimum = [m for m in reference.magnets.values() if m.value_kind == "minimum"]
    assert len(minimum) == 8
    for magnet in minimum:
        product, coercivity = map(float, magnet.grade.removeprefix("AlNiCo ").split("/"))
        assert abs(magnet.bhmax_kj_per_m3 - product) <= 0.5
        assert magnet.hc_ka_per_m <= coercivity * 10 + 5


def test_energy_product_is_possible(reference: Reference) -> None:
    """No magnet stores more than Br x Hc, the box around its curve (elementary)."""
    for magnet in reference.magnets.values():
        box_kj_per_m3 = magnet.br_mt / 1000 * magnet.hc_ka_per_m
        assert magnet.bhmax_kj_per_m3 < box_kj_per_m3, magnet.magnet_id


def test_grade_number_is_no_order_of_strength(reference: Reference) -> None:
    """By remanence, grade 3 lies below 2, and 4 below all others (MMPA 0100, from memory)."""
    cast = {
        m.grade: m.br_mt
        for m in reference.magnets.values()
        if m.value_kind == "typical" and m.process == "cast"
    }
    assert cast["3"] < cast["2"]
    assert min(cast, key=lambda grade: cast[grade]) == "4"
