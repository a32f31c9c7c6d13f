"""Prints core as a page's script; what it takes stands in ``permitted``."""

from coilbook.publish.printer.permitted import check
from coilbook.publish.printer.script import CannotPrint, print_core

__all__ = ["CannotPrint", "check", "print_core"]
