"""The site engine's room: plugin, data scripts, downloads, link check, and the build itself.

The only room that imports mkdocs. ``build_site`` is the front; it loads heavy rooms when called.
"""

from coilbook.publish.build import build_site
from coilbook.publish.results import BuildReport

__all__ = ["BuildReport", "build_site"]
