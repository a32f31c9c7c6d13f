"""The measurement science: pure formulas, and the one place that applies them to records."""

from coilbook.core.budgets.uncertainty import (
    Contribution,
    Correlation,
    Estimate,
    expanded,
    rectangular,
)
from coilbook.core.constants import CONSTANTS, Constant
from coilbook.core.reduction.measured_piece import Closure, MeasuredPiece, Turns
from coilbook.core.reduction.piece import measure_piece
from coilbook.core.reduction.reduce import choose, reduce_reading
from coilbook.core.reduction.reduced_value import Flag, ReducedValue, Step
from coilbook.measures.formulas import FORMULAS, FormulaArgument, FormulaDoc

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
