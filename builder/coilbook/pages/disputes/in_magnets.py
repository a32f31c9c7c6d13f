"""Where practice and the standard part, about magnets and poles: grades, gauss, screws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from coilbook.core.formulas.rods import RodMagnet, rod_on_axis_t
from coilbook.measures.magnet_field import rod_field_t
from coilbook.measures.magnet_grade import (
    MagnetCurve,
    rod_demagnetising_factor,
    row_demagnetising_factor,
    self_demagnetised_t,
    working_polarisation_t,
)
from coilbook.measures.metals import apparent_permeability, permeable_rod_factor
from coilbook.pages import text
from coilbook.pages.disputes.dispute import (
    DisputeRow,
    Item,
    Link,
    Sum,
    cited,
    family,
    lines,
    method,
    practice,
    with_unit,
)
from coilbook.pages.drawn import figures
from coilbook.pages.page import Book
from coilbook.records.tables.models import Magnet, Permeability

#: A rod of the size of many, and stand-offs at which somebody may hold a probe, in mm. An example.
ROD_MM = (4.8, 16.0)
STANDOFFS_MM = (0.0, 0.5, 1.0, 2.0, 5.0, 10.0)
ROD_GRADE = "mmpa-5-cast"
#: Six such rods at a usual string spacing, and one of the middle ones. An example.
ROW_PITCH_MM, ROW_RODS, ROW_WHICH = 10.4, 6, 3
#: Stands for a permeability without bound, where the shape alone is left.
_BOUNDLESS = 1e6
#: Three properties by which a magnet may be called strong: field, unit, digits; and their names.
_STRENGTHS = (("br_mt", "mT", 0), ("hc_ka_per_m", "kA/m", 0), ("bhmax_kj_per_m3", "kJ/m³", 1))
_WORDS = {"br_mt": "remanence", "hc_ka_per_m": "coercivity", "bhmax_kj_per_m3": "energy product"}


def _cast(book: Book) -> list[Magnet]:
    """Return the cast grades with a plain number, by that number."""
    found = [
        m
        for m in book.reference.magnets.values()
        if m.material == "alnico"
        and m.value_kind == "typical"
        and m.process == "cast"
        and m.grade.isdigit()
    ]
    return sorted(found, key=lambda m: int(m.grade))


def _strength_row(grade: Magnet, grades: Sequence[Magnet]) -> DisputeRow:
    """Return a grade's three properties, each with its rank among the grades."""
    cells = []
    for name, unit, digits in _STRENGTHS:
        rank = 1 + sum(getattr(other, name) > getattr(grade, name) for other in grades)
        cells += [with_unit(getattr(grade, name), digits, unit), f"{rank} of {len(grades)}"]
    return DisputeRow(grade.grade, tuple(cells), f"materials/magnets/index.html#{grade.magnet_id}")


def _order_sums(grades: Sequence[Magnet]) -> tuple[Sum, ...]:
    """Return, for each property, the pairs of grades whose numbers are no order of strength."""
    pairs = list(combinations(grades, 2))
    wrong = {
        name: [(a, b) for a, b in pairs if getattr(a, name) > getattr(b, name)]
        for name, _, _ in _STRENGTHS
    }
    return tuple(
        Sum(
            f"pairs of grades where the higher number has less {_WORDS[name]}",
            "; ".join(f"{a.grade} before {b.grade}" for a, b in wrong[name]) or "none",
            f"{len(wrong[name])} of {len(pairs)}",
        )
        for name, _, _ in _STRENGTHS
    )


def _strength_figure(grades: Sequence[Magnet]) -> figures.Figure:
    top = {name: max(getattr(m, name) for m in grades) for name, _, _ in _STRENGTHS}
    return lines(
        "grade-number",
        "Strength by grade number",
        "Each property as a share of the strongest grade's. An order of strength would climb from "
        "left to right without a step down; none of the three does.",
        [m.grade for m in grades],
        {
            _WORDS[name]: [round(100.0 * getattr(m, name) / top[name], 1) for m in grades]
            for name, _, _ in _STRENGTHS
        },
        ("grade", "share of the highest, %"),
        xaxis=figures.axis_of("grade", type="category"),
    )


def grade_number(book: Book) -> Item:
    """Return the grades in the order of their numbers, and how far that is one of strength."""
    grades = _cast(book)
    return Item(
        "grade-number",
        practice(),
        (cited(book, "mmpa-0100", "typical values of cast grades"),),
        _order_sums(grades),
        tuple(_strength_row(m, grades) for m in grades),
        _strength_figure(grades),
        (
            Link("magnets", "materials/magnets/index.html"),
            family(book, "full-size-humbucker", "magnet-grade"),
        ),
        {
            "weakest": min(grades, key=lambda m: m.br_mt).grade,
            "strongest": max(grades, key=lambda m: m.br_mt).grade,
        },
    )


@dataclass(frozen=True, slots=True)
class _Before:
    """The flux density at a stand-off before the rod in mT: at most, by itself, in a row."""

    standoff_mm: float
    at_most: float
    by_itself: float
    in_a_row: float


def _rod() -> RodMagnet:
    return RodMagnet(ROD_MM[0] / 1e3, ROD_MM[1] / 1e3)


def _row_factor() -> float:
    return row_demagnetising_factor(_rod(), ROW_PITCH_MM / 1e3, ROW_RODS, ROW_WHICH)


def _in_a_row_t(curve: MagnetCurve, standoff_m: float) -> float:
    """Return what one rod of the row shows, its neighbours' field at the probe counted in."""
    kept = working_polarisation_t(_row_factor(), curve)
    shown = float(rod_on_axis_t(kept, _rod(), standoff_m))
    for other in range(1, ROW_RODS + 1):
        if other != ROW_WHICH:
            away = abs(other - ROW_WHICH) * ROW_PITCH_MM / 1e3
            height = ROD_MM[1] / 2e3 + standoff_m
            shown += float(rod_field_t(kept, _rod(), away, height)[1])
    return shown


def _before_the_rod(magnet: Magnet, standoff_mm: float) -> _Before:
    curve = MagnetCurve(magnet.br_mt / 1e3, magnet.hc_ka_per_m * 1e3, magnet.bhmax_kj_per_m3 * 1e3)
    return _Before(
        standoff_mm,
        1e3 * float(rod_on_axis_t(curve.remanence_t, _rod(), standoff_mm / 1e3)),
        1e3 * self_demagnetised_t(curve, _rod(), standoff_mm / 1e3),
        1e3 * _in_a_row_t(curve, standoff_mm / 1e3),
    )


def _gauss_row(magnet: Magnet, one: _Before) -> DisputeRow:
    return DisputeRow(
        with_unit(one.standoff_mm, 1, "mm"),
        (
            with_unit(one.at_most, 0, "mT"),
            with_unit(one.by_itself, 0, "mT"),
            with_unit(10.0 * one.by_itself, -1, "G"),
            with_unit(100.0 * one.by_itself / magnet.br_mt, 1, "%"),
        ),
    )


def _gauss_sums(magnet: Magnet, one: _Before) -> tuple[Sum, ...]:
    """Return how the figure of the trade becomes what a probe shows; ``one`` is that at 1 mm."""
    first = one.by_itself
    per_tesla = {z: float(rod_on_axis_t(1.0, _rod(), z / 1e3)) for z in (1.0, 2.0)}
    factor = rod_demagnetising_factor(_rod())
    return (
        Sum(
            "remanence in the trade's unit",
            f"{magnet.br_mt:g} mT × 10 G/mT",
            with_unit(10.0 * magnet.br_mt, 0, "G"),
        ),
        Sum(
            f"at most, 1 mm before a rod of {ROD_MM[0]:g} mm × {ROD_MM[1]:g} mm",
            f"{magnet.br_mt:g} mT × {per_tesla[1.0]:.4f}",
            with_unit(magnet.br_mt * per_tesla[1.0], 0, "mT"),
        ),
        Sum(
            "what the rod's own ends leave of it (demagnetising factor "
            f"{factor:.4f}), at the same place",
            f"{first:.0f} mT / {magnet.br_mt * per_tesla[1.0]:.0f} mT",
            with_unit(100.0 * first / (magnet.br_mt * per_tesla[1.0]), 0, "%"),
        ),
        Sum(
            f"the same rod in the middle of {ROW_RODS}, {ROW_PITCH_MM:g} mm apart, all poles alike "
            f"(factor {_row_factor():.4f}), at the same place",
            f"{one.in_a_row:.0f} mT × 10 G/mT",
            with_unit(10.0 * one.in_a_row, -1, "G"),
        ),
        Sum(
            "a probe held at 2 mm and not at 1 mm",
            f"{per_tesla[2.0]:.4f} / {per_tesla[1.0]:.4f} − 1",
            f"{text.number(100.0 * (per_tesla[2.0] / per_tesla[1.0] - 1.0), 0)}"
            f"{text.unit_text('%')}",
        ),
    )


def pole_gauss(book: Book) -> Item:
    """Return what a meter shows before a rod, beside the remanence that its standard states."""
    magnet = book.reference.magnets[ROD_GRADE]
    before = [_before_the_rod(magnet, standoff) for standoff in STANDOFFS_MM]
    one = _before_the_rod(magnet, 1.0)
    figure = lines(
        "pole-gauss",
        "Flux density before a rod",
        "On a rod's axis in air: at most, were it magnetised to its remanence; by itself, charged "
        f"to the full; and the same in the middle of {ROW_RODS}, where each rod weakens its "
        "neighbours. That row shows less at the face, and more farther out, where the fields add "
        "up. An old rod shows less again if heat, a blow or another magnet has weakened it.",
        list(STANDOFFS_MM),
        {
            "at most": [round(b.at_most, 1) for b in before],
            "by itself": [round(b.by_itself, 1) for b in before],
            f"in a row of {ROW_RODS}": [round(b.in_a_row, 1) for b in before],
        },
        ("distance from the face, mm", "flux density, mT"),
    )
    return Item(
        "pole-gauss",
        practice(),
        (
            cited(book, "mmpa-0100", f"typical remanence of grade {magnet.grade}"),
            cited(book, "derby-olbert-2010", "field of a rod"),
        ),
        _gauss_sums(magnet, one),
        tuple(_gauss_row(magnet, b) for b in before),
        figure,
        (
            method("rod_on_axis_t", "field before a rod"),
            method("self_demagnetised_t", "what a rod shows by itself"),
            method("row_demagnetising_factor", "a rod among others"),
            family(book, "staggered-rod-single-coil", "pole-flux-density"),
            Link("magnets", f"materials/magnets/index.html#{ROD_GRADE}"),
        ),
        {
            "grade": magnet.grade,
            "remanence": with_unit(10.0 * magnet.br_mt, 0, "G"),
            "shown": with_unit(10.0 * one.by_itself, -1, "G"),
        },
    )


def _gathered(relative: float) -> tuple[float, float]:
    """Return the rod's factor at a permeability of its metal, and how much more it gathers."""
    factor = permeable_rod_factor(relative, _rod())
    return factor, apparent_permeability(relative, factor)


def _pole_row(name: str, row: Permeability, relative: float) -> DisputeRow:
    return DisputeRow(
        name,
        (f"{relative:g}", text.number(_gathered(relative)[1], 1)),
        f"materials/metals/index.html#permeability-{row.permeability_id}",
    )


def _gathering(name: str, relative: float) -> Sum:
    factor, gathered = _gathered(relative)
    return Sum(
        name,
        f"{relative:g} / [1 + {factor:.4f} × ({relative:g} − 1)]",
        text.number(gathered, 2),
    )


def _screw_sums(steel: Permeability) -> tuple[Sum, ...]:
    low, high = (_gathered(mu)[1] for mu in (steel.relative_low, steel.relative_high))
    factor, most = _gathered(_BOUNDLESS)
    even = rod_demagnetising_factor(_rod())
    return (
        _gathering("steel at the low end", steel.relative_low),
        _gathering("steel at the high end", steel.relative_high),
        Sum(
            "steel at the low end, were the rod magnetised evenly",
            f"{steel.relative_low:g} / [1 + {even:.4f} × ({steel.relative_low:g} − 1)]",
            text.number(apparent_permeability(steel.relative_low, even), 2),
        ),
        Sum(
            "steel, times",
            f"{steel.relative_high:g} / {steel.relative_low:g}",
            text.number(steel.relative_high / steel.relative_low, 1),
        ),
        Sum("gathered field, times", f"{high:.2f} / {low:.2f}", text.number(high / low, 2)),
        Sum("the most that this shape allows", f"1 / {factor:.4f}", text.number(most, 1)),
    )


def _screw_figure() -> figures.Figure:
    steps = (2.0, 3.0, 4.0, 6.0, 10.0, 20.0, 40.0, 60.0, 100.0, 200.0, 500.0, 1000.0)
    return lines(
        "screw",
        "What a pole gathers, by what it is made of",
        f"A rod of {ROD_MM[0]:g} mm × {ROD_MM[1]:g} mm in an even field. Beyond a permeability "
        "of some tens its shape decides.",
        list(steps),
        {"gathered field over that of air": [round(_gathered(mu)[1], 2) for mu in steps]},
        ("relative permeability of the metal", "apparent permeability"),
        xaxis=figures.axis_of(
            "relative permeability of the metal",
            type="log",
            tickvals=[2, 5, 10, 50, 100, 500, 1000],
        ),
    )


def screw(book: Book) -> Item:
    """Return how little the steel of a pole matters beside its shape."""
    steel = book.reference.permeabilities["low-carbon-steel-initial"]
    recoil = book.reference.permeabilities["alnico-5-recoil"]
    low, high = (_gathered(mu)[1] for mu in (steel.relative_low, steel.relative_high))
    return Item(
        "screw",
        practice(),
        (cited(book, "nagaoka-1909", "the coefficient of a rod magnetised evenly"),),
        _screw_sums(steel),
        (
            _pole_row("steel, low end", steel, steel.relative_low),
            _pole_row("steel, high end", steel, steel.relative_high),
            _pole_row("grade 5 magnet, low end", recoil, recoil.relative_low),
            _pole_row("grade 5 magnet, high end", recoil, recoil.relative_high),
        ),
        _screw_figure(),
        (
            method("apparent_permeability", "apparent permeability"),
            method("permeable_rod_factor", "demagnetising factor of a steel rod"),
            Link("metals", "materials/metals/index.html#permeability"),
        ),
        {
            "times": text.number(high / low, 1),
            "steel": text.number(steel.relative_high / steel.relative_low, 0),
        },
    )
