"""The sentences of the page that checks a piece: each template rendered once, with slots for data.

A sentence is written in the templates alone. Here every one that a script may need is asked for
with ``{name}`` in the place of each datum, so that the page only fills in and never words anything.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import get_args

from coilbook.core.judging.verdict import ReasonCode
from coilbook.core.observing.said import (
    ExplanationCode,
    FindingCode,
    LeadCode,
    LeadWord,
    NextCode,
)
from coilbook.core.reduction.measured_piece import TroubleCode
from coilbook.core.reduction.reduced_value import Flag
from coilbook.pages import text
from coilbook.pages.piece.observations import CELL_MARKS, GROUPS


class Slots(dict[str, str]):
    """Data of which every name not given is its own slot, ``{name}``; ``without`` are missing."""

    def __init__(self, given: Mapping[str, str], without: Iterable[str] = ()) -> None:
        super().__init__(given)
        self._without = frozenset(without)

    def __contains__(self, name: object) -> bool:
        return name not in self._without

    def __missing__(self, name: str) -> str:
        return "{" + name + "}"


@dataclass(frozen=True, slots=True)
class Case:
    """One sentence of a code: it holds where the data have ``when`` and lack ``without``.

    Of several cases of a code the first that holds is said.
    """

    code: str
    when: Mapping[str, str] = field(default_factory=dict)
    without: tuple[str, ...] = ()

    @property
    def data(self) -> Slots:
        """Return the data that a template is to be rendered with."""
        return Slots(self.when, self.without)

    #: What a finding carries beside its data.
    what = "{what}"

    @property
    def fault(self) -> bool:
        """Whether a finding is a fault."""
        return self.when.get("fault") == "yes"

    @property
    def where(self) -> str:
        """Return where a trouble stands: its row is on the page, so nothing."""
        return ""


def _cases(codes: tuple[str, ...], more: Mapping[str, tuple[Case, ...]]) -> tuple[Case, ...]:
    return tuple(itertools.chain.from_iterable(more.get(code, (Case(code),)) for code in codes))


REASONS = _cases(
    get_args(ReasonCode),
    {
        "within": (
            Case("within", without=("low",)),
            Case("within", without=("high",)),
            Case("within"),
        ),
        "no_range": (Case("no_range", without=("difference",)), Case("no_range")),
        "bound_only": (Case("bound_only", {"qualifier": ">"}), Case("bound_only")),
        "how_far": tuple(
            Case("how_far", {"side": side}, without)
            for side in ("low", "high")
            for without in (("standard_uncertainties",), ())
        ),
    },
)

FINDINGS = _cases(
    get_args(FindingCode),
    {
        "read_in_circuit": (
            Case("read_in_circuit", without=("difference", "usual")),
            Case("read_in_circuit", without=("difference",)),
            Case("read_in_circuit"),
        )
    },
)
FINDING_KINDS = tuple(
    Case(code, {"fault": fault}) for code in get_args(FindingCode) for fault in ("yes", "no")
)
EXPLANATIONS: tuple[str, ...] = get_args(ExplanationCode)
NEXT_STEPS: tuple[str, ...] = get_args(NextCode)
LEAD_WORDS: tuple[str, ...] = get_args(LeadWord)
LEADS = _cases(
    get_args(LeadCode),
    {
        "too_few_decided": (
            Case("too_few_decided", {"decided": "1"}),
            Case("too_few_decided"),
        ),
        "all_too_close": (Case("all_too_close", {"close": "1"}), Case("all_too_close")),
        "finding": tuple(Case("finding", {"finding": code}) for code in get_args(FindingCode)),
        "record": tuple(Case("record", {"finding": code}) for code in get_args(FindingCode)),
    },
)
TROUBLES = tuple(Case(code) for code in get_args(TroubleCode))
FLAGS: tuple[str, ...] = get_args(Flag)


@dataclass(frozen=True, slots=True)
class VerdictSlot:
    """A verdict with its probability for a slot, or without one."""

    code: str
    mark: str
    word: str
    probability: str


VERDICTS = tuple(
    VerdictSlot(code.replace("_", "-"), mark, word, probability)
    for code, (mark, word) in text.VERDICT_MARKS.items()
    for probability in ("", "{probability}")
)


@dataclass(frozen=True, slots=True)
class ClaimSlot:
    """A claim of one evidence; ``lacks`` names what it has not got."""

    evidence: text.Evidence
    lacks: tuple[str, ...]
    position: str
    text: str
    written: str
    own: bool
    remark: str


def _claim_slot(code: str, lacks: tuple[str, ...]) -> ClaimSlot:
    def slot(name: str) -> str:
        return "" if name in lacks else "{" + name + "}"

    mark, word = text.EVIDENCE_MARKS[code]
    return ClaimSlot(
        evidence=text.Evidence(code, mark, word, "{href}", slot("detail")),
        lacks=lacks,
        position=slot("position"),
        text="{text}",
        written="",
        own="own" not in lacks,
        remark=slot("remark"),
    )


#: A claim's parts that it may lack, one sentence for each set of them and each evidence; only a
#: published one has a detail.
CLAIMS = tuple(
    _claim_slot(code, lacks if code == "published" else ("detail", *lacks))
    for code in text.EVIDENCE_MARKS
    for count in (3, 2, 1, 0)
    for lacks in itertools.combinations(("own", "position", "remark"), count)
)


@dataclass(frozen=True, slots=True)
class CellSlot:
    """What has one word in the matrix of periods, with its names or their number in a slot."""

    mark: str
    word: str
    names: tuple[str, ...] = ("{names}",)


CELLS = tuple(CellSlot(mark, word) for word, mark in CELL_MARKS.items())
MATRIX_GROUPS = GROUPS

#: Numbers that stand for slots where Python words a place among peers.
_PEERS, _PERCENT = 7531, 44


def _placed(words: str) -> str:
    return words.replace(str(_PEERS), "{peers}").replace(str(_PERCENT), "{percent}")


#: Where a value stands among its peers, as :func:`coilbook.pages.text.rank` says it.
PLACES: Mapping[str, str] = {
    "below_all": _placed(text.rank(0.0, _PEERS)),
    "above_all": _placed(text.rank(100.0, _PEERS)),
    "between": _placed(text.rank(float(_PERCENT), _PEERS)),
}
