"""The command 'coilbook ranges': what is documented of the families, as a table."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from coilbook.commands.problems import wrapped
from coilbook.pages import text, views
from coilbook.records.contents import Claim, Reference
from coilbook.records.tables.documented import Family, Property

GAP = "  "


def all_as_text(reference: Reference, columns: int | None) -> str:
    """Return a line for every family: its id, the resistance at its leads, its years."""
    rows = [("family", "resistance at the leads", "years")]
    for family in reference.families.values():
        prop = reference.properties[views.main_property(family)]
        claims = reference.claims_on(family.family_id, prop.property_id)
        rows.append((family.family_id, _reach(claims, prop), _years(family)))
    lines = [
        *_table(rows, columns),
        "",
        wrapped(
            "At 20 °C, leads free, over all periods. One family with its periods: "
            "coilbook ranges FAMILY",
            columns,
        ),
    ]
    return text.with_plain_spaces("\n".join(lines))


def one_as_text(reference: Reference, family: Family, columns: int | None) -> str:
    """Return every documented figure of a family, by property and period."""
    lines = [f"{family.name} · {family.family_id} · {_years(family)}"]
    main = views.main_property(family)
    for prop in sorted(reference.properties.values(), key=lambda one: one.property_id != main):
        claims = reference.claims_on(family.family_id, prop.property_id)
        if not claims:
            continue
        lines += ["", wrapped(prop.name, columns)]
        rows = [(where, what, word) for what, word, where in _merged(claims, reference)]
        lines += [f"  {line}" for line in _table(rows, columns and columns - 2)]
    last = "At 20 °C, leads free. How each is known stands last; sources are on the site."
    lines += ["", wrapped(last, columns)]
    return text.with_plain_spaces("\n".join(lines))


def as_data(reference: Reference, families: Iterable[Family]) -> list[dict[str, Any]]:
    """Return the claims of families as plain data, in each property's unit."""
    return [
        {
            "family_id": family.family_id,
            "name": family.name,
            "first_year": family.first_year,
            "last_year": family.last_year,
            "claims": [
                _claim(claim)
                for claim in reference.claims
                if claim.row.family_id == family.family_id
            ],
        }
        for family in families
    ]


def _claim(claim: Claim) -> dict[str, Any]:
    row = claim.row
    return {
        "claim_id": row.claim_id,
        "property_id": row.property_id,
        "period_id": row.period_id,
        "position": row.position,
        "low": claim.low,
        "typical": claim.typical,
        "high": claim.high,
        "category": row.category,
        "unit": claim.property.unit,
        "evidence": row.evidence,
        "source_id": row.source_id,
    }


def _years(family: Family) -> str:
    return text.years(family.first_year, family.last_year)


def _reach(claims: Sequence[Claim], prop: Property) -> str:
    """Return the span from the lowest to the highest that any claim gives."""
    given = [v for c in claims for v in (c.low, c.typical, c.high) if v is not None]
    return text.span(min(given), None, max(given), prop) if given else "nothing documented"


def _merged(claims: Sequence[Claim], reference: Reference) -> Iterator[tuple[str, str, str]]:
    """Yield what is stated, how it is known, and every period and position of which it is said.

    Words that are said of the same places in the same way stand together: any of them is met.
    """
    places: dict[tuple[str, str], list[str]] = {}
    for claim in sorted(claims, key=lambda one: _first_year(one, reference)):
        row = claim.row
        period = reference.periods[row.period_id].name if row.period_id else "any year"
        where = f"{period}, {row.position}" if row.position else period
        stated = (text.claim_text(claim), text.EVIDENCE_MARKS[row.evidence][1])
        places.setdefault(stated, []).append(where)
    together: dict[tuple[str, str], list[str]] = {}
    of_words = any(claim.row.category for claim in claims)
    for (what, word), told in places.items():
        where = "; ".join(dict.fromkeys(told))
        if of_words:
            together.setdefault((where, word), []).append(what)
        else:
            yield what, word, where
    for (where, word), words in together.items():
        yield " or ".join(words), word, where


def _first_year(claim: Claim, reference: Reference) -> int:
    return reference.periods[claim.row.period_id].first_year if claim.row.period_id else 0


def _table(rows: Sequence[tuple[str, ...]], columns: int | None) -> Iterator[str]:
    """Yield rows in columns; where they do not fit, each cell after the first on its own line."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    if columns is not None and sum(widths) + len(GAP) * (len(widths) - 1) > columns:
        for first, *others in rows:
            yield from wrapped(first, columns, "").split("\n")
            for cell in others:
                yield from wrapped(f"  {cell}", columns, "  ").split("\n")
        return
    for row in rows:
        cells = (f"{cell:{width}}" for cell, width in zip(row, widths, strict=True))
        yield GAP.join(cells).rstrip()
