"""Stub."""
from portfolio.archive.library import Library
from portfolio.web.reader import BatchReader
def reader_for(library: Library) -> BatchReader:
    return BatchReader(lambda batch_id: None)
