"""The report of the blind trial, as the page on observations shows it."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

from coilbook.errors import Problem, RecordsInvalid
from coilbook.resources import dataset_dir

TRIAL_FILE = "trial.csv"
#: The archive of the report that is shown; a small one beside it keeps the report in step.
_SHOWN = "report"


@dataclass(frozen=True, slots=True)
class TrialRow:
    """How often one observation was made of pieces with one alteration, or of untouched ones.

    ``low`` and ``high`` are the 95 % interval of the rate. ``alteration`` is ``none`` for untouched
    pieces; ``read`` says what was read of the pieces that are counted.
    """

    alteration: str
    size: str
    read: str
    finding: str
    n: int
    detected: int
    low: float
    high: float


def load_trial(folder: Path | None = None) -> tuple[TrialRow, ...]:
    """Return the trial's report from the reference's folder; nothing if it is not there.

    Errors: RecordsInvalid for a file that is no such report.
    """
    path = (folder or dataset_dir() / "reference") / TRIAL_FILE
    if not path.exists():
        return ()
    rows: list[TrialRow] = []
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        for line in reader:
            try:
                row = TrialRow(
                    line["alteration"],
                    line["size"],
                    line["read"],
                    line["finding"],
                    int(line["n"]),
                    int(line["detected"]),
                    float(line["low"]),
                    float(line["high"]),
                )
            except (KeyError, TypeError, ValueError) as error:
                raise RecordsInvalid(
                    [
                        Problem(
                            TRIAL_FILE,
                            reader.line_num,
                            "",
                            f"the row is none of the trial's report ({error}).",
                            "Run tests/trial/trial_report.py anew.",
                        )
                    ]
                ) from error
            if line.get("archive", _SHOWN) == _SHOWN:
                rows.append(row)
    return tuple(rows)
