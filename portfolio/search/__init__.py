"""Room 5, find it again: takes words, gives ids. Never holds a name, never is the only copy of anything.

``Index`` is the adapter: ``build`` · ``open`` · ``apply`` · ``search`` · ``suggest`` · ``position`` · ``compact`` ·
``close``. Names, filters, facets and sorting are the archive's; here are only words.
"""

from portfolio.search.index import Index, current_stamp
from portfolio.search.values import Document, Hit, IndexBusy, IndexDamaged, SearchResult, Showing, Tier

__all__ = [
    "Document",
    "Hit",
    "Index",
    "IndexBusy",
    "IndexDamaged",
    "SearchResult",
    "Showing",
    "Tier",
    "current_stamp",
]
