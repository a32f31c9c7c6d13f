"""What a probe does to what it reads: a load across a resonant winding, a gap to a pole.

Also why a length needs nothing of the kind.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from coilbook.core.budgets.budget import Lines
from coilbook.core.budgets.uncertainty import Contribution, Estimate, rectangular
from coilbook.core.constants import (
    INPUT_CAPACITANCE_HALF_WIDTH,
    INPUT_RESISTANCE_HALF_WIDTH,
    require_not_negative,
    require_positive,
)
from coilbook.core.formulas.resonance import (
    capacitance_from_peak_f,
    inductance_from_peak_h,
    peak_frequency_hz,
    peak_frequency_sensitivities,
)
from coilbook.core.formulas.rods import RodMagnet, rod_on_axis_t
from coilbook.errors import OutOfDomain

DRIVE = "how the pickup was driven"
PROBE_CAPACITANCE = "capacitance of the probe"
PROBE_RESISTANCE = "resistance of the probe"

#: What is taken as exact has no budget.
_NO_BUDGETS: Mapping[str, Lines] = {}


def peak_by_inductance_hz(
    peak_hz: float,
    inductance_h: float,
    resistance_ohm: float,
    probe_capacitance_f: float,
    probe_ohm: float,
) -> float:
    r"""Return the peak that a winding of known inductance has without the probe.

    Formula: f_0 = f(L, R, C_{own}, \infty), \quad f(L, R, C_{own} + C_i, R_i) = f_m
    Arguments: peak_hz f_m [Hz], inductance_h L [H], resistance_ohm R [Ω],
        probe_capacitance_f C_i [F], probe_ohm R_i [Ω]
    Returns: f_0 [Hz]
    Validity: as the peak under a load, whose formula f is. The inductance is that near the peak;
        read low down on solid cores it is higher, and too much is then taken out.
    Errors: OutOfDomain unless peak, inductance and resistance are above 0, the probe's capacitance
        0 or more and its resistance above 0, which may be infinite; where the probe alone accounts
        for the peak.
    Source: common practice
    """
    own_f = capacitance_from_peak_f(
        peak_hz, inductance_h, probe_capacitance_f, resistance_ohm, probe_ohm
    )
    return _peak(inductance_h, resistance_ohm, own_f)


def peak_by_capacitance_hz(
    peak_hz: float,
    capacitance_f: float,
    resistance_ohm: float,
    probe_capacitance_f: float,
    probe_ohm: float,
) -> float:
    r"""Return the peak that a winding of known capacitance has without the probe.

    Formula: f_0 = f(L, R, C_{own}, \infty), \quad f(L, R, C_{own} + C_i, R_i) = f_m
    Arguments: peak_hz f_m [Hz], capacitance_f C_{own} [F], resistance_ohm R [Ω],
        probe_capacitance_f C_i [F], probe_ohm R_i [Ω]
    Returns: f_0 [Hz]
    Validity: as the peak under a load, whose formula f is.
    Errors: OutOfDomain unless peak, capacitance and resistance are above 0, the probe's capacitance
        0 or more and its resistance above 0, which may be infinite; where no inductance gives so
        high a peak.
    Source: common practice
    """
    inductance_h = inductance_from_peak_h(
        peak_hz, capacitance_f, probe_capacitance_f, resistance_ohm, probe_ohm
    )
    return _peak(inductance_h, resistance_ohm, capacitance_f)


def _peak(inductance_h: float, resistance_ohm: float, own_f: float) -> float:
    peak_hz = peak_frequency_hz(inductance_h, resistance_ohm, own_f)
    assert peak_hz is not None  # there was one under the probe, and less of a load only raises it
    return peak_hz


def driven_peak_ratio(
    inductance_h: float,
    resistance_ohm: float,
    capacitance_f: float,
    probe_capacitance_f: float,
    probe_ohm: float,
) -> float:
    r"""Return the peak without a probe over that with it, for a pickup in a field of steady size.

    Formula: \frac{f_0}{f_m} = \sqrt{\frac{C_{own} + C_i}{C_{own} (1 + R / R_i)}}
    Arguments: inductance_h L [H], resistance_ohm R [Ω], capacitance_f C_{own} [F],
        probe_capacitance_f C_i [F], probe_ohm R_i [Ω]
    Returns: f_0 / f_m [1]
    Validity: driven by a small coil with a steady current, a winding's voltage rises in proportion
        to frequency, and the peak under a load lies where (2πf)² L C = 1 + R/Ri whatever its other
        losses. The inductance drops out of the ratio.
    Errors: OutOfDomain unless inductance, resistance and capacitance are above 0, the probe's
        capacitance 0 or more and its resistance above 0, which may be infinite.
    Source: common practice
    """
    require_positive(
        inductance_h=inductance_h, resistance_ohm=resistance_ohm, capacitance_f=capacitance_f
    )
    require_not_negative(probe_capacitance_f=probe_capacitance_f)
    if not probe_ohm > 0.0:
        raise OutOfDomain(f"probe_ohm must be above 0, and is {probe_ohm}. Check its unit.")
    whole_f = capacitance_f + probe_capacitance_f
    return math.sqrt(whole_f / (capacitance_f * (1.0 + resistance_ohm / probe_ohm)))


def unloaded_peak(
    peak_hz: float,
    resistance_ohm: float,
    probe_capacitance_f: float,
    probe_ohm: float = math.inf,
    *,
    inductance_h: float | None = None,
    capacitance_f: float | None = None,
    budgets: Mapping[str, Lines] = _NO_BUDGETS,
) -> Estimate:
    """Return the peak of a winding without its probe, Hz, with the whole budget.

    Give one of ``inductance_h`` and ``capacitance_f``. ``budgets`` holds lines for ``peak``,
    ``resistance``, ``inductance`` and ``capacitance``, each with sensitivities of that quantity in
    SI; the probe's own two lines are added here. Derivatives are analytic: the peak under the probe
    is one function of all parts, so that what is known of it and of the parts but one fixes the
    last, and that one moves the peak without the probe.

    Two ways of driving a pickup put the loaded peak in slightly different places
    (:func:`driven_peak_ratio`); their difference stands in the budget as a limit.

    Raises :class:`OutOfDomain` as the formulas do, and where neither or both parts are given.
    """
    if (inductance_h is None) == (capacitance_f is None):
        raise OutOfDomain("one of inductance_h and capacitance_f is needed. Give the better known.")
    if inductance_h is not None:
        whole_f = capacitance_from_peak_f(peak_hz, inductance_h, 0.0, resistance_ohm, probe_ohm)
        own_f = whole_f - probe_capacitance_f
        value = peak_by_inductance_hz(
            peak_hz, inductance_h, resistance_ohm, probe_capacitance_f, probe_ohm
        )
        henry, given, free = inductance_h, "inductance", "capacitance"
    else:
        assert capacitance_f is not None
        own_f = capacitance_f
        value = peak_by_capacitance_hz(
            peak_hz, own_f, resistance_ohm, probe_capacitance_f, probe_ohm
        )
        henry = inductance_from_peak_h(
            peak_hz, own_f, probe_capacitance_f, resistance_ohm, probe_ohm
        )
        given, free = "capacitance", "inductance"
    loaded = peak_frequency_sensitivities(
        henry, resistance_ohm, own_f + probe_capacitance_f, probe_ohm
    )
    alone = peak_frequency_sensitivities(henry, resistance_ohm, own_f)
    by = _derivatives(alone, loaded, given, free)
    driven_hz = peak_hz * driven_peak_ratio(
        henry, resistance_ohm, own_f, probe_capacitance_f, probe_ohm
    )
    return Estimate(
        value,
        (
            *_carried_on(budgets or {}, by),
            *_probe_lines(probe_capacitance_f, probe_ohm, by["peak"], loaded),
            Contribution(DRIVE, 0.0, rectangular(abs(driven_hz - value)), 1.0, "Hz", "rectangular"),
        ),
    )


_NAMES = {
    "resistance": "resistance_ohm",
    "inductance": "inductance_h",
    "capacitance": "capacitance_f",
}


def _derivatives(
    alone: Mapping[str, float], loaded: Mapping[str, float], given: str, free: str
) -> dict[str, float]:
    """Return what the peak without the probe does with that under it, and with the known parts.

    The peak under the probe and the known parts fix the ``free`` one.
    """
    by_peak = alone[_NAMES[free]] / loaded[_NAMES[free]]
    parts = ("resistance", given)
    by = {part: alone[_NAMES[part]] - by_peak * loaded[_NAMES[part]] for part in parts}
    return {"peak": by_peak, **by}


def _carried_on(budgets: Mapping[str, Lines], by: Mapping[str, float]) -> Iterator[Contribution]:
    """Yield the lines of the parts, each times what the peak does with its part."""
    for part, budget in budgets.items():
        if part not in by:
            continue
        for line in budget:
            yield Contribution(
                line.name if part == "peak" else f"{part}: {line.name}",
                line.estimate,
                line.standard_uncertainty,
                line.sensitivity * by[part],
                line.unit,
                line.distribution,
                line.degrees_of_freedom,
            )


def _probe_lines(
    probe_capacitance_f: float, probe_ohm: float, by_peak: float, loaded: Mapping[str, float]
) -> Iterator[Contribution]:
    """Yield the lines of the probe, as far as it has a capacitance and a resistance.

    Both stand in the loaded peak alone, the capacitance beside the winding's own.
    """
    if probe_capacitance_f > 0.0:
        yield Contribution(
            PROBE_CAPACITANCE,
            probe_capacitance_f * 1e12,
            rectangular(INPUT_CAPACITANCE_HALF_WIDTH * probe_capacitance_f) * 1e12,
            -by_peak * loaded["capacitance_f"] * 1e-12,
            "pF",
            "rectangular",
        )
    if math.isfinite(probe_ohm):
        yield Contribution(
            PROBE_RESISTANCE,
            probe_ohm / 1e6,
            rectangular(INPUT_RESISTANCE_HALF_WIDTH * probe_ohm) / 1e6,
            -by_peak * loaded["load_ohm"] * 1e6,
            "MΩ",
            "rectangular",
        )


def standoff_ratio(rod: RodMagnet, standoff_m: float, sensor_depth_m: float) -> float:
    r"""Return the flux density that a probe shows touching a rod, over that at a stand-off.

    Formula: k = \frac{B(z_s)}{B(z + z_s)}
    Arguments: rod m [D, L in m], standoff_m z [m], sensor_depth_m z_s [m]
    Returns: k [1]
    Validity: B is the field on the axis of one rod evenly and rigidly magnetised; how strongly
        drops out of the ratio. Other rods of a row with the same pole up make the ratio smaller, by
        at the most 0.6 % at 1 mm, 5 % at 3 mm and 15 % at 5 mm.
    Errors: OutOfDomain unless stand-off and depth are 0 or more.
    Source: common practice
    """
    require_not_negative(standoff_m=standoff_m, sensor_depth_m=sensor_depth_m)
    touching_t = rod_on_axis_t(1.0, rod, sensor_depth_m)
    return touching_t / rod_on_axis_t(1.0, rod, standoff_m + sensor_depth_m)


def standoff_sensitivities(
    rod: RodMagnet, standoff_m: float, sensor_depth_m: float
) -> dict[str, float]:
    r"""Return the derivatives of the logarithm of the stand-off's ratio by each size.

    Formula: \frac{\partial \ln k}{\partial x} = \frac{\partial \ln B(z_s)}{\partial x}
        - \frac{\partial \ln B(z + z_s)}{\partial x}
    Arguments: rod m [D, L in m], standoff_m z [m], sensor_depth_m z_s [m]
    Returns: c_x [1/m]
    Validity: analytic, as the ratio.
    Errors: OutOfDomain unless stand-off and depth are 0 or more.
    Source: common practice
    """
    require_not_negative(standoff_m=standoff_m, sensor_depth_m=sensor_depth_m)
    near, far = _log_slopes(rod, sensor_depth_m), _log_slopes(rod, standoff_m + sensor_depth_m)
    return {
        "diameter_m": near["diameter"] - far["diameter"],
        "along_m": near["along"] - far["along"],
        "standoff_m": -far["distance"],
        "sensor_depth_m": near["distance"] - far["distance"],
    }


def _log_slopes(rod: RodMagnet, distance_m: float) -> dict[str, float]:
    """Return the derivatives of ln B on the axis by distance, length and diameter, 1/m."""
    radius, end = rod.diameter_m / 2.0, distance_m + rod.along_m
    field = rod_on_axis_t(2.0, rod, distance_m)
    here3, end3 = math.hypot(distance_m, radius) ** 3, math.hypot(end, radius) ** 3
    return {
        "distance": (radius**2 / end3 - radius**2 / here3) / field,
        "along": radius**2 / end3 / field,
        "diameter": (distance_m * radius / here3 - end * radius / end3) / 2.0 / field,
    }


def thermal_expansion_m(length_m: float, expansion_per_k: float, warmer_k: float) -> float:
    r"""Return how much longer a part is for being warmer.

    Formula: \Delta \ell = \beta \, \ell \, \theta
    Arguments: length_m \ell [m], expansion_per_k \beta [1/K], warmer_k \theta [K]
    Returns: \Delta \ell [m]
    Validity: small changes. Lengths are not brought to 20 °C, because it would not show: steel and
        aluminium-nickel-cobalt grow by some 12 millionths for each kelvin, so the longest magnet,
        130 mm, by less than 0.02 mm over 10 K. Pole spacing on a plastic bobbin, some 60 mm at 100
        millionths, changes by 0.06 mm over 10 K, and is shown to 0.1 mm.
    Errors: OutOfDomain unless the length and the coefficient are above 0 and the change finite.
    Source: common practice
    """
    require_positive(length_m=length_m, expansion_per_k=expansion_per_k)
    if not math.isfinite(warmer_k):
        raise OutOfDomain(f"warmer_k must be finite, and is {warmer_k}. Check the temperature.")
    return expansion_per_k * length_m * warmer_k
