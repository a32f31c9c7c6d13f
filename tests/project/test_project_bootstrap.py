"""``python3 builder`` and ``python3 tests``: set up once, mend what was cut off, exit honestly.

The slow ones run both commands for real, in a copy of the tree whose project is a stand-in: it has
a build backend of its own and needs nothing, so that an environment is made without a network.
"""

from __future__ import annotations

import ast
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]
BOOTSTRAPS = ("builder/__main__.py", "tests/__main__.py")

STAND_IN_PROJECT = """\
[build-system]
requires = []
build-backend = "backend"
backend-path = ["."]

[project]
name = "coilbook"
version = "1"
"""
STAND_IN_BACKEND = """
import zipfile
from pathlib import Path


def build_editable(wheel_directory, config_settings=None, metadata_directory=None):
    name = "coilbook-1-py3-none-any.whl"
    info = "coilbook-1.dist-info/"
    with zipfile.ZipFile(Path(wheel_directory) / name, "w") as wheel:
        wheel.writestr("coilbook.pth", str(Path("builder").resolve()))
        wheel.writestr(
            info + "METADATA",
            "Metadata-Version: 2.1\\nName: coilbook\\nVersion: 1\\nProvides-Extra: test\\n",
        )
        wheel.writestr(info + "WHEEL", "Wheel-Version: 1.0\\nTag: py3-none-any\\n")
        wheel.writestr(info + "RECORD", "")
    with open("installs.log", "a") as log:
        log.write("installed\\n")
    return name
"""
#: Stands for the command, and for ruff, mypy and pytest: writes down how it was called.
STAND_IN_PROGRAM = """
import json, os, sys
call = [{name!r}, *sys.argv[1:]]
with open(os.environ["CALLS"], "a") as log:
    log.write(json.dumps([call, os.environ.get("CB_CHROMIUM")]) + "\\n")
print("{name} was here")
sys.exit(int(os.environ.get("FAIL_" + {name!r}.upper(), "0")))
"""


@pytest.mark.parametrize("bootstrap", BOOTSTRAPS)
def test_bootstraps_need_the_standard_library_alone(bootstrap: str) -> None:
    """Both commands start with nothing installed: they import only what comes with Python."""
    tree = ast.parse((TOP / bootstrap).read_text(encoding="utf-8"))
    names = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0
            assert node.module
            names.add(node.module.split(".")[0])
    assert names - sys.stdlib_module_names == set()


@pytest.mark.parametrize("bootstrap", BOOTSTRAPS)
def test_an_old_python_can_read_the_bootstraps(bootstrap: str) -> None:
    """A Python 3.7 gets as far as the sentence that says it is too old, not to a syntax error."""
    ast.parse((TOP / bootstrap).read_text(encoding="utf-8"), feature_version=(3, 7))


def in_bootstrap(statement: str, folder: Path = TOP) -> subprocess.CompletedProcess[str]:
    """Run builder/__main__.py with ``statement`` before its main part, in a Python of its own."""
    code = (
        "import runpy, sys\n"
        f"b = runpy.run_path({str(folder / 'builder' / '__main__.py')!r})\n"
        f"{statement}\n"
        "sys.exit(b['main']([]))"
    )
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)


def test_an_old_python_is_told_what_to_do() -> None:
    """Below 3.11 the command ends with 1 and names the version it needs and the one it met."""
    done = in_bootstrap("sys.version_info = (3, 9, 2); sys.version = '3.9.2 (made up)'")
    assert done.returncode == 1
    assert "needs Python 3.11 or newer, and this is 3.9.2" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_python_without_ensurepip_names_the_package() -> None:
    """Where environments cannot be made, the sentence names Debian's package for this version."""
    done = in_bootstrap(
        "find = b['importlib'].util.find_spec\n"
        "b['importlib'].util.find_spec = lambda n: None if n == 'ensurepip' else find(n)"
    )
    package = f"python{sys.version_info[0]}.{sys.version_info[1]}-venv"
    assert done.returncode == 1
    assert f"apt install {package}" in done.stderr


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """Return a tree with our two bootstraps, whose project is the stand-in."""
    top = tmp_path / "a tree"
    for bootstrap in BOOTSTRAPS:
        (top / bootstrap).parent.mkdir(parents=True)
        shutil.copy(TOP / bootstrap, top / bootstrap)
    (top / "pyproject.toml").write_text(STAND_IN_PROJECT, encoding="utf-8")
    (top / "backend.py").write_text(STAND_IN_BACKEND, encoding="utf-8")
    package = top / "builder" / "coilbook"
    package.mkdir()
    (package / "__init__.py").write_text("", encoding="utf-8")
    programs = {"coilbook": package / "cli.py"}
    programs |= {name: top / "builder" / f"{name}.py" for name in ("ruff", "mypy", "pytest")}
    for name, path in programs.items():
        path.write_text(STAND_IN_PROGRAM.format(name=name), encoding="utf-8")
    return top


def run(tree: Path, command: str, *arguments: str, **variables: str) -> tuple[int, str]:
    """Run a bootstrap from outside the tree; return its exit code and all that it printed."""
    own = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    environment = {**own, "CALLS": str(tree / "calls.log"), **variables}
    done = subprocess.run(
        [sys.executable, str(tree / command), *arguments],
        cwd=tree.parent,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    return done.returncode, done.stdout


def calls(tree: Path) -> list[list[str]]:
    """Return how the stand-in programs were called, in order."""
    return [json.loads(line)[0] for line in (tree / "calls.log").read_text().splitlines()]


def installs(tree: Path) -> int:
    """Return how often the project was installed."""
    return len((tree / "installs.log").read_text().splitlines())


@pytest.mark.slow
def test_an_environment_of_somebody_else_is_left_alone(tree: Path) -> None:
    """A .venv that these commands did not make is neither used nor deleted."""
    theirs = tree / ".venv" / "theirs.txt"
    theirs.parent.mkdir()
    theirs.write_text("keep me")
    code, printed = run(tree, "builder")
    assert code == 1
    assert "was not made by this command" in printed
    assert theirs.read_text() == "keep me"


@pytest.mark.slow
def test_both_commands_set_up_once_repair_themselves_and_exit_honestly(tree: Path) -> None:
    """ruff, mypy and pytest all run; any failure shows in the exit code; pytest speaks last.

    One environment serves until pyproject.toml changes or an installation is cut off.
    """
    chromium = {"CB_CHROMIUM": sys.executable}
    code, printed = run(tree, "tests", "-k", "records", **chromium)
    assert code == 0, printed
    # The first two look at the sources at the same time.
    assert sorted(calls(tree)[:2]) == [["mypy"], ["ruff", "check", "builder", "tests"]]
    assert calls(tree)[2:] == [["pytest", "-k", "records"]]
    assert printed.rstrip().endswith("pytest was here")
    last = json.loads((tree / "calls.log").read_text().splitlines()[-1])
    assert last[1] == sys.executable, "pytest is told where Chromium is"

    site, demo = str(tree / "site"), str(tree / "dataset" / "demo")
    code, printed = run(tree, "builder", "--quick", FAIL_COILBOOK="7")
    assert code == 7, "the build's exit code is handed on"
    assert "Installing" not in printed
    assert calls(tree)[-1] == ["coilbook", "build", demo, "--out", site, "--quick"]
    assert installs(tree) == 1, "builder is content with an environment that has the test extra too"

    # As a cut-off installation leaves it: the stamp unfinished, a package half there.
    (tree / ".venv" / "coilbook-stamp.json").write_text("{}")
    next((tree / ".venv").rglob("coilbook.pth")).unlink()

    assert run(tree, "tests", FAIL_PYTEST="5", **chromium)[0] == 5, "no tests is not a pass"
    assert next((tree / ".venv").rglob("coilbook.pth")).is_file(), "what was cut off is mended"
    code, printed = run(tree, "tests", FAIL_RUFF="1", **chromium)
    assert code == 1
    assert "Failed before pytest, see above: ruff." in printed
    assert run(tree, "tests", FAIL_MYPY="1", **chromium)[0] == 1

    code, printed = run(tree, "tests", CB_CHROMIUM="no-such-program")
    assert code == 1, "without a Chromium nothing may look as if all had passed"
    assert "CB_CHROMIUM names 'no-such-program', which is no program here." in printed
    assert calls(tree)[-1][-2:] == ["-m", "not browser"]
    assert "loadfile" in calls(tree)[-1], "all tests are shared out"

    project = tree / "pyproject.toml"
    project.write_text(project.read_text() + "# changed\n")
    before = installs(tree)
    assert run(tree, "builder")[0] == 0
    assert installs(tree) == before + 1, "a changed pyproject.toml is installed again"
