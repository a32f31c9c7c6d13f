"""What assessment hands to the pages: verdicts and places among peers, with reasons as data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from coilbook.core.judging.consistency import Consistency
from coilbook.core.judging.verdict import Verdict
from coilbook.core.observing.next_reading import NextReading
from coilbook.core.observing.peers import GroupKey
from coilbook.core.reduction.reduced_value import ReducedValue


class Place(NamedTuple):
    """Where a piece stands among its peers, itself left out.

    ``percentile`` is the mean percentile rank; None where fewer than 8 peers are left.
    """

    key: GroupKey
    value: ReducedValue
    peers: int
    percentile: float | None
    peer_median: float | None


#: Every code of an observation, of what could explain one, and of what to read next; a template
#: has words for each.
FindingCode = Literal[
    "open_coil",
    "read_in_circuit",
    "coils_do_not_add_up",
    "turns_shorted",
    "losses_high",
    "gauge_cannot_fit",
    "resistance_outside_everything",
    "resistance_unusual",
    "imbalance_unusual",
    "magnet_above_ceiling",
    "magnet_weak",
    "magnet_strong",
    "dates_mixed",
    "calibration_lapsed",
    "temperature_decisive",
]
ExplanationCode = Literal[
    "broken_wire",
    "broken_joint",
    "across_the_pair",
    "other_temperature",
    "misread",
    "shorted_turns",
    "shorted_layers_by_damp",
    "other_gauge",
    "fewer_turns",
    "more_turns",
    "rewound_coil",
    "other_bobbin",
    "uneven_winding",
    "coil_exchanged",
    "magnet_exchanged",
    "magnet_recharged",
    "magnet_aged",
    "other_probe",
    "part_exchanged",
    "wrong_years",
    "drifted_meter",
    "different_core",
]
NextCode = Literal[
    "free_the_leads",
    "read_at_the_joint",
    "read_both_coils_and_the_pair",
    "read_quality",
    "read_inductance",
    "look_at_the_wire",
    "weigh_the_wire",
    "read_the_field_again",
    "look_at_the_features",
    "check_the_meter",
    "note_the_temperature",
]


@dataclass(frozen=True, slots=True)
class Finding:
    """One observation.

    ``strength`` counts standard deviations from what was expected, infinite where there is no
    doubt. ``fault`` is whether a sound pickup cannot show it; what is only unusual is none.
    ``data`` holds what was seen and expected, in the property's unit where it has one.
    """

    code: FindingCode
    component: str
    property_id: str
    strength: float
    fault: bool
    explanations: tuple[ExplanationCode, ...]
    next_step: NextCode
    data: Mapping[str, float | str] = field(default_factory=dict)


LeadWord = Literal["typical", "unusual", "cannot_tell"]

#: Why a piece is called typical, unusual or neither; a template has words for each.
LeadCode = Literal[
    "nothing_read",
    "nothing_documented",  # nothing that was read is documented with a limit
    "too_few_decided",  # decided, needs
    "all_too_close",  # close: how many values met a limit, none of which could be decided
    "outside",  # component, property_id: a value outside everything documented that decides it
    "finding",  # finding: an observation's code, component, property_id
    "decided",  # inside, decided: values inside something documented, of those decided
    "placed",  # usual, placed: values within the middle 90 % of their peers, of those placed
    "winding_left_out",  # the piece is rewound
    "record",  # finding: an observation on the record, which says nothing of the piece
]


@dataclass(frozen=True, slots=True)
class LeadReason:
    """One reason for the word that leads a piece's page."""

    code: LeadCode
    data: Mapping[str, float | str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Lead:
    """What is said of a piece first, and why; the first reason is the one that decided."""

    word: LeadWord
    reasons: tuple[LeadReason, ...]


@dataclass(frozen=True, slots=True)
class Assessment:
    """All that is said of one piece. ``periods`` are those its years touch."""

    piece_id: str
    periods: tuple[str, ...]
    verdicts: tuple[Verdict, ...]
    places: tuple[Place, ...]
    consistency: Consistency | None = None
    findings: tuple[Finding, ...] = ()
    next_readings: tuple[NextReading, ...] = ()
    lead: Lead = Lead("cannot_tell", (LeadReason("nothing_read"),))

    def verdicts_of(self, value: ReducedValue) -> tuple[Verdict, ...]:
        """Return the verdicts on one reduced value, be it this object or measured anew."""
        return tuple(v for v in self.verdicts if v.value.key == value.key)

    def place_of(self, value: ReducedValue) -> Place | None:
        """Return where a value stands among its peers, None of one that has no place."""
        return next((p for p in self.places if p.value.key == value.key), None)
