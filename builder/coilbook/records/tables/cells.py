"""What a cell may be, and what every row of every table shares: the bricks of the models."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from typing import Annotated, Any, ClassVar, Literal, TypeVar, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    ValidationInfo,
    model_validator,
)

Evidence = Literal["published", "common_practice", "recalled", "measured", "invented"]
EVIDENCE: tuple[str, ...] = get_args(Evidence)

#: Both patterns are also a browser's, which puts ^ and $ round them.
ID_PATTERN = r"[A-Za-z0-9]+(?:-[A-Za-z0-9]+)*"
#: An id becomes a folder's name, and one system cannot make these.
DEVICE_PATTERN = r"(?:con|prn|aux|nul|com[0-9]|lpt[0-9])"
_ID = re.compile(rf"{ID_PATTERN}\Z")
_DEVICE = re.compile(rf"{DEVICE_PATTERN}\Z", re.IGNORECASE)
YEARS = (1900, 2100)


class RowError(ValueError):
    """A row breaks a rule of its model. ``column`` may name a column other than the validator's."""

    def __init__(self, what: str, todo: str, column: str = "") -> None:
        self.what, self.todo, self.column = what, todo, column
        super().__init__(f"{what} {todo}")


_Row = TypeVar("_Row", bound=BaseModel)


def rule(check: Callable[[_Row], _Row]) -> Any:
    """Make a rule of a whole row from a check that raises :class:`RowError`.

    With a list as the validation's context, faults are put there and the row goes on, so that a
    reader can tell all of them, and what other tables say of the row, in one run.
    """

    def run(row: _Row, info: ValidationInfo) -> _Row:
        try:
            return check(row)
        except RowError as fault:
            if info.context is None:
                raise
            info.context.append(fault)
            return row

    return model_validator(mode="after")(run)


def _check_id(text: str) -> str:
    if not _ID.match(text):
        raise RowError(
            f"'{text}' is not an id.",
            "Use letters, digits and single hyphens, as in full-size-humbucker.",
        )
    if _DEVICE.match(text):
        raise RowError(
            f"'{text}' cannot be a folder's name on every computer.", "Add a digit or a word to it."
        )
    return text


def _split(value: object) -> object:
    if isinstance(value, str):
        return tuple(part.strip() for part in value.split(";") if part.strip())
    return () if value is None else value


def _number(value: object) -> object:
    if not isinstance(value, str):
        return value
    try:
        return float(value)
    except ValueError:
        raise RowError(
            f"'{value}' is not a plain number.", "Write digits with a decimal point, as in 0.0635."
        ) from None


def _whole(value: object) -> object:
    if not isinstance(value, str):
        return value
    if not re.fullmatch(r"[+-]?\d+", value):
        raise RowError(f"'{value}' is not a whole number.", "Write digits only, as in 1959.")
    return int(value)


def _year(value: int) -> int:
    if not YEARS[0] <= value <= YEARS[1]:
        raise RowError(
            f"{value} is not a year between {YEARS[0]} and {YEARS[1]}.", "Write four digits."
        )
    return value


def _date(value: object) -> object:
    if not isinstance(value, str):
        return value
    try:
        return dt.date.fromisoformat(value)
    except ValueError:
        raise RowError(f"'{value}' is not a date.", "Write it as 2026-03-14.") from None


def _yes_no(value: object) -> object:
    if isinstance(value, str):
        if value in ("yes", "no"):
            return value == "yes"
        raise RowError(f"'{value}' is neither yes nor no.", "Write yes or no.")
    return value


Id = Annotated[str, AfterValidator(_check_id)]
Ids = Annotated[tuple[Id, ...], BeforeValidator(_split), PlainSerializer(lambda ids: ";".join(ids))]
Words = Annotated[
    tuple[str, ...], BeforeValidator(_split), PlainSerializer(lambda words: ";".join(words))
]
Number = Annotated[float, BeforeValidator(_number), Field(allow_inf_nan=False)]
NonNegative = Annotated[Number, Field(ge=0)]
Positive = Annotated[Number, Field(gt=0)]
Whole = Annotated[int, BeforeValidator(_whole)]
Year = Annotated[int, AfterValidator(_year), BeforeValidator(_whole)]
Date = Annotated[dt.date, BeforeValidator(_date)]
YesNo = Annotated[
    bool, BeforeValidator(_yes_no), PlainSerializer(lambda yes: "yes" if yes else "no")
]
#: A value as somebody wrote it; it is read later, when the unit that a bare number means is known.
AsWritten = str

Component = Literal[
    "pickup", "coil", "coil_a", "coil_b", "pair", "magnet", "magnet_a", "magnet_b", "cover", "lead"
]
#: What a property may be said of, and the parts of a piece at which it is read.
COMPONENT_PARTS: dict[str, tuple[str, ...]] = {
    "pickup": ("pickup",),
    "coil": ("coil", "coil_a", "coil_b"),
    "pair": ("pair",),
    "magnet": ("magnet", "magnet_a", "magnet_b"),
    "cover": ("cover",),
    "lead": ("lead",),
}


_GIVEN: dict[frozenset[str], set[str]] = {}


class Row(BaseModel):
    """A row of any table."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)

    #: Columns that together tell a row from every other of its table.
    key: ClassVar[tuple[str, ...]] = ()

    def model_post_init(self, context: Any, /) -> None:
        """Let rows with the same columns filled in share the set that names these.

        Each would have one of its own, which takes more memory than all else of a reading's row.
        Rows are frozen, and a copy gets a set of its own.
        """
        given = self.__pydantic_fields_set__
        shared = _GIVEN.setdefault(frozenset(given), given)
        object.__setattr__(self, "__pydantic_fields_set__", shared)

    @model_validator(mode="before")
    @classmethod
    def _empty_cells_are_none(cls, data: Any) -> Any:
        if isinstance(data, dict):
            return {
                # Most empty cells hold nothing at all; the first question is the quickest.
                name: None if cell == "" or (isinstance(cell, str) and cell.isspace()) else cell
                for name, cell in data.items()
            }
        return data


class Evidenced(Row):
    """A row that says how we know: published needs a source and a locator, the rest forbid both."""

    evidence: Evidence = Field(description="How we know: published, common_practice or recalled.")
    source_id: Id | None = Field(None, description="The source in sources.csv, if published.")
    locator: str | None = Field(None, description="Page, table or clause within the source.")

    @rule
    def _evidence_and_source_agree(self) -> Evidenced:
        if self.evidence == "published":
            for column in ("source_id", "locator"):
                if getattr(self, column) is None:
                    raise RowError(
                        f"published evidence needs a {column}.",
                        "Name where it stands, or lower the evidence to common_practice or "
                        "recalled.",
                        column,
                    )
        elif self.source_id is not None or self.locator is not None:
            column = "source_id" if self.source_id is not None else "locator"
            raise RowError(
                f"{self.evidence} evidence has no source, yet {column} is filled in.",
                "Empty source_id and locator, or make the evidence published.",
                column,
            )
        return self


def ordered(row: Row, low: str, high: str) -> None:
    """Raise :class:`RowError` where both columns are filled in and ``low`` lies above ``high``."""
    first, last = getattr(row, low), getattr(row, high)
    if first is not None and last is not None and first > last:
        raise RowError(
            f"{low} {first} is above {high} {last}.",
            "Swap them or correct the one that is wrong.",
            low,
        )
