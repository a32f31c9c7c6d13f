"""What the invented archive holds on purpose: counts, stories, private columns, ways of writing."""

from __future__ import annotations

import csv
import re
from collections import Counter

import generate
import pytest
from demo_known import Demo
from demo_stories import NEAR_LIMIT, PLACED, UNKNOWN_POSITION, UNPUBLISHED

from coilbook.records import public_view

#: Pieces that each story happened to.
STORIES = {
    "rewound": 16,
    "open-coil": 2,
    "shorted-turns": 3,
    "recharged": 3,
    "swapped-magnet": 2,
    "dead-magnet": 1,
    "in-circuit-known": 12,
    "in-circuit-unknown": 2,
    "cold": 3,
    "hot": 3,
    "lapsed": 4,
    "no-temperature": 4,
    "pair-only": 8,
    "leaky-insulation": 1,
    "bad-joint": 1,
    "contradiction": 1,
    "near-limit": 8,
    "few-in-family": 5,
    "few-in-period": 5,
    "undated": 20,
    "unpublished": 8,
    "unknown-position": 15,
}
#: Doubts that the records must earn, by table and column, and no others.
DOUBTS = {
    ("pieces.csv", "features"): 1,
    ("readings.csv", "date"): 8,
    ("readings.csv", "temperature"): 4,
    ("readings.csv", "parallel"): 2,
}
#: Ways of writing a value or a temperature, as patterns of a whole cell.
WRITTEN = {
    "value": (
        r"\d\.\d+k", r"\d+,\d\d kΩ", r"\d{4} Ω", r"\dk\d+", r"\d \d+/\d+ in", r'\d-\d+/\d+"',
        r"\d+\.\d\d mm", r"\d+,\d\d mm", r"0\.0\d+ T", r"\d+ G", r"\d+ mT", "OL", "open", "<5",
        r">100M", r"> 100 MΩ", r"\d+ mH", r"\d+p", r"0\.\d+ nF", r"\d+ Hz", r"\d+,\d\d kHz",
    ),
    "temperature": (r"\d\d °F", r"\d\d,\d °C", r"\d\d\.\d", r"\d\d °C"),
}  # fmt: skip


def _rows(name: str) -> list[dict[str, str]]:
    with (generate.ARCHIVE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_archive_says_that_it_is_invented(demo: Demo) -> None:
    """Kind, licence, place and note are the invented scenario's, and its claims say so too."""
    settings = demo.archive.settings
    assert settings.kind == "invented"
    assert settings.licence == "CC-BY-4.0"
    assert (settings.title, settings.place) == ("Lantern Quay Repair Bench", "Ostermere")
    assert "invented" in (settings.note or "")
    # RFC 2606 keeps .example for examples, so that a printed code can lead to nobody.
    assert (settings.base_url or "").startswith("https://lantern-quay.example/")
    assert 3 <= len(demo.archive.claims) <= 5
    assert {claim.row.evidence for claim in demo.archive.claims} == {"invented"}


def test_it_loads_with_the_intended_doubts_alone(demo: Demo) -> None:
    """No error, and each doubt is one that a story of the archive is there to raise."""
    problems = demo.loaded.problems
    assert [str(p) for p in problems if p.severity == "error"] == []
    found = Counter((p.file, p.column) for p in problems)
    assert found == DOUBTS, "\n".join(map(str, problems))


def test_there_is_enough_of_everything(demo: Demo) -> None:
    """At least 240 pieces and 2,400 readings of eight families, which have 5 to 100 pieces.

    The other families of the reference have no piece in the invented shop.
    """
    pieces = Counter(piece.family.family_id for piece in demo.archive.pieces.values())
    assert pieces.total() >= 240
    assert sum(len(piece.readings) for piece in demo.archive.pieces.values()) >= 2400
    assert len(pieces) == 8
    assert set(pieces) < set(demo.reference.families)
    assert pieces.most_common(1)[0] == ("full-size-humbucker", 100)
    assert pieces["horseshoe-lap-steel"] == 5
    few = [
        piece
        for piece in demo.archive.pieces.values()
        if piece.family.family_id == "full-size-humbucker" and piece.row.year_last == 1956
    ]
    assert 3 <= len(few) <= 7


@pytest.mark.parametrize(("story", "pieces"), STORIES.items())
def test_every_story_is_told(demo: Demo, story: str, pieces: int) -> None:
    """A story is in the truth, on as many pieces as were asked for."""
    assert len(demo.pieces_of(story)) == pieces


def test_no_story_goes_uncounted(demo: Demo) -> None:
    """The table above has every story that the truth has, and the plan's sums are its own."""
    told = set().union(*demo.stories.values()) - {"", "untouched", "parts-from-practice"}
    assert told == set(STORIES)
    placed = Counter[str]()
    for story, _, _, count in PLACED:
        placed[story] += count
    placed.update({"near-limit": len(NEAR_LIMIT), "unpublished": UNPUBLISHED})
    placed["unknown-position"] = UNKNOWN_POSITION
    assert all(STORIES[story] == count for story, count in placed.items())


def test_truth_has_a_row_for_every_reading(demo: Demo) -> None:
    """Line, piece, component and property of the truth are those of readings.csv, none missing."""
    readings = _rows("readings.csv")
    of_readings = [row for row in demo.truth if row["line"] != "0"]
    columns = ("piece_id", "component", "property_id")
    assert [(int(row["line"]), *(row[c] for c in columns)) for row in of_readings] == [
        (line, *(row[c] for c in columns)) for line, row in enumerate(readings, 2)
    ]


def test_stories_show_in_the_records(demo: Demo) -> None:
    """What the truth says of a piece, the shop wrote: state, years, position, publishing."""
    assert all(p.row.state == "rewound" for p in demo.pieces_of("rewound"))
    rewound = [p for p in demo.archive.pieces.values() if p.row.state == "rewound"]
    assert len(rewound) == STORIES["rewound"]
    undated = [p for p in demo.archive.pieces.values() if p.row.year_first is None]
    assert len(undated) == STORIES["undated"]
    nowhere = [p for p in demo.archive.pieces.values() if p.row.position is None]
    assert len(nowhere) == STORIES["unknown-position"]
    public = set(public_view(demo.archive).pieces)
    hidden = set(demo.archive.pieces) - public
    assert hidden == {p.row.piece_id for p in demo.pieces_of("unpublished")}


def test_private_columns_are_filled_with_invented_tokens() -> None:
    """Every piece has a ticket and a price, readings and instruments tags; nothing like a name."""
    for row in _rows("pieces.csv"):
        assert re.fullmatch(r"ticket \d{4} shelf [A-F]", row["private_customer"])
        assert re.fullmatch(r"\d+", row["private_price"])
    notes = {row["private_note"] for row in _rows("readings.csv")}
    assert len(notes) > 10
    assert all(re.fullmatch(r"(tray \d+)?", note) for note in notes)
    assert all(row["private_tag"] for row in _rows("instruments.csv"))


@pytest.mark.parametrize(
    ("column", "pattern"), [(column, p) for column, ways in WRITTEN.items() for p in ways]
)
def test_every_way_of_writing_is_there(column: str, pattern: str) -> None:
    """Some row writes its value, or its temperature, in this way."""
    assert any(re.fullmatch(pattern, row[column]) for row in _rows("readings.csv"))


def test_a_bare_number_takes_its_unit_from_the_next_cell() -> None:
    """7820 beside Ω and 7.82 beside kΩ are both written."""
    pairs = [(row["value"], row["unit"]) for row in _rows("readings.csv")]
    assert any(re.fullmatch(r"\d{4}", value) and unit == "Ω" for value, unit in pairs)
    assert any(re.fullmatch(r"\d\.\d\d", value) and unit == "kΩ" for value, unit in pairs)


@pytest.mark.parametrize(
    ("column", "least", "most"), [("equivalent", 2, 6), ("standoff", 4, 20), ("zero", 20, 60)]
)
def test_a_few_readings_were_taken_otherwise(column: str, least: int, most: int) -> None:
    """Parallel equivalents, probes held off a pole, and probes that show something of nothing."""
    filled = [row for row in _rows("readings.csv") if row[column]]
    assert least <= len(filled) <= most


@pytest.mark.parametrize(
    ("instrument", "columns"),
    [
        ("bench-multimeter", {"lead_resistance"}),
        ("hand-multimeter", {"lead_resistance"}),
        ("lcr-bridge", {"input_capacitance"}),
        ("flux-meter", {"sensor_depth"}),
        ("sweep-oscillator", {"input_resistance", "input_capacitance"}),
        ("calipers", set()),
    ],
)
def test_instruments_say_what_they_do_to_a_reading(instrument: str, columns: set[str]) -> None:
    """Leads, clips, probe and sensing spot stand in the instruments' rows, and nowhere else."""
    every = {"lead_resistance", "input_resistance", "input_capacitance", "sensor_depth"}
    rows = [row for row in _rows("instruments.csv") if row["instrument_id"] == instrument]
    assert {column for row in rows for column in every if row[column]} == columns


def test_what_a_winder_notes_and_how_coils_are_joined(demo: Demo) -> None:
    """Most rewound pieces have counted turns and a mass; some pairs sense, hot lead and pole."""
    names: dict[str, set[str]] = {}
    for name, piece in demo.archive.pieces.items():
        names[name] = {reading.property.property_id for reading in piece.readings}
    wound = [name for name, has in names.items() if {"coil-turns", "wire-mass"} <= has]
    assert 8 <= len(wound) <= STORIES["rewound"]
    assert all(demo.archive.pieces[name].row.state == "rewound" for name in wound)
    joined = [
        name for name, has in names.items() if {"winding-sense", "hot-lead", "pole-polarity"} <= has
    ]
    assert len(joined) >= 20
    assert all(demo.archive.pieces[name].family.coils == 2 for name in joined)


def test_temperatures_of_the_bench(demo: Demo) -> None:
    """Nearly all readings of copper lie at 18 to 26 °C; the others near 12 and 31."""
    celsius = [r.reading.temperature_c for r in demo.copper if r.reading.temperature_c is not None]
    mild = sum(17.5 <= t <= 26.5 for t in celsius)
    assert mild >= 0.95 * len(celsius)
    assert mild < len(celsius)
    for story, near in (("cold", 12), ("hot", 31)):
        for piece in demo.pieces_of(story):
            readings = [r.temperature_c for r in piece.readings if r.temperature_c is not None]
            assert any(abs(t - near) <= 1 for t in readings)
