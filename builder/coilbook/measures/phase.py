"""The sign of what a coil puts out, for a string and for hum, and what two coils make together.

From first principles. A pole that is north to the string sends its flux towards the string. Steel
that comes nearer strengthens it. By Faraday and Lenz the voltage drives a current against the
change, which is clockwise as the string sees the coil. If the wire runs clockwise from its start,
that current flows from start to finish inside the coil, so the finish is the positive end. Turning
the pole, the winding or the leads over turns the sign. Hum comes from outside: its flux does not
ask for the coil's own pole, so the pole drops out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.errors import OutOfDomain

Entry = Literal["pole-polarity", "winding-sense", "hot-lead"]

ENTRIES: tuple[Entry, ...] = ("pole-polarity", "winding-sense", "hot-lead")
#: The sign that each recorded word stands for: together +1 for north, clockwise, finish.
SIGNS: dict[Entry, dict[str, int]] = {
    "pole-polarity": {"north": 1, "south": -1},
    "winding-sense": {"clockwise": 1, "anticlockwise": -1},
    "hot-lead": {"finish": 1, "start": -1},
}


def _require_signs(**signs: int) -> None:
    for name, sign in signs.items():
        if sign not in (1, -1):
            raise OutOfDomain(f"{name} must be 1 or -1, and is {sign}. Take it from the record.")


def string_sign(pole_sign: int, winding_sign: int, lead_sign: int) -> int:
    r"""Return the sign of the voltage at the hot lead while a string comes nearer.

    Formula: s = p \, w \, l
    Arguments: pole_sign p [+1 north, −1 south], winding_sign w [+1 clockwise, −1 anticlockwise],
        lead_sign l [+1 finish, −1 start]
    Returns: s [+1 or −1]
    Validity: steel strings over the pole, well below resonance. North is the pole turned to the
        string; clockwise is the wire's way from its start, seen from the string; the lead is the
        end that goes to the output.
    Errors: OutOfDomain unless each is 1 or −1.
    Source: common practice
    """
    _require_signs(pole_sign=pole_sign, winding_sign=winding_sign, lead_sign=lead_sign)
    return pole_sign * winding_sign * lead_sign


def hum_sign(winding_sign: int, lead_sign: int) -> int:
    r"""Return the sign of the voltage at the hot lead while an outside field grows.

    Formula: h = w \, l
    Arguments: winding_sign w [+1 clockwise, −1 anticlockwise], lead_sign l [+1 finish, −1 start]
    Returns: h [+1 or −1]
    Validity: a field towards the string, far and even, that of a mains transformer for one, which
        is the same for both coils; the coil's own magnet does not matter.
    Errors: OutOfDomain unless each is 1 or −1.
    Source: common practice
    """
    _require_signs(winding_sign=winding_sign, lead_sign=lead_sign)
    return winding_sign * lead_sign


@dataclass(frozen=True, slots=True)
class CoilPhase:
    """What is recorded of one coil, and the signs that follow; None where an entry is missing."""

    component: str
    recorded: dict[Entry, str | None]
    string: int | None
    hum: int | None


@dataclass(frozen=True, slots=True)
class TruthRow:
    """One of the eight cases: in what two coils in series agree, and what follows."""

    same_pole: bool
    same_winding: bool
    same_lead: bool
    strings_add: bool
    hum_cancels: bool


@dataclass(frozen=True, slots=True)
class PairPhase:
    """Two coils in series: whether string signals add and hum cancels; None where not known.

    ``missing`` names what is not recorded, as (component, entry). ``row`` is the case of the truth
    table that applies, None where not known.
    """

    coils: tuple[CoilPhase, CoilPhase]
    strings_add: bool | None
    hum_cancels: bool | None
    missing: tuple[tuple[str, Entry], ...]
    row: TruthRow | None


def _row(same_pole: bool, same_winding: bool, same_lead: bool) -> TruthRow:
    pole, winding, lead = (1 if same else -1 for same in (same_pole, same_winding, same_lead))
    return TruthRow(
        same_pole,
        same_winding,
        same_lead,
        string_sign(1, 1, 1) == string_sign(pole, winding, lead),
        hum_sign(1, 1) != hum_sign(winding, lead),
    )


#: The whole table: in pole, winding and lead the coils are the same or not.
TRUTH_TABLE: tuple[TruthRow, ...] = tuple(
    _row(pole, winding, lead)
    for pole in (True, False)
    for winding in (True, False)
    for lead in (True, False)
)


def coil_phase(measured: MeasuredPiece, component: str) -> CoilPhase:
    """Return what is recorded of one coil's pole, winding and lead, and the signs that follow."""
    recorded: dict[Entry, str | None] = {}
    signs: dict[Entry, int | None] = {}
    for entry in ENTRIES:
        value = measured.best.get((component, entry))
        word = value.category if value is not None else None
        signs[entry] = SIGNS[entry].get(word) if word is not None else None
        recorded[entry] = word if signs[entry] is not None else None
    pole, winding, lead = (signs[entry] for entry in ENTRIES)
    if winding is None or lead is None:
        return CoilPhase(component, recorded, None, None)
    string = string_sign(pole, winding, lead) if pole is not None else None
    return CoilPhase(component, recorded, string, hum_sign(winding, lead))


def pair_phase(measured: MeasuredPiece) -> PairPhase:
    """Return whether two coils in series add their strings and cancel their hum, as recorded."""
    a, b = coil_phase(measured, "coil_a"), coil_phase(measured, "coil_b")
    missing = tuple(
        (coil.component, entry)
        for coil in (a, b)
        for entry in ENTRIES
        if coil.recorded[entry] is None
    )
    row = None
    if not missing:
        row = _row(*(a.recorded[entry] == b.recorded[entry] for entry in ENTRIES))
    return PairPhase(
        (a, b),
        a.string == b.string if a.string is not None and b.string is not None else None,
        a.hum != b.hum if a.hum is not None and b.hum is not None else None,
        missing,
        row,
    )
