"""The build as a whole: all or nothing, and never over somebody's files."""

from __future__ import annotations

import csv
import json
import os
import shutil
from pathlib import Path

import publish_bench as bench
import pytest

from coilbook.errors import CoilbookError, RecordsInvalid, SiteBroken
from coilbook.publish import BuildReport, build_site
from coilbook.publish.build import publish
from coilbook.publish.engine import build_date
from coilbook.publish.links import check_links
from coilbook.publish.results import Assets
from coilbook.publish.swap import MARKER
from small_archive import write_archive, write_table

NO_ASSETS = Assets({}, {})


def snapshot(folder: Path) -> dict[str, bytes]:
    """Return every file of a folder with its bytes."""
    return {
        p.relative_to(folder).as_posix(): p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


#: How far each stage of the small archive's build came, and of how many.
STAGES: dict[str, tuple[int, int]] = {}


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, BuildReport]:
    """Build a small archive once, into a folder that is there; return its folder and the report."""
    top = tmp_path_factory.mktemp("small")
    archive = write_archive(top / "archive")
    (top / "place" / "site").mkdir(parents=True)

    def progress(stage: str, done: int, total: int) -> None:
        assert done <= total
        STAGES[stage] = (done, total)

    return archive, build_site(archive, top / "place" / "site", progress=progress)


def test_a_typed_archive_becomes_a_site(small: tuple[Path, BuildReport]) -> None:
    """Every piece of an archive has its page, the report counts what is there, no link is dead."""
    _, report = small
    files = snapshot(report.out)

    assert report.index.is_file()
    assert {f"pieces/tb-{i:04d}/index.html" for i in range(1, 13)} < set(files)
    assert report.pieces == 13
    assert report.pages == sum(name.endswith(".html") for name in files)
    assert report.files == len(files)
    assert report.size_bytes == sum(len(data) for data in files.values())
    assert check_links(report.out) == []
    marker = json.loads(files[MARKER])
    assert (marker["title"], marker["kind"], marker["pages"]) == (
        "Test bench",
        "measured",
        report.pages,
    )


def test_cards_of_an_archive_without_an_address_say_why_they_have_no_code(
    small: tuple[Path, BuildReport],
) -> None:
    """No symbol, and the setting to fill in; a measured card says nothing of an invented shop."""
    for path in ("pieces/tb-0001/index.html", "families/full-size-humbucker/index.html"):
        page = (small[1].out / path).read_text(encoding="utf-8")
        card = page[page.index('class="cb-print"') :]
        assert "No code to scan" in card
        assert "base_url" in card
        assert "cb-qr" not in card
        assert "does not authenticate, date or appraise" in card
        assert "invented" not in card[: card.index("</section>")]


def test_measured_records_carry_no_invented_mark(small: tuple[Path, BuildReport]) -> None:
    """A real shop's site never calls its records invented, in pages, names or rows."""
    _, report = small
    files = snapshot(report.out)

    assert not [name for name in files if "invented" in name]
    page = files["pieces/tb-0001/index.html"].decode()
    assert "cb-notice" not in page
    assert b"invented" not in files["data/pieces.csv"]


def test_nothing_private_and_nothing_unpublished_leaves_the_shop(tmp_path: Path) -> None:
    """A token in every private cell and in all of an unpublished piece is nowhere in the site."""
    archive = write_archive(tmp_path / "archive", count=10)
    token = "zq7privatezq7"
    for name in ("pieces.csv", "readings.csv"):
        path = archive / name
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        private = [column for column in rows[0] if column.startswith("private_")]
        assert private
        for row in rows:
            row.update(dict.fromkeys(private, token))
            if row["piece_id"] == "tb-0003":
                row["piece_id"] = token
        if name == "pieces.csv":
            [hidden] = (row for row in rows if row["piece_id"] == token)
            hidden.update(publish="no", condition=token, remark=token, year_basis=token)
        write_table(path, tuple(rows[0]), rows)

    report = build_site(archive, tmp_path / "site")
    assert report.pieces == 10
    files = snapshot(report.out)
    assert not [name for name, data in files.items() if token in name or token.encode() in data]


def test_the_build_date_is_put_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """SOURCE_DATE_EPOCH is set for the build alone, and one that is set already is obeyed."""
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    with build_date(86_400):
        assert os.environ["SOURCE_DATE_EPOCH"] == "86400"
    assert "SOURCE_DATE_EPOCH" not in os.environ

    monkeypatch.setenv("SOURCE_DATE_EPOCH", "5")
    with build_date(86_400):
        assert os.environ["SOURCE_DATE_EPOCH"] == "5"
    assert os.environ["SOURCE_DATE_EPOCH"] == "5"


def test_invalid_records_raise_every_problem_and_touch_nothing(tmp_path: Path) -> None:
    """Nothing is built from an archive with errors; all of them are told, the old site stays."""
    archive = write_archive(tmp_path / "archive", count=1)
    text = (archive / "pieces.csv").read_text(encoding="utf-8")
    (archive / "pieces.csv").write_text(
        text.replace("wide-bar-single-coil", "wide-bar-single").replace(",neck,", ",nekc,"),
        encoding="utf-8",
    )
    before = sorted(tmp_path.iterdir())

    with pytest.raises(RecordsInvalid) as caught:
        build_site(archive, tmp_path / "site")
    assert {p.column for p in caught.value.problems} >= {"family_id", "position"}
    assert sorted(tmp_path.iterdir()) == before


def test_a_dead_link_leaves_the_old_site_as_it_was(sources: Path, tmp_path: Path) -> None:
    """A site with a dead link is never put in place, and the half-built one is gone."""
    out = tmp_path / "place" / "site"
    archive = bench.archive("measured")
    publish(bench.content(bench.page("extra/index.html")), NO_ASSETS, archive, out)
    before = snapshot(out)

    broken = bench.page("extra/index.html", '<h1>A</h1><a href="../gone/index.html">x</a>')
    with pytest.raises(SiteBroken, match=r"extra/index\.html: \.\./gone/index\.html: no such file"):
        publish(bench.content(broken), NO_ASSETS, archive, out)
    assert snapshot(out) == before
    assert [p.name for p in out.parent.iterdir()] == ["site"]


def test_a_new_site_takes_the_old_ones_place(sources: Path, tmp_path: Path) -> None:
    """A page that is no longer made is gone after the next build, and no folder is left over."""
    out = tmp_path / "place" / "site"
    archive = bench.archive("measured")
    publish(bench.content(bench.page("old/index.html")), NO_ASSETS, archive, out)
    publish(bench.content(bench.page("new/index.html")), NO_ASSETS, archive, out)

    assert (out / "new" / "index.html").is_file()
    assert not (out / "old").exists()
    assert [p.name for p in out.parent.iterdir()] == ["site"]


def test_an_empty_folder_may_become_the_site_and_can_be_read_by_a_host(
    small: tuple[Path, BuildReport],
) -> None:
    """An empty folder is filled, and the site is readable for everyone, as a web server needs."""
    out = small[1].out
    assert [path.name for path in out.parent.iterdir()] == ["site"]
    assert out.stat().st_mode & 0o055 == 0o055 & ~_umask()


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def test_somebodys_folder_is_never_replaced(
    small: tuple[Path, BuildReport], tmp_path: Path
) -> None:
    """A folder with files that are not a site of ours is refused, and stays as it was."""
    archive, _ = small
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")

    with pytest.raises(CoilbookError, match="not a site that Coilbook made"):
        build_site(archive, tmp_path)
    assert snapshot(tmp_path) == {"notes.txt": b"mine"}


def test_what_was_added_to_a_site_is_never_lost(
    small: tuple[Path, BuildReport], tmp_path: Path
) -> None:
    """A folder that somebody put into the site, as for publishing it, stops the next build."""
    archive, report = small
    shutil.copytree(report.out, tmp_path / "site")
    (tmp_path / "site" / ".git").mkdir()

    with pytest.raises(CoilbookError, match=r"holds \.git, which Coilbook did not put there"):
        build_site(archive, tmp_path / "site")
    assert (tmp_path / "site" / ".git").is_dir()


@pytest.mark.parametrize("where", [".", ".."])
def test_the_archive_is_never_replaced_by_its_site(tmp_path: Path, where: str) -> None:
    """Neither the archive's folder nor one around it may be named as the site's."""
    archive = write_archive(tmp_path / "around" / "archive", count=1)

    with pytest.raises(CoilbookError, match="archive itself is inside"):
        build_site(archive, archive / where)
    assert (archive / "pieces.csv").is_file()


def test_a_file_in_the_sites_place_is_refused(
    small: tuple[Path, BuildReport], tmp_path: Path
) -> None:
    """A file of the name that the site should have is told, not overwritten."""
    archive, _ = small
    (tmp_path / "site").write_text("mine", encoding="utf-8")

    with pytest.raises(CoilbookError, match="is a file"):
        build_site(archive, tmp_path / "site")


def test_progress_counts_up_to_its_total(small: tuple[Path, BuildReport]) -> None:
    """Every stage ends at its own total, and the pages' stage counts every page but the 404."""
    _, report = small
    assert all(done == total for done, total in STAGES.values())
    assert STAGES["writing pages"] == (report.pages - 1, report.pages - 1)
    assert STAGES["measuring pieces"] == (13, 13)
    assert "checking links" in STAGES
