"""What was typed becomes words and phrases."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from portfolio.search.asking import MOST_WORDS, Question, read_question


def test_quotes_make_phrases_and_small_words_fall_away():
    """Quoted words stay together, typographic quotes too; small words go when others are there."""
    assert read_question('the "red fish" in a tank') == Question(("tank",), (("red", "fish"),))
    assert read_question("“the sun” «de la luz»") == Question((), (("the", "sun"), ("de", "la", "luz")))
    assert read_question("the my") == Question(("the", "my"))
    assert read_question('5" paper paper') == Question(("5", "paper"))
    assert not read_question(' "" — !')


@given(typed=st.text(max_size=200))
def test_a_question_is_never_long(typed):
    """A pasted page asks for its first words only, each once."""
    question = read_question(typed)
    assert len(question.words) <= MOST_WORDS
    assert len(set(question.words)) == len(question.words)
    assert all(all(phrase) for phrase in question.phrases)
