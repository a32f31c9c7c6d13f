"""Which family somebody means: by its id, by its name, or by what the trade calls it."""

from __future__ import annotations

from coilbook.core.written.spelling import did_you_mean
from coilbook.errors import CoilbookError, Problem, RecordsInvalid, UnknownId
from coilbook.records import load_reference
from coilbook.records.contents import Reference
from coilbook.records.tables.documented import Family


def reference_alone() -> Reference:
    """Return the reference; raises :class:`RecordsInvalid` if it has an error."""
    loaded = load_reference()
    if loaded.value is None:
        raise RecordsInvalid(loaded.problems)
    return loaded.value


def family_of(reference: Reference, text: str) -> tuple[Family, str]:
    """Return the family that is meant, and a sentence if that was not its id.

    Raises :class:`UnknownId` with the nearest, or with the list.
    """
    family, why = reference.family_called(text)
    if family is None:
        near = did_you_mean(text, [*reference.families, *reference.aliases])
        hint = f"{near}'coilbook ranges' lists them." if near else listed(reference)
        raise UnknownId(f"The reference has no family '{text}'. {hint}")
    return family, taken_for(text, family, why) if why else ""


def taken_for(text: str, family: Family, why: str) -> str:
    """Say which family a word was taken for, and why."""
    return f"'{text}' is taken for {family.family_id}. {why}"


def note_of(text: str, family: Family, why: str) -> Problem:
    """Return the same as a note of the option in which the word was typed."""
    what = f"'{text}' is taken for {family.family_id}."
    return Problem("--family", 0, "", what, why, "note", "family-by-another-name")


def no_family(command: str) -> CoilbookError:
    """Return the error of a command without its family, with the list to choose from."""
    reference = reference_alone()
    return CoilbookError(
        f"Which family? Write {command} --family with one of these, or with a plain word such as "
        f"humbucker:\n{listed(reference)}"
    )


def listed(reference: Reference) -> str:
    """Return every family's id and name, one a line."""
    longest = max(map(len, reference.families), default=0)
    return "\n".join(
        f"  {family_id:{longest}}  {family.name}"
        for family_id, family in reference.families.items()
    )
