"""Where the reference dataset and the site's sources are: in the wheel or in a checkout."""

from __future__ import annotations

from pathlib import Path

from coilbook.errors import CoilbookError

_PACKAGE = Path(__file__).resolve().parent


def _find(name: str) -> Path:
    for folder in (_PACKAGE / "_data" / name, _PACKAGE.parents[1] / name):
        if folder.is_dir():
            return folder
    raise CoilbookError(f"The folder '{name}' did not come with Coilbook. Install it again.")


def dataset_dir() -> Path:
    """Return the folder that holds reference/ and demo/."""
    return _find("dataset")


def site_src_dir() -> Path:
    """Return the folder that holds mkdocs.yml, prose pages, templates, css and js."""
    return _find("site_src")


def templates() -> dict[str, str]:
    """Return the templates of record pages, by their name under site_src/templates."""
    folder = site_src_dir() / "templates"
    return {
        path.relative_to(folder).as_posix(): path.read_text(encoding="utf-8")
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def checkout_dir() -> Path | None:
    """Return the top of the checkout that Coilbook runs from, or None when it is installed."""
    top = _PACKAGE.parents[1]
    return top if (top / "pyproject.toml").is_file() and (top / "dataset").is_dir() else None
