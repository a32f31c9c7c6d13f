"""Coilbook: from validated pickup records to an offline reference site."""

from importlib.metadata import PackageNotFoundError, version

try:
    __version__ = version("coilbook")
except PackageNotFoundError:  # run from a source tree that was never installed
    __version__ = "0+unknown"

__all__ = ["__version__"]
