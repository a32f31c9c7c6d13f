"""Sources with everything that each supports, methods with their formulas, and the downloads."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from latex2mathml.converter import convert

from coilbook.core.constants import CONSTANTS
from coilbook.core.judging.conformity import conformance
from coilbook.measures.formulas import FORMULAS, FormulaDoc, document
from coilbook.pages import text
from coilbook.pages.declare import OnePage, search_words
from coilbook.pages.page import Book
from coilbook.stats.quantiles import median_ranks, percentile_rank, quantiles

#: Every formula of the methods page: those of the measures, then of verdicts and statistics.
ALL_FORMULAS: tuple[FormulaDoc, ...] = (
    *FORMULAS,
    document(conformance, "verdict"),
    *(document(f, "statistics") for f in (quantiles, median_ranks, percentile_rank)),
)


@dataclass(frozen=True, slots=True)
class Supported:
    """One statement that a source supports, with the page that shows it."""

    words: str
    href: str


@dataclass(frozen=True, slots=True)
class SourceView:
    """A source and what rests on it."""

    source_id: str
    title: str
    kind: str
    edition: str
    checked: str
    rights: str
    remark: str
    rests: str
    supports: tuple[Supported, ...]
    own: bool


@dataclass(frozen=True, slots=True)
class Unsourced:
    """Claims that rest on no source, counted by family."""

    evidence: text.Evidence
    count: int
    families: tuple[Supported, ...]


@dataclass(frozen=True, slots=True)
class SourcesContext:
    """The sources page."""

    sources: tuple[SourceView, ...]
    unsourced: tuple[Unsourced, ...]


@dataclass(frozen=True, slots=True)
class ArgumentView:
    """One letter of a formula."""

    symbol: str
    name: str
    unit: str


@dataclass(frozen=True, slots=True)
class FormulaView:
    """A formula as the code documents it."""

    anchor: str
    sentence: str
    mathml: str
    arguments: tuple[ArgumentView, ...]
    result: ArgumentView
    validity: str
    errors: str
    notes: tuple[str, ...]
    source: str
    href: str
    basis_href: str


@dataclass(frozen=True, slots=True)
class TopicView:
    """The formulas of one topic."""

    anchor: str
    name: str
    formulas: tuple[FormulaView, ...]


@dataclass(frozen=True, slots=True)
class ConstantView:
    """A constant with its source."""

    name: str
    symbol: str
    value: str
    unit: str
    source: str
    href: str


@dataclass(frozen=True, slots=True)
class MethodsContext:
    """The methods page."""

    constants: tuple[ConstantView, ...]
    topics: tuple[TopicView, ...]


@dataclass(frozen=True, slots=True)
class DataContext:
    """The downloads page."""

    prefix: str
    licence: str
    invented: bool
    title: str
    publisher: str
    piece_count: int
    reading_count: int
    own_claim_count: int
    claim_count: int
    figures: tuple[tuple[str, str], ...]


@cache
def mathml(latex: str) -> str:
    """Return a formula as MathML, made at build time so that the page needs no script."""
    return str(convert(latex, display="block"))


def _supports(book: Book, source_id: str) -> list[Supported]:
    reference = book.reference
    found = []
    for claim in (*reference.claims, *book.archive.claims):
        if claim.row.source_id == source_id:
            family = reference.families[claim.row.family_id]
            found.append(
                Supported(
                    f"{family.name}: {claim.property.name.lower()} {text.claim_text(claim)}",
                    f"families/{family.family_id}/index.html",
                )
            )
    tables = (
        ("wire", reference.wires.items(), "materials/wires/index.html"),
        ("magnet", reference.magnets.items(), "materials/magnets/index.html"),
        ("bobbin", reference.bobbins.items(), "materials/bobbins/index.html"),
        ("other wire", reference.other_wires.items(), "materials/wires/index.html"),
        ("insulation", reference.insulations.items(), "materials/wires/index.html"),
        ("metal", reference.alloys.items(), "materials/metals/index.html"),
        ("permeability figure", reference.permeabilities.items(), "materials/metals/index.html"),
        ("part", reference.parts.items(), "materials/parts/index.html"),
    )
    for noun, rows, href in tables:
        mine = [i for i, row in rows if row.source_id == source_id]
        if mine:
            found.append(Supported(f"{text.plural(len(mine), noun, noun + 's')}", href))
    found += [
        Supported(_title(f).rstrip("."), f"methods/index.html#{f.name.replace('_', '-')}")
        for f in ALL_FORMULAS
        if f.source_id == source_id
    ]
    return found


def sources(book: Book) -> SourcesContext:
    """Return every source with what rests on it, and what rests on none."""
    own = book.archive.sources
    methods_of = book.reference.method_sources
    rows = [*book.reference.sources.items(), *own.items()]
    views_ = tuple(
        SourceView(
            source_id=source_id,
            title=s.title,
            kind=s.kind,
            edition=", ".join(str(part) for part in (s.edition, s.year) if part),
            checked=s.checked,
            rights=s.rights,
            remark=s.remark or "",
            rests=method.rests if (method := methods_of.get(source_id)) else "",
            supports=tuple(_supports(book, source_id)),
            own=source_id in own,
        )
        for source_id, s in rows
    )
    unsourced = []
    for code in ("common_practice", "recalled", "measured", "invented"):
        claims = [
            c for c in (*book.reference.claims, *book.archive.claims) if c.row.evidence == code
        ]
        if not claims:
            continue
        counts: dict[str, int] = {}
        for claim in claims:
            counts[claim.row.family_id] = counts.get(claim.row.family_id, 0) + 1
        unsourced.append(
            Unsourced(
                text.evidence(code, None, None),
                len(claims),
                tuple(
                    Supported(
                        f"{book.reference.families[f].name} ({n})", f"families/{f}/index.html"
                    )
                    for f, n in counts.items()
                ),
            )
        )
    return SourcesContext(views_, tuple(unsourced))


def _title(doc: FormulaDoc) -> str:
    """Return a formula's sentence as a heading: what a program returns, a page simply names."""
    sentence = doc.sentence.removeprefix("Return ")
    return sentence[:1].upper() + sentence[1:]


def _letter(latex: str) -> str:
    return str(convert(latex, display="inline"))


def _source(book: Book, source_id: str | None, locator: str, basis: str) -> tuple[str, str]:
    """Return what a method rests on, in words and as a link from the root."""
    source = book.reference.sources.get(source_id) if source_id else None
    if source is None:
        return basis, ""
    words = ", ".join(part for part in (source.title, locator) if part)
    return words, f"sources/index.html#{source_id}"


#: Endings of an argument's name that only say its unit.
_UNIT_WORDS = frozenset({"m", "m2", "kg", "ohm", "c", "k", "h", "f", "hz", "t", "per", "percent"})


def _argument(name: str) -> str:
    """Return an argument's name as a reader would say it, without the unit in its code."""
    words = name.split("_")
    while len(words) > 1 and words[-1] in _UNIT_WORDS:
        words.pop()
    return " ".join(words)


def _unit(unit: str) -> str:
    """Return a unit as shown: none for a plain number, none where any unit will do."""
    return "" if unit in ("1", "unit") else unit


def formula_view(book: Book, doc: FormulaDoc) -> FormulaView:
    """Return a formula as the pages show it."""
    words, href = _source(book, doc.source_id, doc.locator, doc.basis)
    return FormulaView(
        anchor=doc.name.replace("_", "-"),
        sentence=_title(doc),
        mathml=mathml(doc.latex),
        arguments=tuple(
            ArgumentView(
                _letter(a.symbol), "" if a.name == a.symbol else _argument(a.name), _unit(a.unit)
            )
            for a in doc.arguments
        ),
        result=ArgumentView(_letter(doc.result_symbol), "result", _unit(doc.result_unit)),
        validity=doc.validity,
        errors=doc.errors.replace("OutOfDomain", "values"),
        notes=doc.notes,
        source=words,
        href=href,
        # Geometry and definitions hold by themselves; the rest is what the trade does.
        basis_href="evidence/index.html#"
        + ("common-practice" if doc.basis == "common practice" else "defined"),
    )


_TOPICS = {
    "wire": "Wire",
    "temperature": "Temperature",
    "circuit": "A path in parallel",
    "coil": "Coil",
    "window": "Winding window",
    "pair": "Pair of coils",
    "resonance": "Resonance",
    "magnet": "Magnet",
    "metals": "Metals",
    "uncertainty": "Uncertainty",
    "verdict": "Verdict",
    "statistics": "Statistics",
}


def methods(book: Book) -> MethodsContext:
    """Return every formula and constant from the code's own documentation."""
    topics: dict[str, list[FormulaView]] = {}
    for doc in ALL_FORMULAS:
        topics.setdefault(doc.topic, []).append(formula_view(book, doc))
    constants = []
    for constant in CONSTANTS:
        words, href = _source(book, constant.source_id, constant.locator, "")
        constants.append(
            ConstantView(
                constant.name,
                _letter(constant.symbol),
                constant.text,
                "" if constant.unit == "1" else constant.unit,
                words or "our own assumption",
                href,
            )
        )
    return MethodsContext(
        constants=tuple(constants),
        topics=tuple(TopicView(t, _TOPICS[t], tuple(found)) for t, found in topics.items()),
    )


def documented_file(file: str) -> str:
    """Return what a table of the reference is called among the downloads."""
    return f"documented-{file.replace('_', '-')}"


def data(book: Book) -> DataContext:
    """Return the downloads page."""
    settings = book.archive.settings
    return DataContext(
        prefix="invented-" if book.invented else "",
        licence=settings.licence,
        invented=book.invented,
        title=settings.title,
        publisher=settings.publisher,
        piece_count=len(book.archive.pieces),
        reading_count=sum(len(p.readings) for p in book.archive.pieces.values()),
        own_claim_count=len(book.archive.claims),
        claim_count=len(book.reference.claims),
        figures=tuple(
            (documented_file(file), text.plural(len(rows), "row", "rows"))
            for file, rows in book.reference.figure_rows().items()
        ),
    )


METHODS = OnePage(
    path="methods/index.html",
    template="methods.html.j2",
    section="methods",
    title="Methods",
    description="The formulas behind the figures, with their validity and source.",
    context=methods,
    search_text=search_words("formulas", *(f.sentence for f in ALL_FORMULAS)),
)
SOURCES = OnePage(
    path="sources/index.html",
    template="sources.html.j2",
    section="sources",
    title="Sources",
    description="Where published figures stand, and what rests on each.",
    context=sources,
    search_text=lambda book: search_words(*(s.title for s in book.reference.sources.values())),
)
DATA = OnePage(
    path="data/index.html",
    template="data.html.j2",
    section="about",
    title="Data",
    description="The records as CSV, to download and cite.",
    context=data,
    search_title="Data to download",
    search_text="CSV download readings reduced values claims datapackage cite licence",
)
