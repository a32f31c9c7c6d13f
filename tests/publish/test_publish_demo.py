"""The built demo as a whole: sizes, and what must not be in it."""

from __future__ import annotations

import csv
import re
from pathlib import Path

from coilbook.publish import BuildReport
from coilbook.publish.scripts.joined import STYLE_SHEET
from coilbook.resources import dataset_dir

DEMO = dataset_dir() / "demo"
TRUTH = Path(__file__).parents[1] / "demo" / "truth.csv"


def test_the_demo_is_whole(demo_site: BuildReport) -> None:
    """Every piece has its page; a build with a dead link would have been refused.

    That it is alike to the byte when it is built again, the test of the installed program shows.
    """
    assert demo_site.pages > 260


def test_pages_are_light_and_load_no_plotting_script(demo_site: BuildReport) -> None:
    """A family's page is under 400 KB, and no page names the plotting script in its markup."""
    for path in (demo_site.out / "families").glob("*/index.html"):
        assert path.stat().st_size < 400_000, path
    for path in demo_site.out.rglob("*.html"):
        assert "plotly.min.js" not in path.read_text(encoding="utf-8"), path


def test_tools_look_at_nothing_below_an_element(demo_site: BuildReport) -> None:
    """A rule with ``:has`` on the screen would have a tool's whole page styled anew at every key.

    On a slow machine that took twice as long as all of the working out.
    """
    rules = (demo_site.out / STYLE_SHEET).read_text(encoding="utf-8")
    on_screen = re.sub(r"@media print \{(?:[^{}]*\{[^{}]*\})*\s*\}", "", rules)
    assert len(on_screen) < len(rules)
    assert ".cb-check" in on_screen
    assert ":has(" not in re.sub(r"/\*.*?\*/", "", on_screen, flags=re.DOTALL)
    for page in ("check", "calculators", "pieces"):
        html = (demo_site.out / page / "index.html").read_text(encoding="utf-8")
        assert re.findall(r'<link rel="stylesheet" href="\.\./([^"]+)"', html) == [STYLE_SHEET]


def test_the_truth_and_what_is_kept_back_are_nowhere_in_the_site(demo_site: BuildReport) -> None:
    """No private cell, no unpublished piece and no word of the truth file is in any file."""
    with (DEMO / "pieces.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    hidden = [r["piece_id"] for r in rows if r["publish"] == "no"]
    assert len(hidden) >= 5
    private = {r["private_customer"] for r in rows} - {""}
    assert len(private) > 100
    with TRUTH.open(encoding="utf-8", newline="") as file:
        stories = {s for r in csv.DictReader(file) for s in r["story"].split(";") if "-" in s}
    words = [w.encode() for w in (*hidden, *private, *stories, "private_customer", "true_value")]
    for path in demo_site.out.rglob("*"):
        if path.is_file() and path.suffix in {".html", ".js", ".json", ".csv", ".xml"}:
            if path.name == "plotly.min.js":
                continue  # somebody else's script
            content = path.read_bytes()
            assert [w for w in words if w in content] == [], path
