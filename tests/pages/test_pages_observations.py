"""Pages on what figures mean: every code has words, and sections say what they must."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest
from test_pages_render import book_of, templates

from coilbook.assessment.review.practice import PartedCode
from coilbook.core.judging.consistency import CellWord
from coilbook.core.observing.said import ExplanationCode, FindingCode, LeadCode, LeadWord, NextCode
from coilbook.errors import RecordsInvalid
from coilbook.pages.page import Book, PageOut, SiteContent
from coilbook.pages.piece.observations import CELL_MARKS, GROUPS
from coilbook.pages.reference import observing
from coilbook.pages.render import render_site
from coilbook.pages.worded import environment
from coilbook.records.tables.trial import TRIAL_FILE, load_trial
from coilbook.resources import dataset_dir
from coilbook.stats.repeats import WhyNoRepeat
from small_archive import write_archive

REPORT = dataset_dir() / "reference" / TRIAL_FILE


def words(source: str, **names: object) -> str:
    """Render a line with the words of observations at hand, as ``w``."""
    env = environment(templates())
    env.globals["invented"] = False
    return env.from_string(
        '{% import "findings.html.j2" as w with context %}' + source
    ).render(**names)  # fmt: skip


class AnyData(dict[str, str]):
    """Data that have every name, so that a sentence can be asked for without its figures."""

    def __missing__(self, key: str) -> str:
        return "7.0 kΩ"


@pytest.mark.parametrize("code", get_args(FindingCode))
def test_every_observation_has_a_title_and_sentences(code: str) -> None:
    """A title, what was seen, and what it is: a fault only where it is called one."""
    finding = {"code": code, "what": "Resistance of the pair", "fault": False, "data": AnyData()}
    assert len(words("{{ w.finding_title(f) }}", f=finding)) > 10
    assert len(words("{{ w.finding_seen(f) }}", f=finding).strip()) > 30
    kind = words("{{ w.finding_kind(f) }}", f=finding)
    assert kind in ("unusual, not a fault", "of the record, not of the pickup")
    assert "fault" not in words("{{ w.finding_kind(f) }}", f={**finding, "fault": True})


def test_an_unknown_observation_stops_the_build() -> None:
    """A code without words is no empty sentence on a page."""
    with pytest.raises(Exception, match="no_words_for_this_finding"):
        words("{{ w.finding_seen({'code': 'x', 'data': {}}) }}")


@pytest.mark.parametrize(
    ("mapping", "codes"),
    [
        ("explanation_words", get_args(ExplanationCode)),
        ("next_words", get_args(NextCode)),
        ("cell_words", get_args(CellWord)),
        ("lead_words", get_args(LeadWord)),
        ("finding_titles", get_args(FindingCode)),
        ("group_words", GROUPS),
    ],
)
def test_every_code_has_words_and_no_words_are_idle(mapping: str, codes: tuple[str, ...]) -> None:
    """The template words just the codes that there are."""
    named = words("{{ w." + mapping + ' | list | join(" ") }}').split()
    assert sorted(named) == sorted(codes)


def test_every_word_of_the_matrix_has_a_mark_of_its_own() -> None:
    """Never by colour alone: five words, five marks."""
    assert sorted(CELL_MARKS) == sorted(get_args(CellWord))
    assert len(set(CELL_MARKS.values())) == len(CELL_MARKS)


@pytest.mark.parametrize("code", get_args(LeadCode))
def test_every_reason_of_the_lead_has_words(code: str) -> None:
    """The three lines have words for each reason; an unknown one raises."""
    data = AnyData(finding="magnet_weak", what="resistance of the pair", decided="3")
    assert len(words("{{ w.lead_reason(r) }}", r={"code": code, "data": data}).strip()) > 10


@pytest.mark.parametrize(
    ("step", "cautions"),
    [
        ("free_the_leads", ("fume", "eye protection", "lead")),
        ("read_at_the_joint", ("fumes", "heat")),
        ("read_the_field_again", ("pacemakers", "chargers")),
        ("look_at_the_features", ("solvents",)),
    ],
)
def test_dangerous_steps_come_with_their_cautions(step: str, cautions: tuple[str, ...]) -> None:
    """Solder, fumes, magnets and solvents are warned of where somebody is sent to them."""
    said = words('{{ w.next_words[step] | join(". ") }}', step=step)
    for caution in cautions:
        assert caution in said


def test_claims_and_repeats_have_words() -> None:
    """Where claims part and why a repeat was left out: every code is worded."""
    texts = templates()
    for code in get_args(PartedCode):
        assert f'"{code}":' in texts["_practice.html.j2"]
    for code in get_args(WhyNoRepeat):
        assert f'"{code}":' in texts["instruments.html.j2"]


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """Return the book of a small measured archive."""
    return book_of(write_archive(tmp_path_factory.mktemp("observed") / "archive", count=40))


@pytest.fixture(scope="module")
def site(book: Book) -> SiteContent:
    """Return its pages."""
    return render_site(book, templates())


def page(site: SiteContent, path: str) -> PageOut:
    """Return the page at a path."""
    return next(p for p in site.pages if p.path == path)


def plain(html: str) -> str:
    """Return a page's words without its marks."""
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_a_piece_page_leads_with_the_word_and_why(site: SiteContent, book: Book) -> None:
    """The first box has one of the three words; the matrix says that it dates nothing."""
    told = {
        "typical": "Typical of its kind.",
        "unusual": "Unusual.",
        "cannot_tell": "It cannot be told whether this piece is typical.",
    }
    for piece_id, said in book.assessments.items():
        text = plain(page(site, f"pieces/{piece_id}/index.html").html)
        assert told[said.lead.word] in text.split("Periods that it fits")[0]
        assert "it authenticates nothing and dates nothing" in text


def test_the_matrix_has_every_period_in_words(site: SiteContent, book: Book) -> None:
    """Every period of the family stands in a row, with its words; contradictions are named."""
    html = page(site, "pieces/tb-0001/index.html").html
    text = plain(html)
    for period in book.reference.periods_of("full-size-humbucker"):
        assert period.name in text
    found = book.assessments["tb-0001"].consistency
    assert found is not None
    for row in found.rows:
        for cell in row.cells:
            if cell.word == "not_consistent":
                assert "not consistent" in text
                assert cell.verdicts[0].claim.row.claim_id


def test_a_family_page_shows_who_parts(site: SiteContent) -> None:
    """Each claim has its share of the archive with n; the two practices of 1962–65 are named."""
    text = plain(page(site, "families/full-size-humbucker/index.html").html)
    assert "Claims that disagree" in text
    assert "have no value in common. Both are kept." in text
    assert re.search(r"\d+ % of \d+ inside", text)


def test_the_page_on_observations_has_every_rule(site: SiteContent) -> None:
    """Every title stands in its table; without a trial's report nothing of one is said."""
    text = plain(page(site, "methods/observations/index.html").html)
    titles = words('{{ w.finding_titles.values() | list | join("|") }}').split("|")
    for title in titles:
        assert title in text
    assert "blind trial" not in text


def test_the_trials_report_is_shown_if_there_is_one(book: Book, tmp_path: Path) -> None:
    """The report's own rows come out, with rates reckoned from their counts."""
    (tmp_path / TRIAL_FILE).write_bytes(REPORT.read_bytes())
    rows = load_trial(tmp_path)
    assert len({row.alteration for row in rows}) > 3
    with_trial = Book(
        book.reference, book.archive, book.measured, book.summaries, book.assessments, rows
    )
    html = page(render_site(with_trial, templates()), "methods/observations/index.html").html
    untouched = [row for row in rows if row.alteration == "none"]
    assert untouched
    for row in untouched:
        assert f"{100 * row.detected / row.n:.1f} %" in html


def test_the_aims_are_reckoned_from_the_report(book: Book, tmp_path: Path) -> None:
    """All sizes together and each by itself, and whether it was met, from the counts alone."""
    (tmp_path / TRIAL_FILE).write_bytes(REPORT.read_bytes())
    rows = load_trial(tmp_path)
    with_trial = Book(
        book.reference, book.archive, book.measured, book.summaries, book.assessments, rows
    )
    goals = {goal.code: goal for goal in observing.context(with_trial).goals}
    both = [
        row
        for row in rows
        if row.alteration in ("in_circuit_all", "in_circuit_pair_only")
        and row.read.startswith("two coils")
        and row.finding == "any_of_these"
    ]
    shares = {}
    for size in ("", "500 k", "250 k", "100 k", "50 k", "10 k"):
        of_size = [row for row in both if size in ("", row.size)]
        shares[size] = sum(row.detected for row in of_size) / sum(row.n for row in of_size)
    goal = goals["coils_and_pair"]
    assert (goal.rate, goal.met) == (f"{100 * shares['']:.1f}\u00a0%", shares[""] >= 0.9)
    assert goal.sizes == tuple(
        (f"{size}Ω", f"{100 * share:.1f}\u00a0%", share >= 0.9)
        for size, share in shares.items()
        if size
    )
    assert [size for size, _, _ in goals["shorted_found"].sizes] == ["5 %", "10 %", "20 %"]
    assert goals["false_alarms"].met
    assert not goals["resistance_alone"].met
    assert observing.context(book).goals == ()


def test_a_report_that_is_none_is_refused(tmp_path: Path) -> None:
    """No report is no error; a broken one names its line."""
    assert load_trial(tmp_path) == ()
    header = "archive,alteration,size,read,finding,n,detected,low,high\n"
    (tmp_path / TRIAL_FILE).write_text(header + "report,none,,R,x,many,1,0,1\n", encoding="utf-8")
    with pytest.raises(RecordsInvalid) as caught:
        load_trial(tmp_path)
    assert [p.line for p in caught.value.problems] == [2]


def test_the_instruments_page_says_what_is_promised_and_never_tried(site: SiteContent) -> None:
    """Accuracy, dates and counts of readings; and plainly that nothing was read twice."""
    text = plain(page(site, "instruments/index.html").html)
    assert "0.5 % of the reading + 2 counts of the last digit" in text
    assert "2027-01-10" in text
    assert "81 0" in text  # readings made, past due: two for each of 40 pieces, and one more
    assert "Nothing in this archive was read twice" in text
    assert "Never read again:" in text


def test_the_pages_are_linked(site: SiteContent) -> None:
    """Methods leads to both, data to the instruments, a piece's observations to their rules."""
    methods = page(site, "methods/index.html").html
    assert "methods/observations/index.html" in methods
    assert "instruments/index.html" in methods
    assert "instruments/index.html" in page(site, "data/index.html").html
