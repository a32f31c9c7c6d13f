"""The wheel: installed away from the checkout, it has all that a shop needs and nothing else."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pytest

from coilbook.publish import build_site

TOP = Path(__file__).resolve().parents[2]
PIECES = """\
piece_id,family_id,position,state,potted,publish,private_owner
typed-1,full-size-humbucker,neck,untouched,no,yes,somebody
typed-2,wide-bar-single-coil,,unknown,unknown,yes,somebody
"""
READINGS = """\
piece_id,component,property_id,value,circuit,temperature,instrument_id,date
typed-1,pair,pair-resistance,7.61k,free,68 °F,meter-1,2026-03-14
typed-2,coil,coil-resistance,"8,24 kΩ",free,19 °C,meter-1,2026-03-14
"""

pytestmark = pytest.mark.slow


def bare() -> dict[str, str]:
    """Return this process's variables without those that Python itself reads."""
    return {k: v for k, v in os.environ.items() if not k.startswith("PYTHON")}


def pip(*arguments: str) -> None:
    """Run this environment's installer; its words show when it fails."""
    command = [sys.executable, "-m", "pip", "--disable-pip-version-check", *arguments]
    done = subprocess.run(command, capture_output=True, text=True, env=bare())
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel with the build backend of this environment, which needs no network."""
    folder = tmp_path_factory.mktemp("wheel")
    pip("wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", str(folder), str(TOP))
    (path,) = folder.glob("coilbook-*.whl")
    return path


@pytest.fixture(scope="module")
def program(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Install the wheel into a fresh environment and return its ``coilbook``.

    The libraries that it needs are lent by this environment through a .pth file, which makes
    neither this environment's own .pth files nor the checkout importable there.
    """
    folder = tmp_path_factory.mktemp("fresh") / "env"
    venv.create(folder, with_pip=False, symlinks=os.name != "nt")
    scripts = folder / ("Scripts" if os.name == "nt" else "bin")
    python = scripts / ("python.exe" if os.name == "nt" else "python")
    pip("--python", str(python), "install", "--no-deps", "--no-index", str(wheel))
    ask = "import sysconfig; print(sysconfig.get_paths()['purelib'])"
    told = subprocess.run([str(python), "-c", ask], capture_output=True, text=True, check=True)
    lent = sysconfig.get_paths()["purelib"]
    (Path(told.stdout.strip()) / "lent.pth").write_text(lent + "\n", encoding="utf-8")
    return scripts / ("coilbook.exe" if os.name == "nt" else "coilbook")


def run(
    program: Path, folder: Path, *arguments: str, **variables: str
) -> subprocess.CompletedProcess[str]:
    """Run the installed command in a folder that has nothing to do with the checkout."""
    return subprocess.run(
        [str(program), *arguments],
        cwd=folder,
        env={**bare(), **variables},
        capture_output=True,
        text=True,
        encoding="utf-8",
    )


def test_wheel_holds_the_records_and_the_site_but_no_test_and_no_truth(wheel: Path) -> None:
    """Reference, demo and site sources travel; tests, generator and truth file stay at home."""
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
    data = "coilbook/_data/"
    for name in ("dataset/reference/claims.csv", "dataset/demo/pieces.csv", "site_src/mkdocs.yml"):
        assert data + name in names
    assert f"{data}site_src/prose/cautions/index.md" in names
    unwanted = ("truth", "test", "conftest", "generator", "__main__")
    parts = {name: Path(name).name.lower() for name in names}
    assert [n for n, last in parts.items() if any(word in last for word in unwanted)] == []
    tops = {name.split("/")[0].split("-")[0] for name in names}
    assert tops == {"coilbook"}, "the wheel puts nothing beside its one package"


def test_installed_program_does_not_lean_on_the_checkout(program: Path, tmp_path: Path) -> None:
    """Its code and its data come from the environment; outside a checkout 'describe' says so."""
    python = program.with_name(Path(sys.executable).name if os.name == "nt" else "python")
    code = "from coilbook.resources import dataset_dir as d; print(d())"
    told = run(python, tmp_path, "-c", code)
    where = Path(told.stdout.strip())
    assert where.is_relative_to(program.parents[1]), told.stdout + told.stderr
    code = "import coilbook; print(coilbook.__file__)"
    told = run(python, tmp_path, "-c", code)
    assert Path(told.stdout.strip()).is_relative_to(program.parents[1]), told.stdout + told.stderr
    described = run(program, tmp_path, "describe", "--check")
    assert described.returncode == 0
    assert "nothing to keep in step" in described.stdout


@pytest.fixture(scope="module")
def typed(program: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Go the way of a new user, from 'new' to 'build', with two pieces typed by hand."""
    folder = tmp_path_factory.mktemp("typed")
    assert run(program, folder, "new", "x").returncode == 0
    (folder / "x" / "pieces.csv").write_text(PIECES, encoding="utf-8")
    (folder / "x" / "readings.csv").write_text(READINGS, encoding="utf-8")
    checked = run(program, folder, "check", "x")
    assert checked.returncode == 0, checked.stdout + checked.stderr
    built = run(program, folder, "build", "x", TZ="Pacific/Auckland", PYTHONHASHSEED="1")
    assert built.returncode == 0, built.stdout + built.stderr
    return folder / "x"


def test_two_pieces_typed_by_hand_show_up(typed: Path) -> None:
    """New, type two pieces, check, build: the site has both, as written, and no private word."""
    site = typed / "site"
    # 68 °F is 20 °C; 8.24 kΩ at 19 °C is 8.24 / (1 - 0.00393) = 8.27 kΩ at 20 °C (IEC 60028, from
    # memory).
    for piece, written, reduced in (("typed-1", "7.61k", "7.61"), ("typed-2", "8,24 kΩ", "8.27")):
        page = (site / "pieces" / piece / "index.html").read_text(encoding="utf-8")
        assert written in page
        assert f"{reduced} ± " in page.replace("\N{NO-BREAK SPACE}", " ")
        assert piece in (site / "pieces" / "index.html").read_text(encoding="utf-8")
    for path in site.rglob("*"):
        if path.suffix in {".html", ".js", ".json", ".csv"}:
            assert "private_owner" not in path.read_text(encoding="utf-8"), path


def digests(site: Path) -> dict[str, str]:
    """Return a digest of every file of a site, by its path there."""
    return {
        path.relative_to(site).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(site.rglob("*"))
        if path.is_file()
    }


def test_two_builds_are_alike_to_the_byte(typed: Path, tmp_path: Path) -> None:
    """The same records give the same bytes in another program, process, place and hash order.

    The time zone differs too, and a site that was built into its archive changes nothing about it.
    """
    one, two = digests(typed / "site"), digests(build_site(typed, tmp_path / "site").out)
    assert one.keys() == two.keys()
    assert [name for name in one if one[name] != two[name]] == []


def test_the_demo_of_an_installed_program_goes_where_you_stand(
    program: Path, tmp_path: Path
) -> None:
    """With no archive around, the demo's site has a folder of its own here."""
    python = program.with_name(Path(sys.executable).name if os.name == "nt" else "python")
    code = (
        "from coilbook.commands.workplace import workplace as w; "
        "print(w(None).out, w(None).fell_back)"
    )
    told = run(python, tmp_path, "-c", code)
    assert told.stdout.split() == [str(tmp_path / "coilbook-demo-site"), "True"]
