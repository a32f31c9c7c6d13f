"""The top of the tree and the words that stand there."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]
AGREED = {
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "LICENSE",
    "pyproject.toml",
    "dataset",
    "builder",
    "site_src",
    "tests",
    ".ci",
    ".gitignore",
}


def test_top_of_the_tree_holds_only_the_agreed_names() -> None:
    """Nothing is added to the top of the tree unnoticed (files that git ignores aside)."""
    if not (TOP / ".git").exists() or shutil.which("git") is None:
        pytest.skip("not a git checkout")
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=TOP,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    names = {name.split("/")[0] for name in listed.split("\0") if name}
    assert names - AGREED == set()
    assert AGREED - names == set()


def test_ci_runs_the_one_test_command() -> None:
    """The continuous check is the command that a contributor runs, no more and no less."""
    lines = (TOP / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if "python" in line] == ["exec python3 tests"]


def test_readme_states_the_job_first() -> None:
    """A newcomer learns from the first paragraph what goes in, what comes out, and what for."""
    first = (TOP / "README.md").read_text(encoding="utf-8").split("\n\n")[1]
    for word in ("measurements", "pickups", "documented", "offline", "checks", "compares", "site"):
        assert word in first, word


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md", "CHANGELOG.md"])
def test_links_between_documents_lead_somewhere(name: str) -> None:
    """Every relative link of a top document names a file that is there."""
    links = re.findall(r"\]\(([^)#:]+)\)", (TOP / name).read_text(encoding="utf-8"))
    assert [link for link in links if not (TOP / link).exists()] == []


def test_changelog_has_the_version() -> None:
    """The version of pyproject.toml has its entry in the change log."""
    project = (TOP / "pyproject.toml").read_text(encoding="utf-8")
    version = re.search(r'^version = "(.+)"$', project, re.MULTILINE)
    assert version
    assert f"\n## {version[1]}\n" in (TOP / "CHANGELOG.md").read_text(encoding="utf-8")


def test_prose_pages_have_their_front_matter() -> None:
    """Every prose page states title, description and a section that the site knows."""
    sections = {"families", "pieces", "materials", "methods", "sources", "guide", "about"}
    pages = sorted((TOP / "site_src" / "prose").rglob("*.md"))
    assert len(pages) >= 4
    for page in pages:
        head = re.match(r"---\n(.*?)\n---\n", page.read_text(encoding="utf-8"), re.DOTALL)
        assert head, page
        fields = dict(line.split(": ", 1) for line in head[1].splitlines())
        assert {"title", "description", "section"} <= set(fields), page
        assert fields["section"] in sections, page
