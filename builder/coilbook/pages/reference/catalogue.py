"""Home, the list of families and the page that finds a piece."""

from __future__ import annotations

from dataclasses import dataclass

from coilbook.pages import text, views
from coilbook.pages.declare import OnePage
from coilbook.pages.drawn.strips import Lane, nice_axis, strip
from coilbook.pages.page import Book
from coilbook.pages.reference.coverage_page import property_href
from coilbook.records.tables.models import Family


@dataclass(frozen=True, slots=True)
class FamilyEntry:
    """A family in a list: its range at the leads as a strip."""

    family_id: str
    name: str
    summary: str
    years: str
    coils: str
    pieces: str
    claims: str
    strip: str
    strip_href: str
    unit: str


@dataclass(frozen=True, slots=True)
class PieceLink:
    """A piece in the plain list that needs no script."""

    piece_id: str
    words: str


@dataclass(frozen=True, slots=True)
class FamilyPieces:
    """The pieces of one family in the plain list."""

    family_id: str
    name: str
    pieces: tuple[PieceLink, ...]


@dataclass(frozen=True, slots=True)
class HomeContext:
    """The home page."""

    title: str
    publisher: str
    place: str
    note: str
    invented: bool
    families: tuple[FamilyEntry, ...]
    example: PieceLink | None
    piece_count: int
    reading_count: int
    claim_count: int
    source_count: int
    legend: str


@dataclass(frozen=True, slots=True)
class FamiliesContext:
    """The list of families."""

    families: tuple[FamilyEntry, ...]


@dataclass(frozen=True, slots=True)
class LookupContext:
    """The page that finds a piece, or the plain list.

    ``listed`` says whether it has the list; ``beside`` leads from it to the pieces' pages.
    """

    total: int
    listed: bool
    beside: str
    families: tuple[FamilyPieces, ...]
    states: tuple[str, ...]
    first_year: int
    last_year: int


def _all_pieces(book: Book, family: Family) -> list[PieceLink]:
    return [
        PieceLink(
            p.row.piece_id,
            " · ".join(part for part in (p.row.position or "", views.piece_years(p)) if part),
        )
        for p in book.archive.pieces.values()
        if p.family.family_id == family.family_id
    ]


def _card(book: Book, family: Family) -> FamilyEntry:
    prop = book.reference.properties[views.main_property(family)]
    claims = views.all_claims(book, family.family_id)
    mine = [c for c in claims if c.property.property_id == prop.property_id]
    found = views.summaries_of(book, family, prop, None)
    drawn = ""
    if mine or found:
        bands = views.bands(mine)
        axis = nice_axis([*views.band_ends(bands), *views.summary_ends(found)])
        shown = [views.claim_view(book, c) for c in mine]
        lanes = [Lane(s) for s in found] or [Lane()]
        drawn = strip(axis, bands, lanes, views.strip_label(prop, shown, found), ticks=True)
    pieces = sum(p.family.family_id == family.family_id for p in book.archive.pieces.values())
    return FamilyEntry(
        family_id=family.family_id,
        name=family.name,
        summary=family.summary,
        years=text.years(family.first_year, family.last_year),
        coils="one coil" if family.coils == 1 else "two coils",
        pieces=text.plural(pieces, "piece", "pieces"),
        claims=text.plural(len(claims), "claim", "claims"),
        strip=drawn,
        strip_href=property_href(family, prop),
        unit=f"{prop.name.lower()} at 20 °C, {prop.unit}",
    )


def families(book: Book) -> FamiliesContext:
    """Return the list of families, in the reference's order."""
    return FamiliesContext(tuple(_card(book, f) for f in book.reference.families.values()))


def home(book: Book) -> HomeContext:
    """Return the home page."""
    settings = book.archive.settings
    cards = families(book).families
    first = next(iter(book.archive.pieces.values()), None)
    example = PieceLink(first.row.piece_id, first.family.name) if first else None
    return HomeContext(
        title=settings.title,
        publisher=settings.publisher,
        place=settings.place or "",
        note=settings.note or "",
        invented=book.invented,
        families=cards,
        example=example,
        piece_count=len(book.archive.pieces),
        reading_count=sum(len(p.readings) for p in book.archive.pieces.values()),
        claim_count=len(book.reference.claims),
        source_count=len(book.reference.sources),
        legend="",
    )


#: A longer list of all pieces has a page of its own: a slow machine takes longer to read ten
#: thousand lines than to find a piece.
LISTED_AT_MOST = 1000


def listed_apart(book: Book) -> bool:
    """Return whether the plain list of all pieces has a page of its own."""
    return len(book.archive.pieces) > LISTED_AT_MOST


def lookup(book: Book) -> LookupContext:
    """Return the page that finds a piece, with every piece listed for those without scripts."""
    return _lookup(book, listed=not listed_apart(book), beside="")


def all_pieces(book: Book) -> LookupContext:
    """Return the plain list of all pieces as a page of its own."""
    return _lookup(book, listed=True, beside="../pieces/")


def _lookup(book: Book, *, listed: bool, beside: str) -> LookupContext:
    groups = tuple(
        FamilyPieces(f.family_id, f.name, tuple(_all_pieces(book, f)))
        for f in book.reference.families.values()
    )
    firsts = [p.row.year_first for p in book.archive.pieces.values() if p.row.year_first]
    lasts = [p.row.year_last for p in book.archive.pieces.values() if p.row.year_last]
    return LookupContext(
        total=len(book.archive.pieces),
        listed=listed,
        beside=beside,
        families=tuple(g for g in groups if g.pieces),
        states=tuple(sorted({p.row.state for p in book.archive.pieces.values()})),
        first_year=min(firsts, default=1900),
        last_year=max(lasts, default=2000),
    )


HOME = OnePage(
    path="index.html",
    template="home.html.j2",
    section="home",
    title=lambda book: book.archive.settings.title,
    description="Typical values of electric-guitar pickups by construction and period, "
    "with who says so, and a bench's own measurements beside them.",
    context=home,
)
FAMILIES = OnePage(
    path="families/index.html",
    template="families.html.j2",
    section="families",
    title="Families",
    description="Pickup constructions, each with what is documented and measured.",
    context=families,
)
PIECES = OnePage(
    path="pieces/index.html",
    template="pieces.html.j2",
    section="pieces",
    title="Find a piece",
    description="Find a measured piece by words, family, years and resistance.",
    context=lookup,
)
ALL_PIECES = OnePage(
    path="all-pieces/index.html",
    template="all_pieces.html.j2",
    section="pieces",
    title="All pieces by family",
    description="A plain list of every measured piece, family by family.",
    context=all_pieces,
    wanted=listed_apart,
)
