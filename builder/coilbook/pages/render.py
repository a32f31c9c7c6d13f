"""From the book to finished pages: each context through its template."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

import jinja2

from coilbook.assessment.review.crosscheck import cross_checks
from coilbook.pages import text
from coilbook.pages.disputes import disputes_page as parting
from coilbook.pages.family import crosscheck_page as crosscheck
from coilbook.pages.family import family_page as family
from coilbook.pages.family import features
from coilbook.pages.page import Book, PageOut, SiteContent, root_of
from coilbook.pages.piece import piece_page as piece
from coilbook.pages.reference import catalogue, materials, observing
from coilbook.pages.reference import coverage_page as coverage
from coilbook.pages.reference import instruments_page as instruments
from coilbook.pages.reference import parts_tables as tables
from coilbook.pages.reference import sources_page as sources
from coilbook.pages.tools import calculators
from coilbook.pages.tools import check_page as check
from coilbook.pages.tools import pole_gauge as gauge
from coilbook.pages.tools import winding_page as winding


class _Compiled(jinja2.BytecodeCache):
    """The templates that this process has compiled: a preview builds the site again and again.

    What is compiled depends on whether values are escaped, and nothing says so of a template.
    """

    def __init__(self) -> None:
        self._code: dict[str, bytes] = {}

    def load_bytecode(self, bucket: jinja2.bccache.Bucket) -> None:
        """Give what was compiled of this very text, if anything was."""
        if bucket.key in self._code:
            bucket.bytecode_from_string(self._code[bucket.key])

    def dump_bytecode(self, bucket: jinja2.bccache.Bucket) -> None:
        """Keep what was compiled, in the place of what was compiled of an earlier text."""
        self._code[bucket.key] = bucket.bytecode_to_string()


_COMPILED = {True: _Compiled(), False: _Compiled()}


def environment(templates: Mapping[str, str], *, escaped: bool = True) -> jinja2.Environment:
    """Return the templates' environment: nothing undefined passes, and everything is escaped.

    ``escaped`` is False for what is read as text and not as a page.
    """
    env = jinja2.Environment(
        loader=jinja2.DictLoader(dict(templates)),
        autoescape=escaped,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=False,
        bytecode_cache=_COMPILED[escaped],
    )
    env.filters |= {"lower_first": text.lower_first, "upper_first": text.upper_first}
    return env


def _words(*parts: str | None) -> str:
    return " ".join(part for part in parts if part)


class _Renderer:
    """Renders contexts into pages, all with the same few globals."""

    def __init__(self, book: Book, templates: Mapping[str, str]) -> None:
        self._book = book
        self._env = environment(templates)
        self._env.globals["invented"] = book.invented
        self._env.globals["archive_mark"] = text.evidence(book.archive.settings.kind, None, None)

    def page(
        self,
        path: str,
        template: str,
        context: Any,
        *,
        title: str,
        description: str,
        section: str,
        search_title: str = "",
        search_text: str = "",
    ) -> PageOut:
        assert is_dataclass(context)
        names = {f.name: getattr(context, f.name) for f in fields(context)}
        html = self._env.get_template(template).render(root=root_of(path), **names)
        return PageOut(path, title, html, description, section, search_title, search_text)


def render_site(book: Book, templates: Mapping[str, str]) -> SiteContent:
    """Return every page that is made from records.

    ``templates`` maps a template's name to its text. Raises ``jinja2.TemplateError`` when a
    template asks for something that its context does not have.
    """
    r = _Renderer(book, templates)
    reference, archive = book.reference, book.archive
    checks = cross_checks(reference)
    pages = [
        r.page(
            "index.html",
            "home.html.j2",
            catalogue.home(book),
            title=archive.settings.title,
            description="Typical values of electric-guitar pickups by construction and period, "
            "with who says so, and a bench's own measurements beside them.",
            section="home",
        ),
        r.page(
            "families/index.html",
            "families.html.j2",
            catalogue.families(book),
            title="Families",
            description="Pickup constructions, each with what is documented and measured.",
            section="families",
        ),
        r.page(
            "pieces/index.html",
            "pieces.html.j2",
            catalogue.lookup(book),
            title="Find a piece",
            description="Find a measured piece by words, family, years and resistance.",
            section="pieces",
        ),
        r.page(
            "materials/index.html",
            "materials.html.j2",
            materials.index(book),
            title="Materials",
            description="Wires, magnets, metals, parts, bobbins, and features that date a piece.",
            section="materials",
        ),
        r.page(
            "materials/wires/index.html",
            "wires.html.j2",
            materials.wires(book),
            title="Wires",
            description="Magnet wire from 38 to 46 AWG and beside it: diameters, insulation.",
            section="materials",
            search_title="Wires",
            search_text="magnet wire gauge AWG SWG IEC grade half sizes diameter resistance single "
            "heavy build plain enamel formvar polyurethane insulation colour solder thermal class "
            + " ".join(f"{g} AWG" for g in sorted({w.awg for w in reference.wires.values()})),
        ),
        r.page(
            "materials/magnets/index.html",
            "magnets.html.j2",
            materials.magnets(book),
            title="Magnets",
            description="Grades of aluminium-nickel-cobalt and ferrite, typical and minimum.",
            section="materials",
            search_title="Magnets",
            search_text="magnet grades remanence coercivity energy product "
            + " ".join(f"grade {m.grade}" for m in reference.magnets.values()),
        ),
        r.page(
            "materials/metals/index.html",
            "metals.html.j2",
            tables.metals(book),
            title="Metals",
            description="How metals of covers, plates and poles conduct and lead the field.",
            section="materials",
            search_title="Metals",
            search_text=_words(
                "resistivity conductivity IACS skin depth eddy currents permeability",
                *(a.name for a in reference.alloys.values()),
            ),
        ),
        r.page(
            "materials/parts/index.html",
            "parts.html.j2",
            tables.parts(book),
            title="Parts of the circuit",
            description="Pots, tone capacitors, cable and inputs: nominal values and tolerances.",
            section="materials",
            search_title="Parts of the circuit",
            search_text="pot potentiometer volume tone capacitor cable capacitance tolerance taper "
            "nominal 250k 500k 1M 22 nF 47 nF input",
        ),
        r.page(
            "where-practice-parts/index.html",
            "parting.html.j2",
            parting.context(book),
            title="Where practice and the standard part",
            description="Sayings of the trade beside standards, with arithmetic and a plot each.",
            section="materials",
            search_title="Where practice and the standard part",
            search_text="grade number strength formula nominal gauge systems AWG SWG grade 1 "
            "single build temperature periods turns resistance pot across tolerance hum "
            "gauss screw steel",
        ),
        r.page(
            "materials/bobbins/index.html",
            "bobbins.html.j2",
            materials.bobbins(book),
            title="Bobbins",
            description="Core and winding window of each family's usual bobbin.",
            section="materials",
            search_title="Bobbins",
            search_text=_words(
                "bobbin core winding window", *(b.name for b in reference.bobbins.values())
            ),
        ),
        r.page(
            "materials/features/index.html",
            "features.html.j2",
            features.context(book),
            title="Features that date a piece",
            description="What can be seen on a piece, and the years it points to.",
            section="materials",
            search_title="Features that date a piece",
            search_text=_words(*(f.name for f in reference.features.values())),
        ),
        r.page(
            "check/index.html",
            "check.html.j2",
            check.context(book),
            title="Check a piece",
            description="Type what was read of a pickup: values at 20 °C, verdicts, observations.",
            section="check",
            search_title="Check a piece",
            search_text="check a piece at the bench type readings resistance temperature verdict "
            "draft save import",
        ),
        r.page(
            "calculators/index.html",
            "calculators.html.j2",
            calculators.context(book),
            title="Calculators",
            description="Temperature, parallel path, turns, lengths, flux, hum and response.",
            section="calculators",
            search_title="Calculators",
            search_text="calculate temperature parallel turns resistance window fill fractions "
            "inch mm gauss tesla imbalance hum response pots cable",
        ),
        r.page(
            "gauge/index.html",
            "gauge.html.j2",
            gauge.context(book),
            title="Pole-spacing gauge",
            description="Combs at every documented pole spacing, to print at 1:1.",
            section="families",
            search_title="Pole-spacing gauge",
            search_text="gauge comb ruler pole spacing string spacing print actual size 50 mm",
        ),
        r.page(
            "methods/index.html",
            "methods.html.j2",
            sources.methods(book),
            title="Methods",
            description="The formulas behind the figures, with their validity and source.",
            section="methods",
            search_title="Methods",
            search_text=_words("formulas", *(f.sentence for f in sources.ALL_FORMULAS)),
        ),
        r.page(
            "methods/observations/index.html",
            "observations.html.j2",
            observing.context(book),
            title="How observations are made",
            description="The rule behind each observation, what it cannot tell, and how a blind "
            "trial found it to do.",
            section="methods",
            search_title="How observations are made",
            search_text="observations findings rules thresholds false alarms blind trial typical "
            "unusual periods consistent",
        ),
        r.page(
            "instruments/index.html",
            "instruments.html.j2",
            instruments.context(book),
            title="Instruments",
            description="What each instrument promises, and what repeated readings show.",
            section="methods",
            search_title="Instruments",
            search_text=_words(
                "instruments accuracy resolution calibration due repeatability reproducibility",
                *(i.name for i in archive.instruments),
            ),
        ),
        r.page(
            "sources/index.html",
            "sources.html.j2",
            sources.sources(book),
            title="Sources",
            description="Where published figures stand, and what rests on each.",
            section="sources",
            search_title="Sources",
            search_text=_words(*(s.title for s in reference.sources.values())),
        ),
        r.page(
            "coverage/index.html",
            "coverage.html.j2",
            coverage.context(reference, checks),
            title="Coverage and open questions",
            description="What is documented of each family, how it is known, and what is open.",
            section="sources",
            search_title="Coverage and open questions",
            search_text="coverage open questions unknown missing claims evidence published "
            "practice recalled contribute",
        ),
        r.page(
            "crosscheck/index.html",
            "crosscheck.html.j2",
            crosscheck.context(book, checks),
            title="Resistance against turns",
            description="Every documented resistance beside what the documented turns, wire and "
            "bobbin come to.",
            section="sources",
            search_title="Resistance against turns",
            search_text="cross-check physics resistance turns wire gauge bobbin consistency "
            "claims that part",
        ),
        r.page(
            "data/index.html",
            "data.html.j2",
            sources.data(book),
            title="Data",
            description="The records as CSV, to download and cite.",
            section="about",
            search_title="Data to download",
            search_text="CSV download readings reduced values claims datapackage cite licence",
        ),
    ]
    pages += [
        r.page(
            f"families/{fam.family_id}/index.html",
            "family.html.j2",
            family.context(book, fam, checks),
            title=fam.name,
            description=fam.summary,
            section="families",
            search_title=fam.name,
            search_text=_words(fam.summary, fam.fails),
        )
        for fam in reference.families.values()
    ]
    sheets = winding.sheets_of(book)
    pages.append(
        r.page(
            "winding/index.html",
            "winding_index.html.j2",
            winding.index(sheets),
            title="Winding sheets",
            description="Sheets to print and wind by, one for each family.",
            section="families",
            search_title="Winding sheets",
            search_text="rewind winding sheets turns wire resistance checks to print",
        )
    )
    pages += [
        r.page(
            f"winding/{sheet.family.family_id}/index.html",
            "winding.html.j2",
            winding.context(sheet, reference),
            title=f"Winding sheet: {sheet.family.name}",
            description=f"What a coil of {sheet.coil.turns:.0f} turns of {sheet.wire.awg} AWG "
            "should come to, with the order of checks.",
            section="families",
            search_title=f"Winding sheet: {sheet.family.name}",
            # Without the family's name: who types that looks for the family first.
            search_text=f"rewind winding sheet turns {sheet.coil.turns:.0f} {sheet.wire.awg} AWG "
            f"{sheet.wire.build} build",
        )
        for sheet in sheets
    ]
    if catalogue.listed_apart(book):
        pages.append(
            r.page(
                "all-pieces/index.html",
                "all_pieces.html.j2",
                catalogue.all_pieces(book),
                title="All pieces by family",
                description="A plain list of every measured piece, family by family.",
                section="pieces",
            )
        )
    for item in archive.pieces.values():
        context = piece.context(book, item)
        pages.append(
            r.page(
                f"pieces/{item.row.piece_id}/index.html",
                "piece.html.j2",
                context,
                title=f"Piece {item.row.piece_id}",
                description=f"{item.family.name}, {context.position}, {context.years}.",
                section="pieces",
                search_title=f"Piece {item.row.piece_id}",
                search_text=_words(
                    item.family.name, item.row.position, context.years, item.row.condition
                ),
            )
        )
    return SiteContent(tuple(pages))
