"""The count at the end of a class shows what no reader can see: a wrong card laid down."""

from portfolio.filing.checks import check_sentence
from portfolio.model.filing import Chosen
from tests.support.rows import CLASS, DAY, context, decide, number, row


def test_missing_and_double_numbers_are_told():
    """Four photos of five children; 2 comes twice with the same picture, so it is one work."""
    check = decide(row(number(1), number(2), number(2), number(4), hashes={2: 1, 3: 1})).checks[0]
    assert (check.class_id, check.day, check.present, check.of) == (CLASS, DAY, 3, 5)
    assert check.missing == (3, 5)
    assert check.sentence == "3 of 5 numbers; 3 and 5 missing"


def test_photos_that_wait_are_counted_apart():
    """A question about this class is told, not counted as filed."""
    check = decide(row(number(1), number(1))).checks[0]
    assert check.sentence == "1 of 5 numbers; 2, 3, 4 and 5 missing; 1 photo to check"


def test_absent_children_are_not_missing():
    """Those whom the teacher ticked are not asked for."""
    check = decide(row(number(1)), context(Chosen(absent=frozenset({2, 3, 4, 5})))).checks[0]
    assert check.sentence == "1 of 1 numbers"


def test_the_sentence_of_the_notes():
    """As the teacher reads it."""
    told = check_sentence(24, 27, missing=(3, 11), several=((12, 2),), waiting=0)
    assert told == "24 of 27 numbers; 3 and 11 missing; 12 twice"
