"""Records: the only room that opens an archive. Text in, validated records and problems out."""

from coilbook.core.written.grammar import read_unit, read_value
from coilbook.records.reading.archive import Loaded, load_archive, load_reference, public_view
from coilbook.records.reading.importing import Imported, import_file
from coilbook.records.reading.scaffold import new_archive
from coilbook.records.tables.descriptor import datapackage, dictionary_markdown

__all__ = [
    "Imported",
    "Loaded",
    "datapackage",
    "dictionary_markdown",
    "import_file",
    "load_archive",
    "load_reference",
    "new_archive",
    "public_view",
    "read_unit",
    "read_value",
]
