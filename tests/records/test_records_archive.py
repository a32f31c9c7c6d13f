"""What loading hands on: values in their property's unit, the public view, a new archive, work."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from records_tiny import ARCHIVE, edited, tiny_archive, tiny_reference, told, write

from coilbook.errors import CoilbookError
from coilbook.records import (
    datapackage,
    dictionary_markdown,
    load_archive,
    load_reference,
    new_archive,
    public_view,
)
from coilbook.records.contents import Archive, Reading
from coilbook.records.tables.models import ARCHIVE_TABLES, REFERENCE_TABLES, PieceRow, ReadingRow
from counted import calls_of


def _tiny(folder: Path, *edits: list[object]) -> Archive:
    loaded = tiny_archive(folder, edits)
    assert loaded.value is not None, told(loaded.problems)
    return loaded.value


def _first(folder: Path, *edits: list[object]) -> Reading:
    return _tiny(folder, *edits).pieces["lq-1"].readings[0]


def test_values_arrive_in_the_unit_of_their_property(tmp_path: Path) -> None:
    """3.95k is 3.95 kΩ, 68 °F is 20 °C, 2 1/2 in is 63.5 mm (the inch is 25.4 mm by definition)."""
    archive = _tiny(tmp_path)
    coil, _, pair, magnet, grade = archive.pieces["lq-1"].readings
    assert coil.value == pytest.approx(3.95, rel=1e-15)
    assert coil.row.value == "3.95k"
    assert coil.temperature_c == 20.0
    assert coil.temperature_half_width_k == 2.0
    assert pair.parallel_ohm == 500e3
    assert (pair.parallel_tolerance, pair.temperature_half_width_k) == (20.0, 1.0)
    assert magnet.value == pytest.approx(63.5, rel=1e-15)
    assert (grade.value, grade.category) == (None, "grade 5")
    assert archive.pieces["lq-2"].readings[1].test_frequency_hz == 1000.0
    low, book = archive.claims
    assert (low.typical, low.low, low.origin, book.typical) == (4.0, None, "archive", 8.0)


def test_one_count_is_the_instruments_before_the_written_one(tmp_path: Path) -> None:
    """A stated resolution is one count; else the last digit is, and a fraction has none."""
    archive = _tiny(tmp_path)
    coil, _, _, magnet, _ = archive.pieces["lq-1"].readings
    assert coil.step == pytest.approx(0.01)
    assert magnet.step is None
    plain = _first(tmp_path / "b", ["instruments.csv", 2, "resolution", ""])
    assert plain.step == pytest.approx(0.01)
    coarse = _first(tmp_path / "c", ["instruments.csv", 2, "resolution", "0.1 kΩ"])
    assert coarse.step == pytest.approx(0.1)


_INSTRUMENTS = (
    "instrument_id,name,measures,accuracy_percent,accuracy_digits,resolution,"
    "lead_resistance,input_resistance,input_capacitance,sensor_depth\n"
    "meter-1,meter,resistance,0.5,2,10 Ω,250 mΩ,10M,,\n"
    "probe-1,flux probe,flux_density,2,1,,,,,1/32 in\n"
    "bridge-1,bridge,inductance,0.5,2,,,,,\n"
    "bridge-1,bridge,capacitance,1,2,,,,4p,\n"
    "sweep-1,sweep,frequency,1,2,,,10 MΩ,12 pF,\n"
)
_READINGS = (
    "piece_id,component,property_id,value,temperature,circuit,test_frequency,equivalent,standoff,"
    "zero,instrument_id\n"
    "lq-2,coil,coil-resistance,5.95k,21,free,,,,,meter-1\n"
    "lq-2,magnet,pole-flux-density,490 G,,,,,1/8 in,-12,probe-1\n"
    "lq-2,magnet,pole-flux-density,49,,,,,2.0 mm,0.001 T,probe-1\n"
    "lq-2,coil,coil-inductance,2.5 H,,,1 kHz,parallel,,,bridge-1\n"
    "lq-2,pickup,resonant-frequency,6.2 kHz,,,,,,,sweep-1\n"
    "lq-2,coil,coil-inductance,2.1 H,,,,,,,\n"
)


def test_what_an_instrument_does_to_a_reading_comes_with_it(tmp_path: Path) -> None:
    """Leads, meter, probe and sensing spot arrive in SI; a bare zero has its value's unit."""
    edits: list[list[object]] = [
        ["instruments.csv", "=", _INSTRUMENTS],
        ["readings.csv", "=", _READINGS],
    ]
    archive = _tiny(tmp_path, *edits)
    coil, gauss, tesla, parallel, peak, plain = archive.pieces["lq-2"].readings
    assert (coil.lead_resistance_ohm, coil.input_resistance_ohm) == (0.25, 10e6)
    assert coil.step == pytest.approx(0.01)
    assert (gauss.value, gauss.zero) == (pytest.approx(49.0), pytest.approx(-1.2))
    assert gauss.zero_step == pytest.approx(0.1)
    assert (gauss.standoff_m, gauss.standoff_step_m) == (pytest.approx(3.175e-3), None)
    assert gauss.sensor_depth_m == pytest.approx(25.4e-3 / 32)
    assert (tesla.zero, tesla.zero_step) == (pytest.approx(1.0), pytest.approx(1.0))
    assert (tesla.standoff_m, tesla.standoff_step_m) == (pytest.approx(2e-3), pytest.approx(1e-4))
    assert (parallel.equivalent, parallel.test_frequency_hz) == ("parallel", 1000.0)
    assert parallel.input_capacitance_f == 0.0
    assert peak.input_capacitance_f == pytest.approx(12e-12)
    assert peak.input_resistance_ohm == 10e6
    assert (plain.equivalent, plain.standoff_m, plain.zero) == ("series", 0.0, None)
    assert (plain.lead_resistance_ohm, plain.input_resistance_ohm) == (0.0, None)


def test_an_archive_from_before_these_columns_is_still_valid(tmp_path: Path) -> None:
    """Tables that lack every column of loading, gap and zero load without a word."""
    gone = {
        "readings.csv": {"equivalent", "standoff", "zero"},
        "instruments.csv": {
            "lead_resistance", "input_resistance", "input_capacitance", "sensor_depth",
        },
    }  # fmt: skip
    edits: list[list[object]] = []
    for name, columns in gone.items():
        rows = list(csv.reader(ARCHIVE[name].splitlines()))
        kept = [i for i, column in enumerate(rows[0]) if column not in columns]
        assert len(kept) == len(rows[0]) - len(columns)
        lines = [",".join(f'"{row[i]}"' for i in kept) for row in rows]
        edits.append([name, "=", "\n".join(lines) + "\n"])
    assert told(tiny_archive(tmp_path, edits).problems) == []
    first = _first(tmp_path / "b", *edits)
    assert (first.equivalent, first.standoff_m, first.sensor_depth_m) == ("series", 0.0, 0.0)
    assert (first.zero, first.input_resistance_ohm, first.lead_resistance_ohm) == (None, None, 0.0)


@pytest.mark.parametrize(
    ("edits", "expected"),
    [
        ([], "valid"),
        ([["readings.csv", 2, "date", "2027-01-10"]], "valid"),
        ([["readings.csv", 2, "date", "2027-01-11"]], "lapsed"),
        ([["readings.csv", 2, "date", ""]], "unknown"),
        ([["readings.csv", 2, "date", "2025-01-09"]], "unknown"),
        ([["instruments.csv", 2, "due", ""]], "unknown"),
        ([["readings.csv", 2, "instrument_id", ""]], "unknown"),
    ],
)
def test_calibration_is_judged_on_the_day_of_the_reading(
    edits: list[list[object]], expected: str, tmp_path: Path
) -> None:
    """Valid to the due date, lapsed after it, unknown without the dates that would tell."""
    assert _first(tmp_path, *edits).calibration == expected


@pytest.mark.parametrize(
    ("value", "column", "expected"),
    [
        ("<5", "", "<"),
        ("5", "<", "<"),
        ("<5", "<", "<"),
        ("OL", "", "open"),
        ("OL", "open", "open"),
    ],
)
def test_a_bound_may_stand_in_the_value_or_beside_it(
    value: str, column: str, expected: str, tmp_path: Path
) -> None:
    """The qualifier column and the value's own sign say the same thing."""
    edits = [["readings.csv", 2, "value", value], ["readings.csv", 2, "qualifier", column]]
    free = ["readings.csv", "~", "7.9 kΩ", ">7.9 kΩ"]  # an open coil lets no reading through
    reading = _first(tmp_path, *edits, free)
    assert reading.qualifier == expected
    assert reading.value == (None if expected == "open" else 5.0)


def test_a_unit_column_serves_a_bare_number(tmp_path: Path) -> None:
    """3950 with ohms beside it is 3.95 kΩ, in any spelling; so is 3.95k with ohms beside it."""
    for number, unit in (("3950", "Ω"), ("3950", "ohms"), ("3.95", "kOhm"), ("3.95k", "Ω")):
        edits = [["readings.csv", 2, "value", number], ["readings.csv", 2, "unit", unit]]
        assert _first(tmp_path, *edits).value == pytest.approx(3.95, rel=1e-14)


@pytest.mark.parametrize("unit", ["", "1"])
def test_a_ratio_needs_no_unit(unit: str, tmp_path: Path) -> None:
    """A quality factor is a bare number, and the unit column may say so."""
    prop = "coil-quality,Quality,Q,1,quantity,coil,read,none,0,1000,0.3,20,2,,no,Of one coil.\n"
    reference = tiny_reference(
        tmp_path / "reference", [["properties.csv", "+", prop.strip()]]
    ).value
    assert reference is not None
    text = f"piece_id,component,property_id,value,unit\nlq-2,coil,coil-quality,2.31,{unit}\n"
    folder = write(tmp_path / "archive", edited(ARCHIVE, [["readings.csv", "=", text]]))
    loaded = load_archive(folder, reference)
    (other,) = loaded.problems
    assert (other.code, other.line) == ("piece-without-readings", 2)
    assert loaded.value is not None
    (quality,) = loaded.value.pieces["lq-2"].readings
    assert (quality.value, quality.step) == (2.31, pytest.approx(0.01))


def test_limits_hold_for_the_value_that_was_written(tmp_path: Path) -> None:
    """212 °F is 100 °C to the last place, however a conversion rounds: a doubt, not an error."""
    loaded = tiny_archive(tmp_path, [["readings.csv", 2, "temperature", "212 °F"]])
    assert told(loaded.problems) == [
        "doubt readings.csv:2 temperature: 100 °C is unusual for a bench. "
        "Check the temperature and its unit; leave it if that is what it was."
    ]


def test_the_public_view_has_published_pieces_and_the_instruments_that_read_them(
    tmp_path: Path,
) -> None:
    """An unpublished piece goes with its readings, and an instrument that read it alone."""
    only_once = "meter-2,meter,inductance,1,1,,,,,,,,\n"
    edits = [
        ["instruments.csv", "+", only_once.strip()],
        ["readings.csv", 8, "instrument_id", "meter-2"],
    ]
    archive = _tiny(tmp_path, *edits)
    public = public_view(archive)
    assert list(archive.pieces) == ["lq-1", "lq-2"]
    assert list(public.pieces) == ["lq-1"]
    assert [row.instrument_id for row in public.instruments] == ["meter-1", "calliper"]
    assert "lq-2" not in repr(public)
    assert "meter-2" not in repr(public)


def test_open_insulation_says_nothing_of_the_pair(tmp_path: Path) -> None:
    """Open between winding and metal is as it should be, and no doubt falls on the pair."""
    row = "lq-1,pickup,insulation-resistance,open,,,,,,,,,meter-1,2026-03-14,,,,,"
    free = ["readings.csv", "~", "in_circuit,500k,20", "free,,"]
    assert told(tiny_archive(tmp_path, [["readings.csv", "+", row], free]).problems) == []


_CELLS = [
    (file, 2, column) for file, model in ARCHIVE_TABLES.items() for column in model.model_fields
]


@settings(max_examples=50)
@given(
    st.sampled_from(_CELLS),
    st.text(max_size=12)
    | st.sampled_from(["-1", "0", "open", "<5", "1e300", "5 %", ";", "01", "½"]),
)
def test_no_cell_whatever_makes_loading_fail_any_other_way(
    tmp_path_factory: pytest.TempPathFactory, where: tuple[str, int, str], cell: str
) -> None:
    """Any text in any cell is read, or told as a problem with a place and a next step."""
    loaded = tiny_archive(tmp_path_factory.mktemp("cell"), [[*where, cell]])
    assert (loaded.value is None) == any(p.severity == "error" for p in loaded.problems)
    assert all(p.file and p.what.endswith(".") and p.todo for p in loaded.problems)


def test_every_problem_of_every_file_is_told_at_once_and_in_order(tmp_path: Path) -> None:
    """Slips in five files make one list, sorted by file, line and column."""
    edits = [
        ["readings.csv", 3, "value", "4.05±0.1"],
        ["readings.csv", 2, "temperature", "300"],
        ["pieces.csv", 3, "state", "rewond"],
        ["instruments.csv", 3, "measures", "lenght"],
        ["claims.csv", 2, "typical", "4 mH"],
        ["coilbook.toml", "~", '"measured"', '"mesured"'],
    ]
    problems = tiny_archive(tmp_path, edits).problems
    # Line 5 of readings.csv rests on the calliper, whose row is told already: not told again.
    assert [(p.file, p.line, p.column) for p in problems] == [
        ("claims.csv", 2, "typical"),
        ("coilbook.toml", 4, "kind"),
        ("instruments.csv", 3, "measures"),
        ("pieces.csv", 3, "state"),
        ("readings.csv", 2, "temperature"),
        ("readings.csv", 3, "value"),
    ]


def test_an_archive_does_without_its_optional_tables(tmp_path: Path) -> None:
    """claims.csv and sources.csv of a shop's own may be missing."""
    archive = _tiny(tmp_path, ["claims.csv", "-"], ["sources.csv", "-"])
    assert (archive.claims, dict(archive.sources)) == ((), {})


def test_a_new_archive_is_clean_and_keeps_its_title(tmp_path: Path) -> None:
    """What ``coilbook new`` makes loads without a problem, whatever signs its title has."""
    reference = load_reference().value
    assert reference is not None
    title = 'The "old" bench \\ Ærø'
    new_archive(tmp_path / "deep" / "bench", title)
    loaded = load_archive(tmp_path / "deep" / "bench", reference)
    assert told(loaded.problems) == []
    assert loaded.value is not None
    assert loaded.value.settings.title == title
    assert loaded.value.settings.kind == "measured"
    assert len(loaded.value.instruments) == 1
    assert "coilbook check" in (tmp_path / "deep" / "bench" / "HOW-TO.txt").read_text("utf-8")


def test_two_pieces_typed_into_a_new_archive_load(tmp_path: Path) -> None:
    """A first evening's typing, private columns filled in, arrives whole."""
    reference = load_reference().value
    assert reference is not None
    new_archive(tmp_path)
    assert load_archive(tmp_path, reference).value is not None
    for file, row in (
        ("pieces.csv", {"piece_id": "a-1", "family_id": "full-size-humbucker", "state": "unknown",
                        "potted": "no", "publish": "yes", "private_owner": "TOKEN"}),
        ("readings.csv", {"piece_id": "a-1", "component": "pair", "property_id": "pair-resistance",
                          "value": "7,82 kΩ", "temperature": "70 °F", "circuit": "free",
                          "instrument_id": "meter-1", "date": "2026-03-14"}),
    ):  # fmt: skip
        with (tmp_path / file).open("r+", encoding="utf-8-sig", newline="") as opened:
            header = next(csv.reader(opened))
            opened.seek(0, 2)
            csv.DictWriter(opened, header).writerow(row)
    loaded = load_archive(tmp_path, reference)
    assert told(loaded.problems) == []
    assert loaded.value is not None
    assert loaded.value.pieces["a-1"].readings[0].value == 7.82


def test_a_folder_with_something_in_it_is_left_alone(tmp_path: Path) -> None:
    """A new archive never writes among other files, nor over one."""
    (tmp_path / "note.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(CoilbookError, match=r"is not empty\. Name an empty folder"):
        new_archive(tmp_path)
    with pytest.raises(CoilbookError, match=r"is a file\. Name a folder"):
        new_archive(tmp_path / "note.txt")
    assert [path.name for path in tmp_path.iterdir()] == ["note.txt"]
    (tmp_path / "note.txt").unlink()
    with pytest.raises(CoilbookError, match="cannot be written"):
        new_archive(tmp_path / ("x" * 300))


def test_the_descriptor_has_every_table_and_column_of_the_models() -> None:
    """Names, order, keys and units follow the models; an unmatched kind of column would raise."""
    for kind, tables in (("reference", REFERENCE_TABLES), ("archive", ARCHIVE_TABLES)):
        package = datapackage(kind, name="x", title="X", licence="CC-BY-4.0")  # type: ignore[arg-type]
        assert [r["path"] for r in package["resources"]] == list(tables)
        for resource, model in zip(package["resources"], tables.values(), strict=True):
            fields = resource["schema"]["fields"]
            assert [field["name"] for field in fields] == list(model.model_fields)
            assert all(field["description"] for field in fields)
            for column in model.key:
                assert column in model.model_fields
    columns = {
        (resource["name"], field["name"]): field
        for kind in ("reference", "archive")
        for resource in datapackage(kind, name="x", title="X", licence="y")["resources"]  # type: ignore[arg-type]
        for field in resource["schema"]["fields"]
    }
    assert columns["wires", "bare_nom_mm"] == {
        "name": "bare_nom_mm", "type": "number", "description": "Bare diameter, nominal, mm.",
        "constraints": {"exclusiveMinimum": 0, "required": True}, "unit": "mm",
    }  # fmt: skip
    assert columns["families", "coils"]["constraints"] == {"enum": [1, 2], "required": True}
    assert columns["families", "positions"]["type"] == "list"
    assert columns["pieces", "publish"]["trueValues"] == ["yes"]
    assert columns["pieces", "year_first"]["type"] == "year"
    assert columns["readings", "date"]["type"] == "date"
    assert columns["readings", "parallel_tolerance"]["constraints"] == {"minimum": 0, "maximum": 50}
    assert columns["readings", "parallel_tolerance"]["unit"] == "%"
    assert columns["magnets", "bhmax_kj_per_m3"]["unit"] == "kJ/m³"


def test_keys_of_the_descriptor_lead_somewhere() -> None:
    """Every foreign key names a table and a primary key of the same package."""
    found = 0
    for kind in ("reference", "archive"):
        resources = datapackage(kind, name="x", title="X", licence="y")["resources"]  # type: ignore[arg-type]
        schemas = {resource["name"]: resource["schema"] for resource in resources}
        for schema in schemas.values():
            assert ("primaryKey" in schema) != ("uniqueKeys" in schema)
            for foreign in schema.get("foreignKeys", ()):
                target = foreign["reference"]
                assert schemas[target["resource"]]["primaryKey"] == target["fields"]
                found += 1
    assert found >= 10


def test_the_dictionary_names_every_column_and_hides_no_sign(tmp_path: Path) -> None:
    """Each table is a heading, each column a row, and a < in a text is no tag."""
    page = dictionary_markdown()
    for tables in (REFERENCE_TABLES, ARCHIVE_TABLES):
        for file, model in tables.items():
            assert f"### {file}\n" in page
            for column, info in model.model_fields.items():
                assert f"| `{column}` |" in page
                assert str(info.description).replace("<", "&lt;") in page
    assert "<" not in page


def _shop(folder: Path, count: int) -> Path:
    """Return the folder of an archive with so many pieces of ten readings each."""
    pieces = [",".join(PieceRow.model_fields)]
    readings = [",".join(ReadingRow.model_fields)]
    for piece in range(count):
        pieces.append(f"lq-{piece:04},twin-coil,1958,1959,label,neck,untouched,,no,old-lead,yes,")
        for number in range(10):
            part = ("coil_a", "coil_b")[number % 2]
            day = date(2026, 1, 1 + number)
            readings.append(
                f"lq-{piece:04},{part},coil-resistance,{3.5 + number / 10:.2f} kΩ,,,"
                f"68 °F,1,in_circuit,500k,20,,,,,meter-1,{day},"
            )
    edits = [
        ["pieces.csv", "=", "\n".join(pieces)],
        ["readings.csv", "=", "\n".join(readings)],
    ]
    return write(folder, edited(ARCHIVE, edits))


def test_the_work_of_loading_grows_with_the_readings(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each file is read once; four times the pieces take at most four times the calls.

    A reading with its share of all the checks takes 480: a build loads and checks every time.
    """
    reference = tiny_reference(tmp_path / "reference").value
    assert reference is not None
    small, large = _shop(tmp_path / "small", 30), _shop(tmp_path / "large", 120)
    read: list[Path] = []
    whole = Path.read_bytes

    def noted(path: Path) -> bytes:
        read.append(path)
        return whole(path)

    monkeypatch.setattr(Path, "read_bytes", noted)
    assert told(load_archive(large, reference).problems) == []
    assert large / "readings.csv" in read
    assert len(read) == len(set(read))
    _, few = calls_of(lambda: load_archive(small, reference))
    _, many = calls_of(lambda: load_archive(large, reference))
    assert many <= 4.0 * few
    assert many <= 700 * 120 * 10
