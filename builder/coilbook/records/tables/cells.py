"""What a cell may be, and what every row of every table shares: the bricks of the models."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from functools import cache
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

    def __init__(self, code: str, what: str, todo: str, column: str = "") -> None:
        self.code, self.what, self.todo, self.column = code, what, todo, column
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


def slug(text: str) -> str:
    """Return the id that is nearest to what somebody wrote, or nothing where there is none."""
    return "-".join(re.findall("[A-Za-z0-9]+", text))


def _lower_id(text: object) -> object:
    return text.casefold() if isinstance(text, str) else text


def _check_id(text: str) -> str:
    if not _ID.match(text):
        example = slug(text) or "full-size-humbucker"
        raise RowError(
            "id-wrong",
            f"'{text}' is not an id.",
            f"Use letters, digits and single hyphens, as in {example}.",
        )
    if _DEVICE.match(text):
        raise RowError(
            "id-of-a-device",
            f"'{text}' cannot be a folder's name on every computer.",
            "Add a digit or a word to it.",
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
            "not-a-plain-number",
            f"'{value}' is not a plain number.",
            "Write digits with a decimal point, as in 0.0635.",
        ) from None


def _whole(value: object) -> object:
    if not isinstance(value, str):
        return value
    if not re.fullmatch(r"[+-]?\d+", value):
        raise RowError(
            "not-a-whole-number",
            f"'{value}' is not a whole number.",
            "Write digits only, as in 1959.",
        )
    return int(value)


_TWO_YEARS = re.compile(r"([0-9]{4}) ?[-–/] ?([0-9]{2}|[0-9]{4})")


def _year_alone(value: object) -> object:
    """Tell two years in one cell, and a year that is only about right, with where they belong."""
    text = value.strip() if isinstance(value, str) else ""
    if not text or re.fullmatch(r"[+-]?\d+", text):
        return _whole(text or value)
    two = _TWO_YEARS.fullmatch(text)
    if two is not None:
        last = two[2] if len(two[2]) == 4 else two[1][:2] + two[2]
        raise RowError(
            "two-years",
            f"'{text}' is two years.",
            f"Write {two[1]} under the first year and {last} under the last.",
        )
    if re.fullmatch(r"[^0-9]*[0-9]{4}[^0-9]*", text):
        raise RowError(
            "about-a-year",
            f"'{text}' is not a year alone.",
            "Write the first and the last year that it may be from, each in its own column.",
        )
    return _whole(value)


def _year(value: int) -> int:
    if not YEARS[0] <= value <= YEARS[1]:
        raise RowError(
            "year-out-of-range",
            f"{value} is not a year between {YEARS[0]} and {YEARS[1]}.",
            "Write four digits.",
        )
    return value


#: A spreadsheet counts days from here (common practice: it takes 1900 for a leap year).
_DAY_NOUGHT = dt.date(1899, 12, 30)
#: Counts of days that a reading may have: from 1990 to 2078.
SERIALS = range(32874, 65380)
_DAY_AND_MONTH = re.compile(r"([0-9]{1,2})([-./ ]) ?([0-9]{1,2})\2 ?([0-9]{4})")


def serial_date(text: str) -> dt.date | None:
    """Return the day that a spreadsheet means by a bare count of days, if it may be one."""
    if not re.fullmatch(r"[0-9]{5}", text) or int(text) not in SERIALS:
        return None
    return _DAY_NOUGHT + dt.timedelta(days=int(text))


def _days_meant(text: str) -> list[dt.date]:
    """Return the days that a date in another form may mean."""
    serial = serial_date(text)
    if serial is not None:
        return [serial]
    parts = _DAY_AND_MONTH.fullmatch(text.strip())
    if parts is None:
        return []
    one, other, year = int(parts[1]), int(parts[3]), int(parts[4])
    # With points the day stands first; with other marks that depends on who wrote it.
    orders = [(other, one)] if parts[2] == "." else [(other, one), (one, other)]
    found = []
    for month, day in orders:
        try:
            found.append(dt.date(year, month, day))
        except ValueError:
            continue
    return list(dict.fromkeys(found))


def _date(value: object) -> object:
    if not isinstance(value, str):
        return value
    try:
        return dt.date.fromisoformat(value)
    except ValueError:
        days = [day.isoformat() for day in _days_meant(value)]
    if serial_date(value) is not None:
        raise RowError(
            "date-as-a-number",
            f"'{value}' is how a spreadsheet counts days: it is {days[0]}.",
            f"Set the column to text, and write {days[0]}.",
        )
    if len(days) > 1:
        raise RowError(
            "date-ambiguous",
            f"'{value}' could be {' or '.join(days)}.",
            f"Write {' or '.join(days)}.",
        )
    if days:
        raise RowError(
            "date-in-another-form",
            f"'{value}' is a date written another way.",
            f"Write {days[0]}.",
        )
    raise RowError("not-a-date", f"'{value}' is not a date.", "Write it as 2026-03-14.")


#: What a form or a spreadsheet has for yes and no; capitals do not count.
YES_NO = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


def _yes_no(value: object) -> object:
    if isinstance(value, str):
        if value.casefold() in YES_NO:
            return YES_NO[value.casefold()]
        raise RowError("not-yes-or-no", f"'{value}' is neither yes nor no.", "Write yes or no.")
    return value


Id = Annotated[str, AfterValidator(_check_id)]
#: An id of which capitals do not count.
LowerId = Annotated[str, AfterValidator(_check_id), BeforeValidator(_lower_id)]
Ids = Annotated[tuple[Id, ...], BeforeValidator(_split), PlainSerializer(lambda ids: ";".join(ids))]
Words = Annotated[
    tuple[str, ...], BeforeValidator(_split), PlainSerializer(lambda words: ";".join(words))
]
Number = Annotated[float, BeforeValidator(_number), Field(allow_inf_nan=False)]
NonNegative = Annotated[Number, Field(ge=0)]
Positive = Annotated[Number, Field(gt=0)]
Whole = Annotated[int, BeforeValidator(_whole)]
Year = Annotated[int, AfterValidator(_year), BeforeValidator(_year_alone)]
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


@cache
def literal_words(model: type[BaseModel], column: str) -> tuple[str, ...]:
    """Return the words that a column may hold, or none where it is free."""
    words: list[str] = []
    _collect_words(model.model_fields[column].annotation, words)
    return tuple(words)


def _collect_words(annotation: object, words: list[str]) -> None:
    for argument in get_args(annotation):
        if isinstance(argument, str | int) and not isinstance(argument, bool):
            words.append(str(argument))
        elif argument is not type(None):
            _collect_words(argument, words)


def folded_word(word: str) -> str:
    """Return a word as it counts: without regard to capitals, spaces, hyphens and underscores."""
    return re.sub(r"[\s_-]+", "_", word.strip().casefold())


@cache
def _word_columns(model: type[BaseModel]) -> dict[str, dict[str, str]]:
    """Return, by column of words, the word that each way of writing it stands for."""
    found = {}
    for column in model.model_fields:
        words = literal_words(model, column)
        meant = {folded_word(word): word for word in words if not word.isdigit()}
        if {"yes", "no"} <= set(words):
            meant |= {form: "yes" if yes else "no" for form, yes in YES_NO.items()}
        if meant:
            found[column] = {**meant, **{word: word for word in words}}
    return found


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
        if not isinstance(data, dict):
            return data
        cells = {
            # Most empty cells hold nothing at all; the first question is the quickest.
            name: None if cell == "" or (isinstance(cell, str) and cell.isspace()) else cell
            for name, cell in data.items()
        }
        for column, words in _word_columns(cls).items():
            cell = cells.get(column)
            if isinstance(cell, str) and cell not in words:
                cells[column] = words.get(folded_word(cell), cell)
        return cells


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
                        "evidence-without-a-source",
                        f"published evidence needs a {column}.",
                        "Name where it stands, or lower the evidence to common_practice or "
                        "recalled.",
                        column,
                    )
        elif self.source_id is not None or self.locator is not None:
            column = "source_id" if self.source_id is not None else "locator"
            raise RowError(
                "evidence-with-a-source",
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
            "ends-swapped",
            f"{low} {first} is above {high} {last}.",
            "Swap them or correct the one that is wrong.",
            low,
        )
