"""The magnet grades against the outside list, and minimum values against their own names."""

from __future__ import annotations

import math

import pytest
from scipy import constants

from coilbook.records.contents import Reference


def test_typical_values_are_those_of_the_lists(
    reference: Reference,
    published_magnets: list[dict[str, str]],
    recalled_magnets_cgs: list[dict[str, str]],
) -> None:
    """The typical rows are exactly those of two lists of MMPA 0100, both from memory."""
    outside = {
        (row["grade"], row["process"]): tuple(
            float(row[name]) for name in ("br_mt", "hc_ka_per_m", "bhmax_kj_per_m3")
        )
        for row in published_magnets
    }
    typical = {i: m for i, m in reference.magnets.items() if m.value_kind == "typical"}
    in_old_units = {row["magnet_id"] for row in recalled_magnets_cgs}
    ours = {
        (m.grade, m.process): (m.br_mt, m.hc_ka_per_m, m.bhmax_kj_per_m3)
        for i, m in typical.items()
        if i not in in_old_units
    }
    assert in_old_units <= set(typical)
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
    assert len(minimum) == 20
    for magnet in minimum:
        # A p at the end stands for plastic: a bonded magnet.
        assert magnet.grade.endswith("p") == (magnet.process == "bonded")
        name = magnet.grade.removesuffix("p").rpartition(" ")[2]
        product, coercivity = map(float, name.split("/"))
        assert abs(magnet.bhmax_kj_per_m3 - product) <= 0.5
        assert magnet.hc_ka_per_m <= coercivity * 10 + 5


def test_energy_product_is_possible(reference: Reference) -> None:
    """No magnet stores more than Br x Hc, the box around its curve (elementary)."""
    for magnet in reference.magnets.values():
        box_kj_per_m3 = magnet.br_mt / 1000 * magnet.hc_ka_per_m
        assert magnet.bhmax_kj_per_m3 < box_kj_per_m3, magnet.magnet_id


def test_energy_product_is_not_too_small(reference: Reference) -> None:
    """A curve that only bends outwards holds at least a straight line's Br x Hc / 4 (textbooks).

    Recalled figures of a grade that did not belong together would show here or above. Printed
    figures are rounded by a percent or two. Minimum
    values are each stated by themselves and rounded, so that theirs may lie a tenth lower.
    """
    for magnet in reference.magnets.values():
        line_kj_per_m3 = magnet.br_mt / 1000 * magnet.hc_ka_per_m / 4
        share = 0.98 if magnet.value_kind == "typical" else 0.9
        assert magnet.bhmax_kj_per_m3 > share * line_kj_per_m3, magnet.magnet_id


def test_energy_product_is_below_that_of_a_perfect_magnet(reference: Reference) -> None:
    """No magnet of a remanence stores more than Br² / (4 mu0), that of a rigid one (textbooks)."""
    for magnet in reference.magnets.values():
        rigid = (magnet.br_mt / 1000) ** 2 / (4 * constants.mu_0) / 1000
        assert magnet.bhmax_kj_per_m3 < 1.005 * rigid, magnet.magnet_id
        # ... nor a coercivity of the flux density above Br / mu0.
        assert magnet.hc_ka_per_m < 1.005 * magnet.br_mt / 1000 / constants.mu_0 / 1000


def test_figures_recalled_in_old_units_are_converted_right(
    reference: Reference, recalled_magnets_cgs: list[dict[str, str]]
) -> None:
    """Gauss, oersted and MGOe (recalled) by their definitions, to half the last digit."""
    assert len(recalled_magnets_cgs) == 9
    for row in recalled_magnets_cgs:
        magnet = reference.magnets[row["magnet_id"]]
        assert magnet.br_mt == pytest.approx(float(row["br_g"]) / 10, abs=0.5)
        # 1 Oe is 1000/(4 pi) A/m, 1 G is 0.1 mT, and so 1 MGOe is 100/(4 pi) kJ/m³.
        assert magnet.hc_ka_per_m == pytest.approx(float(row["hc_oe"]) / (4 * math.pi), abs=0.51)
        product = 100 / (4 * math.pi) * float(row["bhmax_mgoe"])
        assert magnet.bhmax_kj_per_m3 == pytest.approx(product, abs=0.05)


def test_grade_number_is_no_order_of_strength(reference: Reference) -> None:
    """By remanence, grade 3 lies below 2, and 4 below all others (MMPA 0100, from memory)."""
    cast = {
        m.grade: m.br_mt
        for m in reference.magnets.values()
        if m.value_kind == "typical" and m.process == "cast"
    }
    assert cast["3"] < cast["2"]
    assert min(cast, key=lambda grade: cast[grade]) == "4"
