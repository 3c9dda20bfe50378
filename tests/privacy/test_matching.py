"""Where a name stands in a text, however its letters are dressed; and when an old search no longer counts."""

from portfolio.model.people import Audience
from portfolio.privacy import matching
from portfolio.privacy.matching import forbidden_for
from tests.support.names import DAY, make_child


def test_what_was_clean_under_other_rules_is_searched_again(monkeypatch):
    """The digest that stands for "found clean before" says by which rules, not only which names."""
    before = forbidden_for([make_child()], Audience.PUBLIC, day=DAY).digest
    assert forbidden_for([make_child()], Audience.PUBLIC, day=DAY).digest == before
    monkeypatch.setattr(matching, "RULES", matching.RULES + 1)
    assert forbidden_for([make_child()], Audience.PUBLIC, day=DAY).digest != before
