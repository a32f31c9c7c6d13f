"""What a winding should come to: the figures that a rewinder checks against, with their budgets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from coilbook.core.budgets import combine
from coilbook.core.budgets.joint import joint_budget
from coilbook.core.budgets.uncertainty import Contribution, Estimate, rectangular
from coilbook.core.constants import (
    ALPHA_20_PER_K,
    CONDUCTIVITY_HALF_WIDTH,
    DENSITY_KG_PER_M3,
    REFERENCE_TEMPERATURE_C,
    require_positive,
)
from coilbook.core.formulas.coil import (
    Winding,
    build_up_m,
    coil_resistance_ohm,
    resistance_sensitivities,
    wire_length_m,
)
from coilbook.core.formulas.copper import at_temperature, temperature_factor
from coilbook.core.formulas.layers import (
    coil_mass_kg,
    layer_count,
    mass_sensitivities,
    spool_length_m,
    turns_per_layer,
)
from coilbook.core.formulas.wire import wire_mass_kg_per_m
from coilbook.core.reduction.gauges import Fit, gauge_fits
from coilbook.core.reduction.turns import (
    density_lines,
    winding_half_widths,
    winding_lines,
    winding_of,
)
from coilbook.records.tables.models import Bobbin, Wire

#: A bench's temperature is known about so well, to either side.
BENCH_TEMPERATURE_HALF_WIDTH_K = 1.0

#: What two coils wound alike from one spool do not share: the hand, and the bobbin.
_OF_EACH_COIL = (
    "core_length_m",
    "core_width_m",
    "winding_height_m",
    "packing",
    "stretch",
)


def scaled_inductance_h(inductance_h: float, turns: float, reference_turns: float) -> float:
    r"""Return the inductance of a coil from that of one alike in all but its turns.

    Formula: L = L_0 \left( \frac{N}{N_0} \right)^2
    Arguments: inductance_h L_0 [H], turns N [turns], reference_turns N_0 [turns]
    Returns: L [H]
    Validity: the same bobbin, cores, magnet and test frequency, and turns not far from those
        measured: the coil grows outwards with its turns, which the square leaves out.
    Errors: OutOfDomain unless all are above 0.
    Source: common practice
    """
    require_positive(inductance_h=inductance_h, turns=turns, reference_turns=reference_turns)
    return inductance_h * (turns / reference_turns) ** 2


@dataclass(frozen=True)
class ExpectedCoil:
    """What one coil of counted turns should come to, on a wire and a bobbin at a temperature.

    The turns are taken as exact: what is unsure is the wire, the bobbin, the lay, the stretch and
    the temperature. A meter's own error comes on top.
    """

    wire: Wire
    bobbin: Bobbin
    turns: float
    temperature_c: float = REFERENCE_TEMPERATURE_C
    temperature_half_width_k: float = BENCH_TEMPERATURE_HALF_WIDTH_K

    @cached_property
    def winding(self) -> Winding:
        """Return the winding at the middle of what is not known of it."""
        return winding_of(self.wire, self.bobbin)

    @cached_property
    def resistance_20_kohm(self) -> Estimate:
        """Return the resistance at 20 °C."""
        value = float(coil_resistance_ohm(self.turns, self.winding)) / 1000.0
        by = resistance_sensitivities(self.turns, self.winding)
        half = winding_half_widths(self.wire)
        return Estimate(
            value, winding_lines(self.winding, half, {field: value * by[field] for field in half})
        )

    @cached_property
    def resistance_kohm(self) -> Estimate:
        """Return the resistance at the coil's temperature."""
        return self.at(self.temperature_c)

    def at(self, temperature_c: float) -> Estimate:
        """Return the resistance [kΩ] at another temperature, as well known as the coil's.

        Raises :class:`~coilbook.errors.OutOfDomain` below −60 and above 150 °C.
        """
        cold = self.resistance_20_kohm
        warmer_k = temperature_c - REFERENCE_TEMPERATURE_C
        lines = (
            Contribution(
                combine.TEMPERATURE,
                temperature_c,
                rectangular(self.temperature_half_width_k),
                cold.value * ALPHA_20_PER_K,
                "°C",
                "rectangular",
            ),
            Contribution(
                combine.COEFFICIENT,
                ALPHA_20_PER_K,
                rectangular(ALPHA_20_PER_K * CONDUCTIVITY_HALF_WIDTH),
                cold.value * warmer_k,
                "1/K",
                "rectangular",
            ),
        )
        return Estimate(
            float(at_temperature(cold.value, temperature_c)),
            (*combine.scaled(cold.contributions, temperature_factor(temperature_c)), *lines),
        )

    @cached_property
    def fit(self) -> Fit:
        """Return how full the turns leave the window."""
        return gauge_fits(Estimate(self.turns, ()), self.wire, self.bobbin)

    @cached_property
    def build_up_mm(self) -> Estimate:
        """Return how thick the winding grows on its core."""
        w = self.winding
        value = 1000.0 * float(
            build_up_m(self.turns, w.overall_diameter_m, w.winding_height_m, w.packing)
        )
        return self._of(
            value,
            {
                "overall_diameter_m": 2.0 * value / w.overall_diameter_m,
                "winding_height_m": -value / w.winding_height_m,
                "packing": value / w.packing,
            },
        )

    @cached_property
    def turns_per_layer(self) -> Estimate:
        """Return the turns of one layer, touching."""
        w = self.winding
        value = turns_per_layer(w.winding_height_m, w.overall_diameter_m)
        return self._of(
            value,
            {
                "overall_diameter_m": -value / w.overall_diameter_m,
                "winding_height_m": value / w.winding_height_m,
            },
        )

    @cached_property
    def layers(self) -> Estimate:
        """Return the layers, touching turns laid evenly."""
        w = self.winding
        value = float(layer_count(self.turns, w.winding_height_m, w.overall_diameter_m))
        return self._of(
            value,
            {
                "overall_diameter_m": value / w.overall_diameter_m,
                "winding_height_m": -value / w.winding_height_m,
            },
        )

    @cached_property
    def length_m(self) -> Estimate:
        """Return the length of the wire in the coil."""
        value = float(wire_length_m(self.turns, self.winding))
        return self._of(value, self._length_slopes(value))

    @cached_property
    def spool_length_m(self) -> Estimate:
        """Return the length of wire that leaves the spool."""
        value = float(spool_length_m(self.turns, self.winding))
        slopes = self._length_slopes(value)
        return self._of(value, slopes | {"stretch": -value / (1.0 + self.winding.stretch)})

    @cached_property
    def copper_g(self) -> Estimate:
        """Return the mass of the bare copper."""
        w = self.winding
        spool = self.spool_length_m
        per_m = 1000.0 * wire_mass_kg_per_m(w.bare_diameter_m)
        value = per_m * spool.value
        bare = self._of(0.0, {"bare_diameter_m": 2.0 * value / w.bare_diameter_m})
        density = density_lines({"copper_kg_per_m3": value / DENSITY_KG_PER_M3})
        return Estimate(
            value,
            (*combine.scaled(spool.contributions, per_m), *bare.contributions, *density),
        )

    @cached_property
    def mass_g(self) -> Estimate:
        """Return the mass of the wire with its insulation."""
        value = 1000.0 * float(coil_mass_kg(self.turns, self.winding))
        by = mass_sensitivities(self.turns, self.winding)
        slopes = {field: value * slope for field, slope in by.items() if field != "turns"}
        return Estimate(value, (*self._of(value, slopes).contributions, *density_lines(slopes)))

    @cached_property
    def ohm_per_turn(self) -> float:
        """Return what one more turn on the outside adds at the coil's temperature [Ω]."""
        by_turns = resistance_sensitivities(self.turns, self.winding)["turns"]
        return 1000.0 * self.resistance_kohm.value * by_turns

    def share(self, share: float) -> ExpectedCoil:
        """Return the same coil when only a share of its turns is on."""
        return ExpectedCoil(
            self.wire,
            self.bobbin,
            self.turns * share,
            self.temperature_c,
            self.temperature_half_width_k,
        )

    def over(self, other: ExpectedCoil) -> Estimate:
        """Return this resistance over another's, on the same wire, bobbin and day.

        What the two have in common cancels, the copper's diameter above all. So a reading on the
        way foretells the end far better than the wire's tolerance lets anything be foretold.
        """
        mine, others = self.resistance_20_kohm, other.resistance_20_kohm
        ratio = mine.value / others.value
        budget = joint_budget(
            (
                ("", ratio / mine.value, mine.contributions),
                ("", -ratio / others.value, others.contributions),
            )
        )
        return Estimate(ratio, budget)

    @cached_property
    def pair_kohm(self) -> Estimate:
        """Return two such coils in series, of one spool and one kind of bobbin."""
        one = self.resistance_kohm
        return Estimate(2.0 * one.value, combine.scaled(one.contributions, 2.0))

    @cached_property
    def difference_kohm(self) -> Estimate:
        """Return how far two such coils of one spool, at one temperature, part from each other.

        Its value is 0. Wire and copper are the same for both; each coil has its own bobbin, lay and
        stretch, which enter once for each.
        """
        value = self.resistance_kohm.value
        by = resistance_sensitivities(self.turns, self.winding)
        one = self._of(0.0, {field: value * by[field] for field in _OF_EACH_COIL}).contributions
        other = combine.scaled(one, -1.0)
        return Estimate(0.0, (*one, *other))

    def _length_slopes(self, length: float) -> dict[str, float]:
        by = resistance_sensitivities(self.turns, self.winding)
        geometry = ("overall_diameter_m", "core_length_m", "core_width_m", "winding_height_m")
        return {field: length * by[field] for field in (*geometry, "packing")}

    def _of(self, value: float, slopes: dict[str, float]) -> Estimate:
        """Return an estimate whose budget holds the winding's inputs that have a slope."""
        half = winding_half_widths(self.wire)
        chosen = {field: width for field, width in half.items() if field in slopes}
        return Estimate(value, winding_lines(self.winding, chosen, slopes))


@dataclass(frozen=True, slots=True)
class RunningCheck:
    """What a coil should come to on the way; ``ratio`` is its resistance over the first check's."""

    share: float
    coil: ExpectedCoil
    ratio: Estimate


def running_checks(
    coil: ExpectedCoil, shares: Sequence[float] = (0.25, 0.5, 0.75, 1.0)
) -> tuple[RunningCheck, ...]:
    """Return what a coil should come to at each share of its turns, in the order given."""
    parts = [coil.share(share) for share in shares]
    return tuple(
        RunningCheck(share, part, part.over(parts[0]))
        for share, part in zip(shares, parts, strict=True)
    )
