"""Models of the side tables that say what the reference's other rows rest on, or need not state."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from coilbook.records.tables.cells import Evidenced, Id, Row
from coilbook.records.tables.documented import PoleKind


class MethodSource(Row):
    """A source that a method of the program rests on, whether or not a row cites it."""

    key = ("source_id",)

    source_id: Id = Field(description="The source in sources.csv.")
    rests: str = Field(description="What rests on it, in a few words.")


class Exemption(Row):
    """A core property that families with one kind of poles do not have."""

    key = ("property_id", "pole_kind")

    property_id: Id = Field(description="A core property in properties.csv.")
    pole_kind: PoleKind = Field(description="The kind of poles, as in families.csv.")
    reason: str = Field(description="Why there is nothing to state.")


class Derivation(Row):
    """A claim that was worked out from another, and so is no evidence for it."""

    key = ("claim_id", "rests_on")

    claim_id: Id = Field(description="The claim in claims.csv that was worked out.")
    rests_on: Id = Field(description="The claim in claims.csv that it was worked out from.")
    part: Literal["all", "ends"] = Field(
        description="What of it was worked out: all of it, or the ends of its range alone."
    )
    how: str = Field(description="How it was worked out, in one sentence.")


class Alias(Evidenced):
    """What the trade calls a family, where that is not its name here."""

    key = ("alias",)

    alias: str = Field(description="The plain word; capitals, spaces and hyphens do not count.")
    family_id: Id = Field(description="The family in families.csv that is usually meant.")
    says: str = Field(description="Why that one, in a sentence for whoever wrote the word.")
