"""Metals: conductivity, skin depth and gathered field against textbooks and the wave equation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import constants

from coilbook.errors import OutOfDomain
from coilbook.measures.metals import (
    apparent_permeability,
    conductivity_percent,
    skin_depth_m,
)


def test_conductivity_is_a_share_of_58_megasiemens() -> None:
    """IEC 60028: 100 % is 58.0 MS/m at 20 °C (from memory), whatever the metal."""
    for percent in (6.0, 28.0, 61.0, 100.0):
        siemens_per_m = percent / 100 * 58.0 * constants.mega
        assert conductivity_percent(1 / siemens_per_m) == pytest.approx(percent, rel=1e-12)


@pytest.mark.parametrize(
    ("resistivity", "relative"), [(17.241e-9, 1.0), (290e-9, 1.0), (145e-9, 60.0), (145e-9, 500.0)]
)
def test_skin_depth_agrees_with_the_wave_equation(resistivity: float, relative: float) -> None:
    """The field goes as exp(-k x) with k² = j omega mu / rho; 1/Re k is the depth (any textbook).

    The magnetic constant is scipy's measured one, which differs from 4 pi 1e-7 in the tenth digit.
    """
    for hertz in (50.0, 1e3, 5e3, 1e6):
        k = np.sqrt(2j * math.pi * hertz * constants.mu_0 * relative / resistivity)
        assert skin_depth_m(resistivity, hertz, relative) == pytest.approx(1 / k.real, rel=1e-8)


def test_skin_depth_of_copper_is_the_handbooks() -> None:
    """Copper: 66 µm at 1 MHz and 9.35 mm at 50 Hz (handbook values, from memory)."""
    copper = 1 / 58e6
    assert skin_depth_m(copper, 1e6) == pytest.approx(66e-6, abs=0.5e-6)
    assert skin_depth_m(copper, 50.0) == pytest.approx(9.35e-3, abs=0.005e-3)


def test_a_sphere_gathers_as_the_textbooks_say() -> None:
    """A sphere (N = 1/3): 3 mu/(mu + 2); a needle (N = 0) all, a plate (N = 1) none (textbooks)."""
    for relative in (1.0, 5.0, 60.0, 4000.0):
        assert apparent_permeability(relative, 1 / 3) == pytest.approx(
            3 * relative / (relative + 2), rel=1e-12
        )
        assert apparent_permeability(relative, 0.0) == relative
        assert apparent_permeability(relative, 1.0) == pytest.approx(1.0, rel=1e-12)


def test_what_is_no_metal_is_refused() -> None:
    """Nothing is worked out from a size that is not above 0, or from an impossible factor."""
    with pytest.raises(OutOfDomain, match="resistivity_ohm_m"):
        skin_depth_m(0.0, 1e3)
    with pytest.raises(OutOfDomain, match="resistivity_ohm_m"):
        conductivity_percent(-1.0)
    with pytest.raises(OutOfDomain, match=r"factor of 1.5"):
        apparent_permeability(60.0, 1.5)
