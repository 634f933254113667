"""Case files: read into a `Case`, written from one, varied at places in them."""

from .reading import CaseFile, case_of, files_of, limits_of, load, read_case, read_file
from .writing import write_case

__all__ = ["CaseFile", "case_of", "files_of", "limits_of", "load", "read_case", "read_file", "write_case"]
