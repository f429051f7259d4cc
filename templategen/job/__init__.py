"""From words to files: ``make`` is the whole way for one spec, ``store`` writes all or nothing and loses nothing of
anybody's, ``batch`` makes many, ``begin`` starts new files to fill in."""

from templategen.job.batch import duplicates, make_all
from templategen.job.begin import new_spec, new_survey
from templategen.job.make import (
    Made,
    Progress,
    check,
    compute,
    make,
    part_names,
    schema,
    show,
    survey,
    table_names,
)
from templategen.job.preview import compare, compare_measured, manifest_files, preview
from templategen.job.store import MANIFEST
from templategen.writers.register import FORMATS

__all__ = [
    "FORMATS",
    "MANIFEST",
    "Made",
    "Progress",
    "check",
    "compare",
    "compare_measured",
    "compute",
    "duplicates",
    "make",
    "make_all",
    "manifest_files",
    "new_spec",
    "new_survey",
    "part_names",
    "preview",
    "schema",
    "show",
    "survey",
    "table_names",
]
