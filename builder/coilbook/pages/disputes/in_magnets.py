"""Where practice and the standard part, about magnets and poles: grades, gauss, screws."""

from __future__ import annotations

from itertools import combinations

from coilbook.measures.magnet_field import RodMagnet, rod_on_axis_t
from coilbook.measures.magnet_grade import (
    MagnetCurve,
    rod_demagnetising_factor,
    self_demagnetised_t,
)
from coilbook.measures.metals import apparent_permeability
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
from coilbook.records.tables.models import Magnet

#: A rod of the size of many, and stand-offs at which somebody may hold a probe, in mm. An example.
ROD_MM = (4.8, 16.0)
STANDOFFS_MM = (0.0, 0.5, 1.0, 2.0, 5.0, 10.0)
ROD_GRADE = "mmpa-5-cast"
#: Three properties by which a magnet may be called strong: field, word, unit.
_STRENGTHS = (("br_mt", "mT", 0), ("hc_ka_per_m", "kA/m", 0), ("bhmax_kj_per_m3", "kJ/m³", 1))


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


def grade_number(book: Book) -> Item:
    """Return the grades in the order of their numbers, and how far that is one of strength."""
    grades = _cast(book)
    ranks = {
        name: {
            m.grade: 1 + sum(getattr(other, name) > getattr(m, name) for other in grades)
            for m in grades
        }
        for name, _, _ in _STRENGTHS
    }
    rows = tuple(
        DisputeRow(
            m.grade,
            tuple(
                cell
                for name, unit, digits in _STRENGTHS
                for cell in (
                    with_unit(getattr(m, name), digits, unit),
                    f"{ranks[name][m.grade]} of {len(grades)}",
                )
            ),
            f"materials/magnets/index.html#{m.magnet_id}",
        )
        for m in grades
    )
    pairs = list(combinations(grades, 2))
    wrong = {
        name: [(a, b) for a, b in pairs if getattr(a, name) > getattr(b, name)]
        for name, _, _ in _STRENGTHS
    }
    words = {"br_mt": "remanence", "hc_ka_per_m": "coercivity", "bhmax_kj_per_m3": "energy product"}
    sums = tuple(
        Sum(
            f"pairs of grades where the higher number has less {words[name]}",
            "; ".join(f"{a.grade} before {b.grade}" for a, b in wrong[name]) or "none",
            f"{len(wrong[name])} of {len(pairs)}",
        )
        for name, _, _ in _STRENGTHS
    )
    top = {name: max(getattr(m, name) for m in grades) for name, _, _ in _STRENGTHS}
    figure = lines(
        "grade-number",
        "Strength by grade number",
        "Each property as a share of the strongest grade's. An order of strength would climb from "
        "left to right without a step down; none of the three does.",
        [m.grade for m in grades],
        {
            words[name]: [round(100.0 * getattr(m, name) / top[name], 1) for m in grades]
            for name, _, _ in _STRENGTHS
        },
        ("grade", "share of the highest, %"),
        xaxis=figures.axis_of("grade", type="category"),
    )
    return Item(
        "grade-number",
        practice(),
        (cited(book, "mmpa-0100", "typical values of cast grades"),),
        sums,
        rows,
        figure,
        (
            Link("magnets", "materials/magnets/index.html"),
            family(book, "full-size-humbucker", "magnet-grade"),
        ),
        {
            "weakest": min(grades, key=lambda m: m.br_mt).grade,
            "strongest": max(grades, key=lambda m: m.br_mt).grade,
        },
    )


def pole_gauss(book: Book) -> Item:
    """Return what a meter shows before a rod, beside the remanence that its standard states."""
    magnet = book.reference.magnets[ROD_GRADE]
    rod = RodMagnet(ROD_MM[0] / 1e3, ROD_MM[1] / 1e3)
    curve = MagnetCurve(magnet.br_mt / 1e3, magnet.hc_ka_per_m * 1e3, magnet.bhmax_kj_per_m3 * 1e3)
    rows = []
    ceilings: list[float | None] = []
    alone: list[float | None] = []
    for standoff in STANDOFFS_MM:
        full = 1e3 * float(rod_on_axis_t(curve.remanence_t, rod, standoff / 1e3))
        by_itself = 1e3 * self_demagnetised_t(curve, rod, standoff / 1e3)
        ceilings.append(round(full, 1))
        alone.append(round(by_itself, 1))
        rows.append(
            DisputeRow(
                with_unit(standoff, 1, "mm"),
                (
                    with_unit(full, 0, "mT"),
                    with_unit(by_itself, 0, "mT"),
                    with_unit(10.0 * by_itself, -1, "G"),
                    with_unit(100.0 * by_itself / magnet.br_mt, 1, "%"),
                ),
            )
        )
    per_tesla = {z: float(rod_on_axis_t(1.0, rod, z / 1e3)) for z in (1.0, 2.0)}
    factor = rod_demagnetising_factor(rod)
    first = 1e3 * self_demagnetised_t(curve, rod, 1e-3)
    sums = (
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
            "a probe held at 2 mm and not at 1 mm",
            f"{per_tesla[2.0]:.4f} / {per_tesla[1.0]:.4f} − 1",
            f"{text.number(100.0 * (per_tesla[2.0] / per_tesla[1.0] - 1.0), 0)}"
            f"{text.unit_text('%')}",
        ),
    )
    figure = lines(
        "pole-gauss",
        "Flux density before a rod",
        "On the axis of one rod alone in air: at most, were it magnetised to its remanence, and "
        "by itself, charged to the full.",
        list(STANDOFFS_MM),
        {"at most": ceilings, "by itself": alone},
        ("distance from the face, mm", "flux density, mT"),
    )
    return Item(
        "pole-gauss",
        practice(),
        (
            cited(book, "mmpa-0100", f"typical remanence of grade {magnet.grade}"),
            cited(book, "derby-olbert-2010", "field of a rod"),
        ),
        sums,
        tuple(rows),
        figure,
        (
            method("rod_on_axis_t", "field before a rod"),
            method("self_demagnetised_t", "what a rod shows by itself"),
            family(book, "staggered-rod-single-coil", "pole-flux-density"),
            Link("magnets", f"materials/magnets/index.html#{ROD_GRADE}"),
        ),
        {
            "grade": magnet.grade,
            "remanence": with_unit(10.0 * magnet.br_mt, 0, "G"),
            "shown": with_unit(10.0 * first, -1, "G"),
        },
    )


def screw(book: Book) -> Item:
    """Return how little the steel of a pole matters beside its shape."""
    steel = book.reference.permeabilities["low-carbon-steel-initial"]
    recoil = book.reference.permeabilities["alnico-5-recoil"]
    factor = rod_demagnetising_factor(RodMagnet(ROD_MM[0] / 1e3, ROD_MM[1] / 1e3))
    permeabilities = (
        ("steel, low end", steel.relative_low),
        ("steel, high end", steel.relative_high),
        ("grade 5 magnet, low end", recoil.relative_low),
        ("grade 5 magnet, high end", recoil.relative_high),
    )
    gathered = {name: apparent_permeability(mu, factor) for name, mu in permeabilities}
    rows = tuple(
        DisputeRow(
            name,
            (f"{mu:g}", text.number(gathered[name], 1)),
            "materials/metals/index.html#permeability-"
            + (steel if name.startswith("steel") else recoil).permeability_id,
        )
        for name, mu in permeabilities
    )
    low, high = gathered["steel, low end"], gathered["steel, high end"]
    sums = (
        Sum(
            "steel at the low end",
            f"{steel.relative_low:g} / [1 + {factor:.4f} × ({steel.relative_low:g} − 1)]",
            text.number(low, 2),
        ),
        Sum(
            "steel at the high end",
            f"{steel.relative_high:g} / [1 + {factor:.4f} × ({steel.relative_high:g} − 1)]",
            text.number(high, 2),
        ),
        Sum(
            "steel, times",
            f"{steel.relative_high:g} / {steel.relative_low:g}",
            text.number(steel.relative_high / steel.relative_low, 1),
        ),
        Sum("gathered field, times", f"{high:.2f} / {low:.2f}", text.number(high / low, 2)),
        Sum("the most that this shape allows", f"1 / {factor:.4f}", text.number(1.0 / factor, 1)),
    )
    steps = (2.0, 3.0, 4.0, 6.0, 10.0, 20.0, 40.0, 60.0, 100.0, 200.0, 500.0, 1000.0)
    curve: list[float | None] = [round(apparent_permeability(mu, factor), 2) for mu in steps]
    figure = lines(
        "screw",
        "What a pole gathers, by what it is made of",
        f"A rod of {ROD_MM[0]:g} mm × {ROD_MM[1]:g} mm in an even field. Beyond a permeability "
        "of some tens its shape decides.",
        list(steps),
        {"gathered field over that of air": curve},
        ("relative permeability of the metal", "apparent permeability"),
        xaxis=figures.axis_of(
            "relative permeability of the metal",
            type="log",
            tickvals=[2, 5, 10, 50, 100, 500, 1000],
        ),
    )
    return Item(
        "screw",
        practice(),
        (cited(book, "nagaoka-1909", "the coefficient from which a rod's factor follows"),),
        sums,
        rows,
        figure,
        (
            method("apparent_permeability", "apparent permeability"),
            method("rod_demagnetising_factor", "demagnetising factor of a rod"),
            Link("metals", "materials/metals/index.html#permeability"),
        ),
        {
            "times": text.number(high / low, 1),
            "steel": text.number(steel.relative_high / steel.relative_low, 0),
        },
    )
