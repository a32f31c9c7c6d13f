"""The templates' environment, for pages and for what commands print."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import jinja2

from coilbook.pages import text


class _Compiled(jinja2.BytecodeCache):
    """The templates that this process has compiled: a preview builds the site again and again.

    What is compiled depends on whether values are escaped, and nothing says so of a template.
    """

    def __init__(self) -> None:
        self._code: dict[str, bytes] = {}

    def load_bytecode(self, bucket: jinja2.bccache.Bucket) -> None:
        """Give what was compiled of this very text, if anything was."""
        if bucket.key in self._code:
            bucket.bytecode_from_string(self._code[bucket.key])

    def dump_bytecode(self, bucket: jinja2.bccache.Bucket) -> None:
        """Keep what was compiled, in the place of what was compiled of an earlier text."""
        self._code[bucket.key] = bucket.bytecode_to_string()


_COMPILED = {True: _Compiled(), False: _Compiled()}


def environment(templates: Mapping[str, str], *, escaped: bool = True) -> jinja2.Environment:
    """Return the templates' environment: nothing undefined passes, and everything is escaped.

    ``escaped`` is False for what is read as text and not as a page.
    """
    env = jinja2.Environment(
        loader=jinja2.DictLoader(dict(templates)),
        autoescape=escaped,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=False,
        bytecode_cache=_COMPILED[escaped],
    )
    env.filters |= {"lower_first": text.lower_first, "upper_first": text.upper_first}
    return env


def printed(templates: Mapping[str, str], name: str, **names: Any) -> str:
    """Return what a template says on a terminal."""
    made = environment(templates, escaped=False).get_template(name).render(**names)
    return text.with_plain_spaces(made)
