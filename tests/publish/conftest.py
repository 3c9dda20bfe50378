"""Pages of the site are looked at in a real browser."""

from tests.support.browser import browser_pages

__all__ = ["browser_pages"]
