"""Resonance and hum beside scipy's filters and beside each other."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import signal

from coilbook.errors import OutOfDomain
from coilbook.measures.hum import hum_left_db, hum_left_of_imbalance_db
from coilbook.measures.pair import imbalance_percent
from coilbook.measures.resonance import (
    band_edge_hz,
    gain_db,
    peak_frequency_hz,
    undamped_frequency_hz,
)

INDUCTANCE = st.floats(0.5, 12.0)
RESISTANCE = st.floats(500.0, 20e3)
CAPACITANCE = st.floats(40e-12, 2e-9)
LOAD = st.one_of(st.just(math.inf), st.floats(20e3, 2e6))


@given(INDUCTANCE, RESISTANCE, CAPACITANCE, LOAD)
def test_the_gain_is_what_scipy_makes_of_the_same_transfer_function(
    inductance: float, resistance: float, capacitance: float, load: float
) -> None:
    """Over 100 Hz to 20 kHz the closed form agrees with scipy.signal.freqs, an outside library."""
    hertz = np.geomspace(100.0, 20e3, 200)
    denominator = [
        inductance * capacitance,
        resistance * capacitance + inductance / load,
        1.0 + resistance / load,
    ]
    _, response = signal.freqs([1.0], denominator, worN=2 * np.pi * hertz)
    ours = gain_db(hertz, inductance, resistance, capacitance, load)
    np.testing.assert_allclose(ours, 20 * np.log10(np.abs(response)), atol=1e-9)


@given(INDUCTANCE, RESISTANCE, CAPACITANCE, LOAD)
def test_the_peak_is_the_highest_point_and_the_edge_lies_beyond_it(
    inductance: float, resistance: float, capacitance: float, load: float
) -> None:
    """No frequency near the peak gives more; at the edge the gain is -3 dB and falls from there."""
    coil = (inductance, resistance, capacitance, load)
    peak = peak_frequency_hz(*coil)
    assume(peak is not None)
    assert peak is not None
    beside = gain_db(peak * np.array([0.9, 0.99, 1.01, 1.1]), *coil)
    assert (beside <= gain_db(peak, *coil) + 1e-12).all()
    assert peak <= undamped_frequency_hz(inductance, capacitance) * math.sqrt(
        1.0 + resistance / load
    )
    edge = band_edge_hz(*coil)
    if edge is not None:
        assert gain_db(edge, *coil) == pytest.approx(-3.0, abs=1e-6)
        assert gain_db(1.05 * edge, *coil) < -3.0


def test_strong_damping_leaves_no_peak() -> None:
    """Under a load of a few kΩ the output only falls."""
    assert peak_frequency_hz(4.4, 7800.0, 610e-12, 5e3) is None


@given(st.floats(500.0, 20e3), st.floats(500.0, 20e3))
def test_hum_from_resistances_is_hum_from_their_imbalance(a: float, b: float) -> None:
    """Both ways of asking give one figure, and it does not matter which coil is which."""
    assume(abs(a - b) > 1e-3)
    left = hum_left_db(a, b)
    assert left == pytest.approx(hum_left_db(b, a))
    assert left == pytest.approx(hum_left_of_imbalance_db(imbalance_percent(a, b)), abs=1e-9)
    assert left < 0.0


def test_hum_of_uneven_coils() -> None:
    """Coils of 3.5 kΩ and 4.5 kΩ leave an eighth of the hum: 20 log10(1/8) = -18.06 dB."""
    assert hum_left_db(3500.0, 4500.0) == pytest.approx(-18.06, abs=0.005)
    assert hum_left_db(4000.0, 4000.0) == -math.inf
    assert hum_left_of_imbalance_db(0.0) == -math.inf


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan])
def test_nonsense_is_refused_by_name(bad: float) -> None:
    """A part that is nothing, negative or no number is named with the next step."""
    with pytest.raises(OutOfDomain, match="inductance_h must be above 0"):
        gain_db(1000.0, bad, 7800.0, 610e-12)
    with pytest.raises(OutOfDomain, match="load_ohm must be above 0"):
        peak_frequency_hz(4.4, 7800.0, 610e-12, bad)
    with pytest.raises(OutOfDomain, match="resistance_a_ohm must be above 0"):
        hum_left_db(bad, 4000.0)
