"""Coilbook: from validated pickup records to an offline reference site."""

from __future__ import annotations

from functools import cache

__all__ = ["__version__"]


@cache
def _version() -> str:
    # Imported here: it takes longer than all else that 'coilbook --help' does.
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("coilbook")
    except PackageNotFoundError:  # run from a source tree that was never installed
        return "0+unknown"


def __getattr__(name: str) -> str:
    """Return ``__version__``, looked up when it is first asked for."""
    if name == "__version__":
        return _version()
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
