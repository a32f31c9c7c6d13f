"""The bundle: what is in it, that it is whole, alike every time, and never written over a file."""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import zipfile
from pathlib import Path

import pytest

from coilbook.errors import CoilbookError
from coilbook.publish.bundle import make_bundle
from coilbook.publish.swap import write_marker


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """Return a small folder with the mark of a built site."""
    folder = tmp_path / "site"
    (folder / "pieces").mkdir(parents=True)
    (folder / "index.html").write_text("<p>Home</p>", encoding="utf-8")
    (folder / "pieces" / "a.html").write_text("<p>Ω</p>", encoding="utf-8")
    (folder / ".DS_Store").write_bytes(b"litter")
    write_marker(folder, {"title": 'R&B "bench" <1>'})
    return folder


def test_bundle_holds_the_site_and_how_to_open_it(site: Path, tmp_path: Path) -> None:
    """Every file of the site is there as it was, without litter, and the pages name the site."""
    made = make_bundle(site, tmp_path / "b.zip")
    with zipfile.ZipFile(made.path) as bundle:
        assert bundle.testzip() is None
        names = {name.removeprefix("pickup-reference/") for name in bundle.namelist()}
        page = bundle.read("pickup-reference/HOW-TO-OPEN.html").decode()
        for name in ("index.html", "pieces/a.html", "coilbook-site.json"):
            assert bundle.read(f"pickup-reference/site/{name}") == (site / name).read_bytes()
    assert names == {
        "HOW-TO-OPEN.html", "HOW-TO-OPEN.txt", "SHA256SUMS", "site/index.html",
        "site/pieces/a.html", "site/coilbook-site.json",
    }  # fmt: skip
    assert made.files == len(names)
    assert "<h1>R&amp;B &quot;bench&quot; &lt;1&gt;</h1>" in page
    assert 'href="site/index.html"' in page


def test_bundle_checksums_are_those_of_its_files(site: Path, tmp_path: Path) -> None:
    """Each file but the list has its line; the system's own sha256sum agrees where there is one."""
    with zipfile.ZipFile(make_bundle(site, tmp_path / "b.zip").path) as bundle:
        bundle.extractall(tmp_path / "out")
    top = tmp_path / "out" / "pickup-reference"
    lines = (top / "SHA256SUMS").read_text(encoding="utf-8").splitlines()
    listed = dict(reversed(line.split("  ", 1)) for line in lines)
    there = {
        path.relative_to(top).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in top.rglob("*")
        if path.is_file() and path.name != "SHA256SUMS"
    }
    assert listed == there
    if program := shutil.which("sha256sum"):
        command = [program, "--strict", "--quiet", "-c", "SHA256SUMS"]
        assert subprocess.run(command, cwd=top, capture_output=True).returncode == 0


def test_bundles_are_alike_to_the_byte(
    site: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A copy of the site with other file dates gives the same zip, dated by SOURCE_DATE_EPOCH."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    again = shutil.copytree(site, tmp_path / "again", copy_function=shutil.copyfile)
    one = make_bundle(site, tmp_path / "1.zip").path
    two = make_bundle(again, tmp_path / "2.zip").path
    assert one.read_bytes() == two.read_bytes()
    with zipfile.ZipFile(one) as bundle:  # 1 700 000 000 s is 2023-11-14 22:13:20 UTC
        assert {entry.date_time for entry in bundle.infolist()} == {(2023, 11, 14, 22, 13, 20)}
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "soon")
    with pytest.raises(CoilbookError, match="SOURCE_DATE_EPOCH"):
        make_bundle(site, tmp_path / "3.zip")


def test_bundle_refuses(site: Path, tmp_path: Path) -> None:
    """No site, a folder that is none, a file that is there, a place inside the site."""
    for folder in (tmp_path / "none", tmp_path):
        with pytest.raises(CoilbookError, match="Run 'coilbook build' first"):
            make_bundle(folder, tmp_path / "b.zip")
    assert not (tmp_path / "b.zip").exists()
    (tmp_path / "mine.zip").write_bytes(b"mine")
    with pytest.raises(CoilbookError, match="is there already"):
        make_bundle(site, tmp_path / "mine.zip")
    assert (tmp_path / "mine.zip").read_bytes() == b"mine"
    with pytest.raises(CoilbookError, match="inside the site"):
        make_bundle(site, site / "b.zip")
