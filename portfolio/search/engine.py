"""The one door to Whoosh 2.7.4. Nothing else in the program imports it.

The package is frozen since 2016 and raises SyntaxWarnings (invalid escapes, ``is`` with a literal) when Python
first compiles it. They say nothing about our own code, so they are silenced for that import alone, and only
there: a warning filter set for the whole program would hide ours too.
"""

from __future__ import annotations

import importlib
import warnings

with warnings.catch_warnings():
    warnings.simplefilter("ignore", SyntaxWarning)
    warnings.simplefilter("ignore", DeprecationWarning)
    from whoosh import fields, index, query
    from whoosh import versionstring as whoosh_version
    from whoosh.filedb.filestore import FileStorage
    from whoosh.index import LockError
    from whoosh.lang.porter import stem as porter_stem

    # The library imports these when they are first used; compiled here, they are silenced too.
    for late in ("codec.whoosh3", "filedb.filestore", "multiproc", "reading", "searching", "writing"):
        importlib.import_module(f"whoosh.{late}")

__all__ = ["FileStorage", "LockError", "fields", "index", "porter_stem", "query", "whoosh_version"]
