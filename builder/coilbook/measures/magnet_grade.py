"""What a magnet's grade allows at its face, what it would show by itself, what a reading rules out.

A reading can rule a grade out and never identifies one: a magnet of any stronger grade can be
weakly magnetised. Everything here is of one magnet alone in air. A pole piece, a steel plate or a
second magnet near it changes the reading, and can raise it above the ceiling.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import ellipe, elliprd

from coilbook.core.constants import require_not_negative, require_positive
from coilbook.core.formulas.pair import normalised_error
from coilbook.core.formulas.rods import RodMagnet
from coilbook.core.reduction.rod_ceilings import (
    GradeRemanence,
    GradeRuling,
    likely_standoffs_m,
    rulings_of,
)
from coilbook.errors import OutOfDomain
from coilbook.measures.arrays import FloatArray
from coilbook.measures.magnet_field import (
    BarMagnet,
    MagnetShape,
    highest_over_face_t,
    middle_of_face_t,
    rod_field_t,
)

#: The magnetic constant; the old exact value and the measured one agree to nine digits.
MU_0_H_PER_M = 4e-7 * math.pi
#: Places in each direction over which a neighbour's field is averaged; with twice as many the
#: factor of a usual row stays the same to six digits.
_PLACES = 8


@dataclass(frozen=True, slots=True)
class MagnetCurve:
    """What a standard gives of a grade's demagnetisation curve; ``coercivity`` is that of B."""

    remanence_t: float
    coercivity_a_per_m: float
    energy_product_j_per_m3: float

    def __post_init__(self) -> None:
        require_positive(
            remanence_t=self.remanence_t,
            coercivity_a_per_m=self.coercivity_a_per_m,
            energy_product_j_per_m3=self.energy_product_j_per_m3,
        )
        if self.fullness >= 1.0:
            raise OutOfDomain(
                f"energy_product_j_per_m3 {self.energy_product_j_per_m3} reaches remanence times "
                f"coercivity, {self.remanence_t * self.coercivity_a_per_m}, which no curve can. "
                "Check the three figures and their units."
            )

    @property
    def fullness(self) -> float:
        """Return the energy product over remanence times coercivity: 1/4 for a straight line."""
        return self.energy_product_j_per_m3 / (self.remanence_t * self.coercivity_a_per_m)

    @property
    def bend(self) -> float:
        """Return the hyperbola's shape: 0 for a straight line, near 1 for a square knee."""
        return (2.0 * math.sqrt(self.fullness) - 1.0) / self.fullness


def bar_demagnetising_factor(bar: BarMagnet) -> float:
    r"""Return the demagnetising factor of a bar along its magnetisation.

    Formula: N = -\frac{1}{V J} \int_V \mu_0 H_z \, dV
    Arguments: bar m [a, b, c in m]
    Returns: N [1]
    Validity: exact mean over the volume of an evenly magnetised bar; the three edges' factors sum
        to 1. In closed form, after Aharoni.
    Errors: OutOfDomain, when the bar is made, unless its edges are above 0.
    Source: aharoni-1998 equation 1
    """
    a, b, c = bar.edge_x_m / 2.0, bar.edge_y_m / 2.0, bar.along_m / 2.0
    ab, bc, ca = math.hypot(a, b), math.hypot(b, c), math.hypot(c, a)
    diagonal = math.hypot(a, b, c)
    # The printed logarithms, written as inverse hyperbolic sines: no digits are lost when one edge
    # is much longer than the others.
    logarithms = (
        (c * c - b * b) / (b * c) * math.asinh(a / bc)
        + (c * c - a * a) / (a * c) * math.asinh(b / ca)
        + b / c * math.asinh(a / b)
        + a / c * math.asinh(b / a)
        - c / a * math.asinh(b / c)
        - c / b * math.asinh(a / c)
    )
    powers = (
        (a**3 + b**3 - 2.0 * c**3)
        + (a * a + b * b - 2.0 * c * c) * diagonal
        + 3.0 * c * c * (ca + bc)
        - (ab**3 + bc**3 + ca**3)
    ) / (3.0 * a * b * c)
    return (logarithms + 2.0 * math.atan(a * b / (c * diagonal)) + powers) / math.pi


def rod_demagnetising_factor(rod: RodMagnet) -> float:
    r"""Return the demagnetising factor of a rod along its length.

    Formula: N = 1 - \frac{4}{3 \pi k'} \left[ \frac{k'^2}{k^2} (K - E) + E - k \right]
    Arguments: rod m [D, L in m]
    Returns: N [1]
    Validity: exact mean over the volume of an evenly magnetised rod. K and E are the complete
        elliptic integrals of the modulus k = D/√(D² + L²), k' = L/√(D² + L²). What is taken from 1
        is Nagaoka's coefficient: a rod's mean field is that of a solenoid of its size.
    Errors: OutOfDomain, when the rod is made, unless its sizes are above 0.
    Source: nagaoka-1909 coefficient of a solenoid's inductance
    """
    size = math.hypot(rod.diameter_m, rod.along_m)
    k, k_prime = rod.diameter_m / size, rod.along_m / size
    # (K - E)/k² without the loss of digits for a long rod.
    difference = float(elliprd(0.0, k_prime**2, 1.0)) / 3.0
    second = float(ellipe(k * k))
    return 1.0 - 4.0 / (3.0 * math.pi * k_prime) * (k_prime**2 * difference + second - k)


def row_demagnetising_factor(rod: RodMagnet, pitch_m: float, rods: int, which: int) -> float:
    r"""Return the demagnetising factor of one rod among others in a row, all poles alike.

    Formula: N_i = N + \sum_{j \neq i} N_{ij}, \quad
        N_{ij} = -\frac{1}{V J} \int_{V_i} \mu_0 H_{z,j} \, dV
    Arguments: rod m [D, L in m], pitch_m p [m], rods n [1], which i [1]
    Returns: N_i [1]
    Validity: parallel rods side by side, evenly magnetised and alike; the first is i = 1. Each lies
        in the field that its neighbours send back past their own sides, which opposes it: a rod in
        the middle of a row has more to bear than one at its end. Rods with alternate poles would
        help each other; no plate and no screw near.
    Errors: OutOfDomain unless the pitch is wider than a rod and i is one of the n.
    Source: derby-olbert-2010 field of a rod, its mean taken over the rod beside it
    """
    if not rod.diameter_m < pitch_m < math.inf:
        raise OutOfDomain(f"pitch_m must exceed the rod's diameter, and is {pitch_m}. Check both.")
    if not 1 <= which <= rods:
        raise OutOfDomain(f"which must be one of the {rods} rods, and is {which}. Count from 1.")
    at, weight = np.polynomial.legendre.leggauss(_PLACES)
    # Places spread evenly over the neighbour's round face, and Gauss's along its length.
    out = rod.diameter_m / 2.0 * np.sqrt((at[:, None, None] + 1.0) / 2.0)
    turned = 2.0 * math.pi * (np.arange(_PLACES)[None, :, None] + 0.5) / _PLACES
    along = at[None, None, :] * rod.along_m / 2.0
    share = weight[:, None, None] / 2.0 / _PLACES * weight[None, None, :] / 2.0
    factor = rod_demagnetising_factor(rod)
    for other in range(1, rods + 1):
        if other != which:
            away = abs(other - which) * pitch_m
            radius = np.hypot(away + out * np.cos(turned), out * np.sin(turned))
            field = rod_field_t(1.0, rod, *np.broadcast_arrays(radius, along))[..., 1]
            factor -= float(np.sum(field * share))
    return factor


def demagnetising_factor(magnet: MagnetShape) -> float:
    r"""Return the demagnetising factor along the magnetisation, of a bar or a rod.

    Formula: N = -\frac{\mu_0 \overline{H}}{J}
    Arguments: magnet m [sizes in m]
    Returns: N [1]
    Validity: the mean over the volume of an evenly magnetised magnet.
    Source: common practice
    """
    if isinstance(magnet, BarMagnet):
        return bar_demagnetising_factor(magnet)
    return rod_demagnetising_factor(magnet)


def demagnetisation_curve_t(opposing_field_a_per_m: float, curve: MagnetCurve) -> float:
    r"""Return the flux density in a magnet under an opposing field.

    Formula: B = B_r \frac{H_c - H}{H_c - a H}, \quad a = \frac{2 \sqrt{\gamma} - 1}{\gamma}, \quad
        \gamma = \frac{(B H)_{max}}{B_r H_c}
    Arguments: opposing_field_a_per_m H [A/m], curve k [Br in T, Hc in A/m, BHmax in J/m³]
    Returns: B [T]
    Validity: 0 ≤ H ≤ Hc, the field opposing for the first time since the magnet was charged. The
        hyperbola meets remanence, coercivity and energy product exactly and is only a likeness in
        between. For the squarest grades it lets the polarisation B + μ0 H rise by a few parts in a
        hundred above the remanence near H = 0; whatever uses it stops at the remanence.
    Errors: OutOfDomain outside that range of the field.
    Source: parker-studders-1962 hyperbola through remanence, coercivity and energy product
    """
    if not 0.0 <= opposing_field_a_per_m <= curve.coercivity_a_per_m:
        raise OutOfDomain(
            f"opposing_field_a_per_m must lie from 0 to the coercivity, "
            f"{curve.coercivity_a_per_m} A/m, and is {opposing_field_a_per_m}. Check its unit."
        )
    share = opposing_field_a_per_m / curve.coercivity_a_per_m
    return curve.remanence_t * (1.0 - share) / (1.0 - curve.bend * share)


def working_polarisation_t(demagnetising_factor: float, curve: MagnetCurve) -> float:
    r"""Return the polarisation that a magnet keeps against its own demagnetising field.

    Formula: J = \frac{\mu_0 H}{N}, \quad
        H = \frac{2 B_r H_c}{s + \sqrt{s^2 - 4 a p B_r H_c}}, \quad
        p = \mu_0 \frac{1 - N}{N}, \quad s = B_r + p H_c
    Arguments: demagnetising_factor N [1], curve k [Br in T, Hc in A/m, BHmax in J/m³]
    Returns: J [T]
    Validity: 0 < N < 1; where the load line B = p H meets the hyperbola of the demagnetisation
        curve, but never above Br. A magnet charged to the full, in open circuit for the first time,
        the whole of it at one working point. It has since only lost, so the estimate leans high.
    Errors: OutOfDomain unless N lies between 0 and 1.
    Source: common practice
    """
    if not 0.0 < demagnetising_factor < 1.0:
        raise OutOfDomain(
            f"demagnetising_factor must lie between 0 and 1, and is {demagnetising_factor}. "
            "Take it from the magnet's sizes."
        )
    remanence, coercivity = curve.remanence_t, curve.coercivity_a_per_m
    slope = MU_0_H_PER_M * (1.0 - demagnetising_factor) / demagnetising_factor
    s = remanence + slope * coercivity
    root = math.sqrt(s * s - 4.0 * curve.bend * slope * remanence * coercivity)
    opposing = 2.0 * remanence * coercivity / (s + root)
    return min(MU_0_H_PER_M * opposing / demagnetising_factor, remanence)


def ceiling_t(
    remanence_t: float, magnet: MagnetShape, standoff_m: float, over_the_middle: bool = False
) -> float:
    r"""Return the open-circuit ceiling: what a magnet shows if it kept its whole remanence.

    Formula: B_{max} = B_z(J = B_r)
    Arguments: remanence_t B_r [T], magnet m [sizes in m], standoff_m z [m],
        over_the_middle middle [yes or no]
    Returns: B_{max} [T]
    Validity: an upper bound for one magnet alone in air, evenly magnetised along one axis. Unless
        the probe is known to stand over the middle, the highest anywhere over the face is taken.
        Typical values of a standard give a typical ceiling; minimum values give none. Steel or
        another magnet near can raise a reading above it. So can a magnet that is weaker towards its
        rim than within: over the middle, 1 mm off, by up to 2 % for a slender rod, 14 % for a
        narrow bar, more for a wide one.
    Errors: OutOfDomain unless the remanence is above 0 and the stand-off 0 or more.
    Source: common practice
    """
    require_positive(remanence_t=remanence_t)
    require_not_negative(standoff_m=standoff_m)
    if over_the_middle:
        return middle_of_face_t(remanence_t, magnet, standoff_m)
    return float(highest_over_face_t(remanence_t, magnet, standoff_m))


def self_demagnetised_t(curve: MagnetCurve, magnet: MagnetShape, standoff_m: float) -> float:
    r"""Return an estimate of what a magnet shows over the middle of its face, by itself in air.

    Formula: B = B_z(J), \quad J \text{ where the load line meets the curve}
    Arguments: curve k [Br in T, Hc in A/m, BHmax in J/m³], magnet m [sizes in m], standoff_m z [m]
    Returns: B [T]
    Validity: an estimate and not a bound: one working point for the whole magnet, typical or
        minimum values as the standard gives them, charged to the full and never in an opposing
        field since. No reading is judged by it.
    Errors: OutOfDomain for a stand-off below 0.
    Source: common practice
    """
    polarisation = working_polarisation_t(demagnetising_factor(magnet), curve)
    return middle_of_face_t(polarisation, magnet, standoff_m)


@lru_cache(maxsize=256)
def _per_tesla(
    magnet: MagnetShape, standoff_m: float, standoff_uncertainty_m: float, over_the_middle: bool
) -> tuple[float, FloatArray]:
    """Return the field for J = 1 T at the stated stand-off, and at each of the likely ones.

    Kept, since an archive has many magnets of one size under one probe.
    """
    standoffs = np.array([standoff_m])
    if standoff_uncertainty_m > 0.0:
        standoffs = np.append(standoffs, likely_standoffs_m(standoff_m, standoff_uncertainty_m))
    if over_the_middle:
        per_tesla = np.array([middle_of_face_t(1.0, magnet, float(z)) for z in standoffs])
    else:
        per_tesla = highest_over_face_t(1.0, magnet, standoffs)
    likely = per_tesla[1:] if len(per_tesla) > 1 else per_tesla
    likely.flags.writeable = False
    return float(per_tesla[0]), likely


def rule_out(
    reading_t: float,
    reading_uncertainty_t: float,
    standoff_m: float,
    standoff_uncertainty_m: float,
    magnet: MagnetShape,
    grades: Iterable[GradeRemanence],
    over_the_middle: bool = False,
) -> tuple[GradeRuling, ...]:
    r"""Return for each grade how probable it is that a reading lies above the grade's ceiling.

    Formula: P = \int_0^\infty \Phi \left( \frac{B - B_{max}(z)}{u_B} \right) g(z) \, dz
    Arguments: reading_t B [T], reading_uncertainty_t u_B [T], standoff_m z [m],
        standoff_uncertainty_m u_z [m], magnet m [sizes in m], grades g [Br in T],
        over_the_middle middle [yes or no]
    Returns: P [1]
    Validity: as the ceiling; B without its sign, the reading normal, the stand-off normal but never
        below 0, both independent, the magnet's sizes taken as exact. Ruled out from P = 0.95 on,
        else not ruled out, which is no sign of that grade. A minimum value gives no ceiling.
    Errors: OutOfDomain unless the reading's uncertainty is above 0 and the reading, the stand-off
        and its uncertainty are 0 or more.
    Source: jcgm-106 7
    """
    require_not_negative(
        reading_t=reading_t,
        standoff_m=standoff_m,
        standoff_uncertainty_m=standoff_uncertainty_m,
    )
    require_positive(reading_uncertainty_t=reading_uncertainty_t)
    stated, likely = _per_tesla(magnet, standoff_m, standoff_uncertainty_m, over_the_middle)

    return rulings_of(reading_t, reading_uncertainty_t, stated, likely.tolist(), grades)


@dataclass(frozen=True, slots=True)
class FieldChange:
    """How a later reading differs from an earlier one: a loss is below 0, a recharge above."""

    difference_t: float
    standard_uncertainty_t: float
    normalised_error: float


def field_change(
    earlier_t: float,
    earlier_uncertainty_t: float,
    later_t: float,
    later_uncertainty_t: float,
    correlation: float = 0.0,
) -> FieldChange:
    r"""Return the change between two dated readings of one magnet, by ageing, a knock or a charger.

    Formula: E_n = \frac{|B_2 - B_1|}{2 u}, \quad u = \sqrt{u_1^2 + u_2^2 - 2 r u_1 u_2}
    Arguments: earlier_t B_1 [T], earlier_uncertainty_t u_1 [T], later_t B_2 [T],
        later_uncertainty_t u_2 [T], correlation r [1]
    Returns: E_n [1]
    Validity: both readings at the same place and stand-off, with their signs; −1 ≤ r < 1. Above 1
        the change is more than the readings' uncertainty (k = 2) accounts for. r = 0 for two meters
        or unknown; with one meter and jig the common part of both uncertainties drops out (r > 0).
    Errors: OutOfDomain unless the uncertainties are above 0, r from −1 to below 1, the readings
        finite.
    Source: jcgm-100 5.2.2
    """
    require_positive(
        earlier_uncertainty_t=earlier_uncertainty_t, later_uncertainty_t=later_uncertainty_t
    )
    for name, reading in (("earlier_t", earlier_t), ("later_t", later_t)):
        if not math.isfinite(reading):
            raise OutOfDomain(f"{name} must be finite, and is {reading}. Check the reading.")
    if not -1.0 <= correlation < 1.0:
        raise OutOfDomain(
            f"correlation must lie from -1 to below 1, and is {correlation}. Leave it at 0 if it "
            "is not known."
        )
    u1, u2 = earlier_uncertainty_t, later_uncertainty_t
    uncertainty = math.sqrt((u1 - u2) ** 2 + 2.0 * (1.0 - correlation) * u1 * u2)
    difference = later_t - earlier_t
    return FieldChange(difference, uncertainty, normalised_error(difference, uncertainty))
