"""A piece against what is documented, and among its peers; reasons as data, never prose."""

from coilbook.assessment.assess import assess
from coilbook.assessment.conformity import Conformance, conformance
from coilbook.assessment.judge import judge
from coilbook.assessment.types import (
    Assessment,
    Place,
    Reason,
    ReasonCode,
    Verdict,
    VerdictWord,
)

__all__ = [
    "Assessment",
    "Conformance",
    "Place",
    "Reason",
    "ReasonCode",
    "Verdict",
    "VerdictWord",
    "assess",
    "conformance",
    "judge",
]
