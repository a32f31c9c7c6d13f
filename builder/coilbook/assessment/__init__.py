"""A piece against what is documented, and among its peers; reasons as data, never prose."""

from coilbook.assessment.assess import assess
from coilbook.assessment.conformity import Conformance, conformance
from coilbook.assessment.consistency import (
    Cell,
    CellWord,
    Consistency,
    FeatureCell,
    PeriodRow,
    Span,
    consistency,
)
from coilbook.assessment.findings import findings
from coilbook.assessment.judge import judge
from coilbook.assessment.next_reading import NextReading, next_readings
from coilbook.assessment.rules import FindingRule, finding_rules
from coilbook.assessment.said import (
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
from coilbook.assessment.verdict import Reason, ReasonCode, Verdict, VerdictWord
from coilbook.assessment.winding_targets import WindingSheet, winding_targets

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
