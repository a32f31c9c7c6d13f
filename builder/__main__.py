"""Set Coilbook up and build the demo site: ``python3 builder``.

Uses the standard library alone, for nothing else is installed yet. It makes ``.venv`` at the top of
the tree, installs the project into it, and hands every argument on to ``coilbook build``.
``tests/__main__.py`` loads this file for the same set-up.

The syntax stays that of Python 3.7 and later, so that an old Python can read as far as the sentence
that says it is too old.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

TOP = Path(__file__).resolve().parents[1]
ENVIRONMENT = TOP / ".venv"
#: Written before anything else is and completed last, so that a cut-off installation shows.
STAMP = ENVIRONMENT / "coilbook-stamp.json"
OLDEST = (3, 11)


class CannotSetUp(Exception):
    """The set-up cannot go on; the message ends with the next step."""


def check_python(command: str) -> None:
    """Refuse a Python that is too old, or that cannot make environments."""
    if sys.version_info < OLDEST:
        raise CannotSetUp(
            f"Coilbook needs Python {OLDEST[0]}.{OLDEST[1]} or newer, and this is "
            f"{sys.version.split()[0]} ({sys.executable}). "
            f"Run '{command}' with a newer one, as in 'python3.12 {command.split()[-1]}'."
        )
    if importlib.util.find_spec("ensurepip") is None:
        package = f"python{sys.version_info[0]}.{sys.version_info[1]}-venv"
        raise CannotSetUp(
            "This Python came without the part that makes environments (ensurepip). "
            f"On Debian and its kin install it with 'sudo apt install {package}'; "
            "elsewhere install Python again from its own installer. Then run this again."
        )


def environment_python() -> Path:
    """Return where the environment's Python is, or will be."""
    if os.name == "nt":
        return ENVIRONMENT / "Scripts" / "python.exe"
    return ENVIRONMENT / "bin" / "python"


def _wanted() -> dict[str, str]:
    """Return what an environment must have been made from to be used again."""
    return {
        "top": str(TOP),
        "python": f"{sys.version} {sys.base_prefix}",
        "pyproject": hashlib.sha256((TOP / "pyproject.toml").read_bytes()).hexdigest(),
    }


def _stamp() -> dict[str, object]:
    """Return what the environment was made from; empty when that is unknown or half done."""
    try:
        stamp = json.loads(STAMP.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) else {}


def _make_environment() -> None:
    if ENVIRONMENT.is_dir() and any(ENVIRONMENT.iterdir()) and not STAMP.is_file():
        raise CannotSetUp(
            f"The folder {ENVIRONMENT} is there already and was not made by this command. "
            "Move it away or delete it, then run this again."
        )
    print("Making the environment .venv ...", flush=True)
    if ENVIRONMENT.is_symlink() or ENVIRONMENT.is_file():
        ENVIRONMENT.unlink()
    if ENVIRONMENT.exists():
        shutil.rmtree(ENVIRONMENT)
    ENVIRONMENT.mkdir()
    STAMP.write_text("{}", encoding="utf-8")
    try:
        venv.EnvBuilder(with_pip=True, symlinks=os.name != "nt").create(ENVIRONMENT)
    except subprocess.CalledProcessError as error:
        raise CannotSetUp(
            f"The environment could not be made: {error}. Look at free disk space, then run "
            "this again."
        ) from error


def set_up(command: str, extras: frozenset[str] = frozenset()) -> Path:
    """Make the environment ready and return its Python; quick when nothing has changed.

    ``extras`` are the optional parts of pyproject.toml to install as well; those installed by an
    earlier run stay. Raises :class:`CannotSetUp` with the next step.
    """
    check_python(command)
    python, stamp, wanted = environment_python(), _stamp(), _wanted()
    had = stamp.get("extras")
    installed = frozenset(map(str, had)) if isinstance(had, list) else frozenset()
    same_origin = all(stamp.get(key) == wanted[key] for key in ("top", "python"))
    if not (same_origin and python.exists()):
        _make_environment()
    elif stamp.get("pyproject") == wanted["pyproject"] and extras <= installed:
        return python
    wanted_extras = sorted(extras | installed)
    target = "." + (f"[{','.join(wanted_extras)}]" if wanted_extras else "")
    print("Installing Coilbook and what it needs; the first time takes minutes ...", flush=True)
    STAMP.write_text("{}", encoding="utf-8")
    pip = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    if subprocess.run([*pip, "--editable", target], cwd=TOP).returncode:
        raise CannotSetUp(
            "The installation failed; the installer's own words are above. It needs the network "
            "for what is not on this computer yet. Mend that and run this again."
        )
    STAMP.write_text(json.dumps({**wanted, "extras": wanted_extras}), encoding="utf-8")
    return python


def main(arguments: list[str]) -> int:
    """Set up, then build the demo into ``site/`` at the top of the tree; return the exit code."""
    try:
        python = set_up("python3 builder")
    except CannotSetUp as problem:
        print(problem, file=sys.stderr)
        return 1
    demo, site = str(TOP / "dataset" / "demo"), str(TOP / "site")
    build = [str(python), "-m", "coilbook.cli", "build", demo, "--out", site, *arguments]
    return subprocess.run(build).returncode


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
