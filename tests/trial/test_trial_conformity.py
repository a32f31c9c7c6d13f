"""Conformity by simulation: how often a value that is truly outside a range is called inside."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from trial_instruments import COARSE, FINE
from trial_physics import warmth
from trial_report import reference

from coilbook.core.judging.judge import judge
from coilbook.core.reduction.reduce import reduce_reading
from coilbook.records.contents import Reading, Reference
from coilbook.records.tables.models import InstrumentRow, ReadingRow, Thresholds

REFERENCE = reference()
CLAIM = next(
    claim
    for claim in REFERENCE.claims
    if claim.row.claim_id == "full-size-humbucker-pair-resistance-1957-58"
)
DRAWS = 4000


def _words(
    truths: np.ndarray, meter: InstrumentRow, step: float, seed: int, held: Reference
) -> list[str]:
    """Return the verdicts on true resistances, kΩ, each read once with every error in its limit."""
    rng = np.random.default_rng(seed)
    words = []
    for line, truth in enumerate(truths.tolist(), start=2):
        celsius = float(rng.uniform(15.0, 28.0))
        warm = truth * warmth(celsius)
        limit = meter.accuracy_percent / 100.0 * warm + meter.accuracy_digits * step
        shown = round(round((warm + rng.uniform(-limit, limit)) / step) * step, 6)
        row = ReadingRow.model_validate(
            {
                "piece_id": "tr-1",
                "component": "pair",
                "property_id": "pair-resistance",
                "value": str(shown),
                "circuit": "free",
                "instrument_id": meter.instrument_id,
                "date": dt.date(2026, 3, 14),
            }
        )
        reading = Reading(
            row=row,
            line=line,
            property=held.properties["pair-resistance"],
            value=shown,
            qualifier="",
            category=None,
            step=step,
            temperature_c=round(celsius + float(rng.uniform(-2.0, 2.0)), 1),
            temperature_half_width_k=2.0,
            parallel_ohm=None,
            parallel_tolerance=10.0,
            test_frequency_hz=None,
            instrument=meter,
            calibration="valid",
        )
        words.append(judge(reduce_reading(reading), CLAIM, Thresholds()).word)
    return words


@pytest.mark.parametrize(("meter", "step"), [(FINE, 0.001), (COARSE, 0.01)])
def test_what_is_truly_outside_is_seldom_called_inside(meter: InstrumentRow, step: float) -> None:
    """At most 5 % of values truly outside a documented range are called inside it.

    The hard case is drawn: true values that lie beyond a limit by a hundred ohms at the most, which
    is about two standard uncertainties. JCGM 106 bounds the risk of each single verdict by 5 % at
    the threshold of 95 %; the share over any such values must then be lower.
    """
    assert CLAIM.low is not None
    assert CLAIM.high is not None
    rng = np.random.default_rng(5)
    beyond = rng.uniform(0.0, 0.1, DRAWS)
    above = rng.random(DRAWS) < 0.5
    truths = np.where(above, CLAIM.high + beyond, CLAIM.low - beyond)
    words = _words(truths, meter, step, 6, REFERENCE)
    assert words.count("inside") <= 0.05 * DRAWS
    # And the other way: what is well within is called so, and what is far beyond is called outside.
    well = np.linspace(CLAIM.low + 0.25, CLAIM.high - 0.25, 200)
    assert _words(well, meter, step, 7, REFERENCE).count("inside") == 200
    assert _words(np.full(200, CLAIM.high + 0.5), meter, step, 8, REFERENCE) == ["outside"] * 200


@pytest.mark.parametrize(("meter", "step"), [(FINE, 0.001), (COARSE, 0.01)])
def test_a_value_on_the_very_limit_is_seldom_called_inside(
    meter: InstrumentRow, step: float
) -> None:
    """The hardest case of all, a true value on the limit, is called inside in 5 % or less."""
    assert CLAIM.high is not None
    words = _words(np.full(DRAWS, CLAIM.high + 1e-9), meter, step, 9, REFERENCE)
    assert words.count("inside") <= 0.05 * DRAWS
