"""Make the invented archive dataset/demo and its truth, byte for byte the same each time.

``python tests/demo/generate.py`` writes both; ``--check`` writes nothing and exits 1 if they are
not what it would write. The truth goes to tests/demo/truth.csv, which no site ever sees.
"""

from __future__ import annotations

import argparse
import csv
import datetime as dt
import io
import sys
from collections.abc import Iterable
from pathlib import Path
from random import Random

from demo_bench import CALIBRATED, METERS
from demo_pieces import Truth, draw
from demo_readings import LAPSED_DAYS, Taken, measure
from demo_stories import plans

HERE = Path(__file__).resolve().parent
ARCHIVE = HERE.parents[1] / "dataset" / "demo"
TRUTH = HERE / "truth.csv"
SEED = "lantern-quay-1"
FIRST_DAY, LAST_DAY = dt.date(2025, 3, 3), dt.date(2026, 2, 20)

NOTE = (
    "An invented archive: no such shop, town or pickup exists. A program made it from a physical "
    "model, to show what a real one can look like. It says nothing of any real pickup."
)
SETTINGS = f"""\
# An invented shop. Written by tests/demo/generate.py; do not edit by hand.
title = "Lantern Quay Repair Bench"
publisher = "Lantern Quay Repair Bench"
place = "Ostermere"
licence = "CC-BY-4.0"
kind = "invented"
# For the codes on printed cards. Names that end in .example are nobody's and lead nowhere.
base_url = "https://lantern-quay.example/pickups/"
note = "{NOTE}"
"""

CLAIM_COLUMNS = (
    "claim_id", "family_id", "period_id", "position", "property_id", "low", "typical", "high",
    "category", "unit", "remark", "evidence", "source_id", "locator",
)  # fmt: skip
CLAIMS = (
    {
        "claim_id": "lq-humbucker-pair-1962-65",
        "family_id": "full-size-humbucker",
        "period_id": "full-size-humbucker-1962-65",
        "property_id": "pair-resistance",
        "low": "7.4k",
        "typical": "7.7k",
        "high": "8.0k",
        "remark": "What this invented bench has come to expect; between two documented claims.",
    },
    {
        "claim_id": "lq-humbucker-imbalance-1966-70",
        "family_id": "full-size-humbucker",
        "period_id": "full-size-humbucker-1966-70",
        "property_id": "coil-imbalance",
        "low": "0",
        "high": "3",
        "unit": "%",
        "remark": "The coils of these years are wound to a count.",
    },
    {
        "claim_id": "lq-split-bass-imbalance",
        "family_id": "split-bass",
        "property_id": "coil-imbalance",
        "low": "0",
        "high": "10 %",
        "remark": "More than this and one half has been touched.",
    },
    {
        "claim_id": "lq-staggered-rod-inductance-1965-70",
        "family_id": "staggered-rod-single-coil",
        "period_id": "staggered-rod-single-coil-1965-70",
        "property_id": "coil-inductance",
        "low": "2.0 H",
        "high": "2400 mH",
        "remark": "At 1 kHz; far less with a full resistance speaks of shorted turns.",
    },
)


def _table(columns: Iterable[str], rows: Iterable[dict[str, str]]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, tuple(columns), restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def _day(index: int, count: int) -> dt.date:
    """Return the working day on which the piece of this index came to the bench."""
    day = FIRST_DAY + (LAST_DAY - FIRST_DAY) * index // count
    return day + dt.timedelta(days=(8 - day.isoweekday()) if day.isoweekday() > 5 else 0)


def _instruments() -> Iterable[dict[str, str]]:
    for meter in METERS:
        yield {
            "instrument_id": meter.instrument_id,
            "name": meter.name,
            "measures": meter.measures,
            "accuracy_percent": f"{meter.percent:g}",
            "accuracy_digits": f"{meter.digits:g}",
            "resolution": meter.count_written,
            "calibrated": CALIBRATED.isoformat(),
            "due": meter.due.isoformat(),
            "lead_resistance": meter.stated.get("lead_resistance", ""),
            "input_resistance": meter.stated.get("input_resistance", ""),
            "input_capacitance": meter.stated.get("input_capacitance", ""),
            "sensor_depth": meter.stated.get("sensor_depth", ""),
            "remark": meter.remark,
            "private_tag": f"bench tag {METERS.index(meter) + 11}",
        }


def _piece_row(truth: Truth) -> dict[str, str]:
    return {
        "piece_id": truth.piece_id,
        "family_id": truth.plan.make.family_id,
        "year_first": "" if truth.year_first is None else str(truth.year_first),
        "year_last": "" if truth.year_last is None else str(truth.year_last),
        "year_basis": truth.year_basis,
        "position": truth.position,
        "state": truth.state,
        "condition": truth.condition,
        "potted": truth.potted,
        "features": ";".join(truth.features),
        "publish": "yes" if truth.publish else "no",
        "remark": truth.remark,
        **truth.private,
    }


def _truth_rows(truth: Truth, taken: Iterable[Taken], first_line: int) -> Iterable[dict[str, str]]:
    shared = {"piece_id": truth.piece_id, "story": ";".join(truth.stories)}
    for line, one in enumerate(taken, first_line):
        yield {
            **shared,
            "line": str(line),
            "component": one.row["component"],
            "property_id": one.row["property_id"],
            "true_value": one.truth,
            "unit": one.unit,
            "reading_story": ";".join(one.stories),
        }
    for coil in truth.coils:
        yield {
            **shared,
            "line": "0",
            "component": coil.component,
            "property_id": "coil-turns",
            "true_value": str(coil.winding.turns),
            "unit": "turns",
        }


def build() -> dict[Path, str]:
    """Return the text of every file that the generator owns."""
    todo = plans(SEED)
    pieces: list[dict[str, str]] = []
    readings: list[dict[str, str]] = []
    truths: list[dict[str, str]] = []
    lapsed = 0
    for index, plan in enumerate(todo):
        piece_id = f"lq-{index + 1:04d}"
        truth = draw(piece_id, plan, Random(f"{SEED}/{piece_id}/piece"))
        day = _day(index, len(todo))
        if "lapsed" in plan.stories:
            day = LAPSED_DAYS[lapsed % len(LAPSED_DAYS)]
            lapsed += 1
        taken = measure(
            truth, day, Random(f"{SEED}/{piece_id}/bench"), Random(f"{SEED}/{piece_id}/more")
        )
        truths.extend(_truth_rows(truth, taken, len(readings) + 2))
        readings.extend(one.row for one in taken)
        pieces.append(_piece_row(truth))
    claims = [{**claim, "evidence": "invented"} for claim in CLAIMS]
    instruments = list(_instruments())
    return {
        ARCHIVE / "coilbook.toml": SETTINGS,
        ARCHIVE / "instruments.csv": _table(instruments[0], instruments),
        ARCHIVE / "pieces.csv": _table(pieces[0], pieces),
        ARCHIVE / "readings.csv": _table(readings[0], readings),
        ARCHIVE / "claims.csv": _table(CLAIM_COLUMNS, claims),
        TRUTH: _table(
            (
                "line", "piece_id", "component", "property_id", "true_value", "unit", "story",
                "reading_story",
            ),
            truths,
        ),
    }  # fmt: skip


def main() -> int:
    """Write the archive and its truth, or check that they are current."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true", help="write nothing; exit 1 if stale")
    check = parser.parse_args().check
    stale = [
        path
        for path, text in build().items()
        if not path.is_file() or path.read_bytes() != text.encode()
    ]
    if check:
        for path in stale:
            print(f"{path.name} is not what the generator writes. Run {Path(__file__).name} again.")
        return 1 if stale else 0
    for path, text in build().items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode())
    print(f"{len(stale)} files changed.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
