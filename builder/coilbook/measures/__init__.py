"""The measurement science: pure formulas, and the one place that applies them to records."""

from coilbook.measures.constants import CONSTANTS, Constant
from coilbook.measures.formulas import FORMULAS, FormulaArgument, FormulaDoc
from coilbook.measures.measured_piece import Closure, Flag, MeasuredPiece, ReducedValue, Step, Turns
from coilbook.measures.piece import measure_piece
from coilbook.measures.reduce import choose, reduce_reading
from coilbook.measures.uncertainty import (
    Contribution,
    Correlation,
    Estimate,
    expanded,
    rectangular,
)

__all__ = [
    "CONSTANTS",
    "FORMULAS",
    "Closure",
    "Constant",
    "Contribution",
    "Correlation",
    "Estimate",
    "Flag",
    "FormulaArgument",
    "FormulaDoc",
    "MeasuredPiece",
    "ReducedValue",
    "Step",
    "Turns",
    "choose",
    "expanded",
    "measure_piece",
    "rectangular",
    "reduce_reading",
]
