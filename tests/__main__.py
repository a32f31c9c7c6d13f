"""Set Coilbook up with its test tools and run every check: ``python3 tests``.

Arguments go on to pytest, as in ``python3 tests -k records``, which then runs in one process. The
set-up is that of ``builder/__main__.py``, with the ``test`` extra. The syntax stays that of Python
3.7 and later.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path
from types import ModuleType

TOP = Path(__file__).resolve().parents[1]
#: The same engine without a desktop's windows: the tests take two thirds of the time with it.
LEAN = "chromium-headless-shell"
CHROMIUM_NAMES = (LEAN, "chromium", "chromium-browser")
#: Programs that tests compare with: their command, Debian's package, and what is compared.
OUTSIDE_PROGRAMS = (
    ("ngspice", "ngspice", "the circuit is"),
    ("Rscript", "r-base-core", "the statistics are"),
)
#: How pytest runs everything: in so many processes as there are cores, though no more than can be
#: of use, and each file's tests in one of them and in their order.
ALL_TESTS = ["-n", "logical", "--maxprocesses", "4", "--dist", "loadfile", "--no-loadscope-reorder"]
#: Prints where the browser driver keeps its own Chromium, whether or not it is there.
ASK_DRIVER = (
    "from playwright.sync_api import sync_playwright as driver\n"
    "with driver() as d: print(d.chromium.executable_path)"
)


def load_bootstrap() -> ModuleType:
    """Load builder/__main__.py, which is no importable module by name."""
    path = TOP / "builder" / "__main__.py"
    spec = importlib.util.spec_from_file_location("coilbook_bootstrap", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def find_chromium(python: Path) -> str | None:
    """Return a Chromium that is on this computer already."""
    for name in CHROMIUM_NAMES:
        found = shutil.which(name)
        if found:
            return found
    told = subprocess.run([str(python), "-c", ASK_DRIVER], capture_output=True, text=True)
    path = told.stdout.strip()
    return path if told.returncode == 0 and path and Path(path).is_file() else None


def can_install() -> bool:
    """Whether Debian's packages can be installed here: as root, with its own client."""
    return hasattr(os, "geteuid") and os.geteuid() == 0 and shutil.which("apt-get") is not None


def install(*packages: str) -> None:
    """Install Debian's packages; whoever needs them looks whether they came."""
    print(f"Installing Debian's {', '.join(packages)} ...", flush=True)
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    command = ["apt-get", "-q", "install", "-y", "--no-install-recommends", *packages]
    # A failed update may still leave a list that is good enough, so install is tried anyway.
    subprocess.run(["apt-get", "-q", "update"], env=quiet, stdout=subprocess.DEVNULL)
    subprocess.run(command, env=quiet, stdout=subprocess.DEVNULL)


def get_chromium(python: Path) -> None:
    """Fetch a Chromium: Debian's package as root, else the browser driver's own download."""
    if can_install():
        # A bare machine has no font either, and a page's text without one has no size.
        install(LEAN, "fonts-dejavu-core")
        if shutil.which(LEAN) is None:
            install("chromium")
    else:
        print("No Chromium found: letting the browser driver download its own ...", flush=True)
        subprocess.run([str(python), "-m", "playwright", "install", "chromium"])


def chromium(python: Path) -> tuple[str | None, str]:
    """Return a Chromium and an empty string, or None and what is missing in a sentence."""
    named = os.environ.get("CB_CHROMIUM")
    if named:
        if shutil.which(named):
            return named, ""
        return None, (
            f"CB_CHROMIUM names '{named}', which is no program here. Correct it or unset it."
        )
    found = find_chromium(python)
    if found is None or (can_install() and Path(found).name != LEAN):
        get_chromium(python)
        found = find_chromium(python)
    if found is None:
        return None, (
            "No Chromium could be found or fetched, so the tests in a real browser cannot run. "
            "Install Chromium, or name one in the variable CB_CHROMIUM, then run this again."
        )
    return found, ""


def main(arguments: list[str]) -> int:
    """Run ruff, mypy and pytest, all three whatever happens; return 0 only if all passed."""
    bootstrap = load_bootstrap()
    try:
        python = bootstrap.set_up("python3 tests", frozenset({"test"}))
    except bootstrap.CannotSetUp as problem:
        print(problem, file=sys.stderr)
        return 1
    failed = []
    # They look at the sources while what else is needed is fetched.
    looking = [
        (step[0], subprocess.Popen([str(python), "-m", *step], cwd=TOP, stdout=subprocess.PIPE))
        for step in (["ruff", "check", "builder", "tests"], ["mypy"])
    ]
    environment, chosen = dict(os.environ), [] if arguments else list(ALL_TESTS)
    if environment.pop("PYTHONDONTWRITEBYTECODE", ""):
        # Every test file would be compiled anew in each process, which is half of the start. What
        # is compiled goes where the environment is, so that nothing stands beside the sources.
        environment["PYTHONPYCACHEPREFIX"] = str(TOP / ".venv" / "pycache")
    program, missing = chromium(python)
    if program is None:
        environment.pop("CB_CHROMIUM", None)
        chosen += ["-m", "not browser"]
        failed.append("the search for a Chromium")
        print(missing, file=sys.stderr, flush=True)
    else:
        environment["CB_CHROMIUM"] = program
    for command, package, what in OUTSIDE_PROGRAMS:
        if shutil.which(command) is None and can_install():
            install(package)
        if shutil.which(command) is None:
            print(f"No {command}: {what} not checked against it, but fails in CI.", flush=True)
    for name, look in looking:
        told = look.communicate()[0].decode(errors="replace").rstrip()
        print(f"{name}:\n{told}", flush=True)
        if look.returncode:
            failed.append(name)
    print("pytest:", flush=True)
    # pytest's closing lines come last: whatever reads them must find them there.
    code = subprocess.run(
        [str(python), "-m", "pytest", *chosen, *arguments], cwd=TOP, env=environment
    ).returncode
    if failed and code == 0:
        print(f"Failed before pytest, see above: {', '.join(failed)}.", file=sys.stderr)
    return code or bool(failed)


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
