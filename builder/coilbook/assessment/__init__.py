"""A piece against what is documented, and among its peers; reasons as data, never prose."""

from coilbook.assessment.rules import FindingRule, finding_rules
from coilbook.assessment.winding_targets import WindingSheet, winding_targets
from coilbook.core.judging.conformity import Conformance, conformance
from coilbook.core.judging.consistency import (
    Cell,
    CellWord,
    Consistency,
    FeatureCell,
    PeriodRow,
    Span,
    consistency,
)
from coilbook.core.judging.judge import judge
from coilbook.core.judging.verdict import Reason, ReasonCode, Verdict, VerdictWord
from coilbook.core.observing.assess import assess
from coilbook.core.observing.findings import findings
from coilbook.core.observing.next_reading import NextReading, next_readings
from coilbook.core.observing.said import (
    Assessment,
    ExplanationCode,
    Finding,
    FindingCode,
    Lead,
    LeadCode,
    LeadReason,
    LeadWord,
    NextCode,
    Place,
)

__all__ = [
    "Assessment",
    "Cell",
    "CellWord",
    "Conformance",
    "Consistency",
    "ExplanationCode",
    "FeatureCell",
    "Finding",
    "FindingCode",
    "FindingRule",
    "Lead",
    "LeadCode",
    "LeadReason",
    "LeadWord",
    "NextCode",
    "NextReading",
    "PeriodRow",
    "Place",
    "Reason",
    "ReasonCode",
    "Span",
    "Verdict",
    "VerdictWord",
    "WindingSheet",
    "assess",
    "conformance",
    "consistency",
    "finding_rules",
    "findings",
    "judge",
    "next_readings",
    "winding_targets",
]
