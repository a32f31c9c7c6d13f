"""The page on where practice and the standard part: every figure on it is worked out from data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from coilbook.pages.declare import OnePage
from coilbook.pages.disputes import in_circuits as parting_circuit
from coilbook.pages.disputes import in_magnets as parting_magnet
from coilbook.pages.disputes import in_windings as parting_winding
from coilbook.pages.disputes import in_wire as parting_wire
from coilbook.pages.disputes.dispute import Item
from coilbook.pages.page import Book

#: The items in the order of the page.
ITEMS = (
    parting_magnet.grade_number,
    parting_magnet.pole_gauss,
    parting_magnet.screw,
    parting_wire.formula_nominal,
    parting_wire.gauge_systems,
    parting_wire.grade_1,
    parting_winding.room_temperature,
    parting_winding.turns_from_resistance,
    parting_circuit.meter_across,
    parting_circuit.pot_tolerance,
    parting_circuit.imbalance_hum,
)


@dataclass(frozen=True, slots=True)
class PartingContext:
    """The page's items by code, in order."""

    items: Mapping[str, Item]


def context(book: Book) -> PartingContext:
    """Return every item, worked out from the reference alone."""
    return PartingContext({item.code: item for item in (make(book) for make in ITEMS)})


PAGE = OnePage(
    path="where-practice-parts/index.html",
    template="parting.html.j2",
    section="materials",
    title="Where practice and the standard part",
    description="Sayings of the trade beside standards, with arithmetic and a plot each.",
    context=context,
    search_text="grade number strength formula nominal gauge systems AWG SWG grade 1 "
    "single build temperature periods turns resistance pot across tolerance hum "
    "gauss screw steel",
)
