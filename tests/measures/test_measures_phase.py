"""Signs of string and hum beside a simulated induction, and the truth table beside one by hand."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
import pytest
from measures_bench import REFERENCE, piece, reading

from coilbook.core.reduction.piece import measure_piece
from coilbook.errors import OutOfDomain
from coilbook.measures.phase import (
    SIGNS,
    TRUTH_TABLE,
    coil_phase,
    hum_sign,
    pair_phase,
    string_sign,
)

#: Worked by hand from what any bench knows (common practice, no source): two coils wound alike,
#: with the same leads hot and like poles, make one long coil; each of the three that is turned over
#: turns the string's signal of one coil, and winding and lead turn its hum as well. Columns: same
#: pole, same winding, same lead; then whether strings add and whether hum cancels.
BY_HAND = {
    (True, True, True): (True, False),
    (True, True, False): (False, True),
    (True, False, True): (False, True),
    (True, False, False): (True, False),
    (False, True, True): (False, False),
    (False, True, False): (True, True),
    (False, False, True): (True, True),
    (False, False, False): (False, False),
}


def _winding(clockwise: bool, turns: int = 40) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Return a wire's way from its start round a core of 3 mm, seen from +z where strings are."""
    angle = np.linspace(0.0, 2.0 * np.pi * turns, 200 * turns + 1)
    angle = -angle if clockwise else angle
    return np.column_stack(
        (3e-3 * np.cos(angle), 3e-3 * np.sin(angle), np.linspace(-6e-3, -1e-3, len(angle)))
    )


Potential = Callable[[np.ndarray], np.ndarray]


def _along(wire: np.ndarray, potential: Potential) -> float:
    """Return the line integral of the vector potential from start to finish.

    The way back from finish to start is a line parallel to the axis, where a potential that only
    runs round the axis adds nothing.
    """
    middle = (wire[1:] + wire[:-1]) / 2.0
    return float(np.sum(potential(middle) * np.diff(wire, axis=0)))


def _of_string(height_m: float, pole: int) -> Potential:
    """Return the potential of a bit of string over the axis, magnetised by the pole under it."""
    moment = np.array([0.0, 0.0, 1e-3 * pole])

    def potential(place: np.ndarray) -> np.ndarray:
        away = place - np.array([0.0, 0.0, height_m])
        return np.asarray(
            1e-7 * np.cross(moment, away) / np.linalg.norm(away, axis=1)[:, None] ** 3
        )

    return potential


def _of_even_field(tesla: float) -> Potential:
    return lambda place: np.cross(np.array([0.0, 0.0, tesla]), place) / 2.0


def _hot(wire: np.ndarray, before: Potential, after: Potential, lead: str) -> float:
    """Return the voltage of the hot lead while the potential changes: Faraday, minus the change."""
    finish_over_start = -(_along(wire, after) - _along(wire, before))
    return finish_over_start if lead == "finish" else -finish_over_start


CASES = list(
    itertools.product(("north", "south"), ("clockwise", "anticlockwise"), ("finish", "start"))
)


@pytest.mark.parametrize(("pole", "sense", "lead"), CASES)
def test_the_signs_are_those_of_a_simulated_induction(pole: str, sense: str, lead: str) -> None:
    """Faraday's law, integrated with numpy along a wire of 40 turns, gives the sign of each case.

    A bit of string, magnetised by the pole, comes from 4 mm to 3 mm; then an even field grows.
    """
    signs = (
        SIGNS["pole-polarity"][pole],
        SIGNS["winding-sense"][sense],
        SIGNS["hot-lead"][lead],
    )
    wire = _winding(sense == "clockwise")
    string = _hot(wire, _of_string(4e-3, signs[0]), _of_string(3e-3, signs[0]), lead)
    hum = _hot(wire, _of_even_field(0.0), _of_even_field(1e-3), lead)
    assert np.sign(string) == string_sign(*signs)
    assert np.sign(hum) == hum_sign(*signs[1:])


def test_the_truth_table_is_that_worked_by_hand() -> None:
    """All eight cases are there once, and each says what the table by hand says."""
    ours = {
        (r.same_pole, r.same_winding, r.same_lead): (r.strings_add, r.hum_cancels)
        for r in TRUTH_TABLE
    }
    assert len(TRUTH_TABLE) == 8
    assert ours == BY_HAND


@pytest.mark.parametrize(
    ("pole", "lead", "string_adds", "hum_cancels"),
    [
        ("north", "finish", True, False),  # two alike: both signals add
        ("south", "finish", False, False),  # magnets turned over alone: the hum is as it was
        ("north", "start", False, True),  # leads swapped alone: no hum, and no string
        ("south", "start", True, True),  # both: what is wanted
    ],
)
def test_turned_magnets_cancel_hum_only_with_the_leads_swapped(
    pole: str, lead: str, string_adds: bool, hum_cancels: bool
) -> None:
    """As the article on sound says: two pickups alike, and what is done to one of them.

    Simulated as above: the magnets turn the string's voltage alone, the leads turn both.
    """
    wire = _winding(True, 5)
    strings, hums = [], []
    for facing, hot in (("north", "finish"), (pole, lead)):
        sign = SIGNS["pole-polarity"][facing]
        strings.append(_hot(wire, _of_string(4e-3, sign), _of_string(3e-3, sign), hot))
        hums.append(_hot(wire, _of_even_field(0.0), _of_even_field(1e-3), hot))
    assert (abs(sum(strings)) > abs(strings[0])) is string_adds
    assert (abs(sum(hums)) < 1e-9 * abs(hums[0])) is hum_cancels
    (row,) = (
        r
        for r in TRUTH_TABLE
        if (r.same_pole, r.same_winding, r.same_lead) == (pole == "north", True, lead == "finish")
    )
    assert (row.strings_add, row.hum_cancels) == (string_adds, hum_cancels)


def _recorded(*entries: tuple[str, str, str]) -> list[object]:
    return [
        reading(None, prop=prop, component=component, category=word, line=2 + i)
        for i, (component, prop, word) in enumerate(entries)
    ]


@pytest.mark.parametrize("a", CASES)
@pytest.mark.parametrize("b", CASES)
def test_two_coils_are_what_their_simulated_voltages_make(
    a: tuple[str, str, str], b: tuple[str, str, str]
) -> None:
    """For all 64 records of two coils, simulated voltages in series add or cancel as we say."""
    names = ("pole-polarity", "winding-sense", "hot-lead")
    found = pair_phase(
        measure_piece(
            piece(
                *_recorded(
                    *(
                        (coil, prop, word)
                        for coil, words in (("coil_a", a), ("coil_b", b))
                        for prop, word in zip(names, words, strict=True)
                    )
                )
            ),
            REFERENCE,
        )
    )
    strings, hums = [], []
    for pole, sense, lead in (a, b):
        wire, sign = _winding(sense == "clockwise", 5), SIGNS["pole-polarity"][pole]
        strings.append(_hot(wire, _of_string(4e-3, sign), _of_string(3e-3, sign), lead))
        hums.append(_hot(wire, _of_even_field(0.0), _of_even_field(1e-3), lead))
    assert found.missing == ()
    assert found.strings_add == (abs(sum(strings)) > abs(strings[0]))
    assert found.hum_cancels == (abs(sum(hums)) < 1e-9 * abs(hums[0]))
    assert found.row is not None
    assert (found.row.strings_add, found.row.hum_cancels) == (found.strings_add, found.hum_cancels)


def test_what_is_not_recorded_is_named_and_nothing_is_guessed() -> None:
    """Without a pole the hum is still known; with a lead alone nothing is."""
    of_hum = [
        (coil, prop, word)
        for coil, lead in (("coil_a", "finish"), ("coil_b", "start"))
        for prop, word in (("winding-sense", "clockwise"), ("hot-lead", lead))
    ]
    found = pair_phase(measure_piece(piece(*_recorded(*of_hum)), REFERENCE))
    assert found.hum_cancels is True
    assert found.strings_add is None
    assert found.missing == (("coil_a", "pole-polarity"), ("coil_b", "pole-polarity"))
    assert found.row is None
    nothing = pair_phase(measure_piece(piece(), REFERENCE))
    assert nothing.strings_add is nothing.hum_cancels is None
    assert len(nothing.missing) == 6
    alone = coil_phase(
        measure_piece(
            piece(
                *_recorded(("coil", "hot-lead", "finish")),
                family="wide-bar-single-coil",
            ),
            REFERENCE,
        ),
        "coil",
    )
    assert alone.recorded["hot-lead"] == "finish"
    assert alone.string is alone.hum is None


@pytest.mark.parametrize("signs", [(0, 1, 1), (1, 2, 1), (1, 1, -3)])
def test_a_sign_that_is_none_is_refused(signs: tuple[int, int, int]) -> None:
    """Only 1 and -1 are signs."""
    with pytest.raises(OutOfDomain, match="_sign must be 1 or -1"):
        string_sign(*signs)
    if signs[0]:
        with pytest.raises(OutOfDomain, match="_sign must be 1 or -1"):
            hum_sign(*signs[1:])
