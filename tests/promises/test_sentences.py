"""Every sentence of bad news keeps its form, and every code has a test."""

import re
from pathlib import Path

import pytest

from portfolio.errors import SENTENCES, Problem, say

ROOT = Path(__file__).parents[2]
TESTS = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "tests").rglob("*.py") if path != Path(__file__))
TABLE = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "tests").rglob("*.csv"))
PROGRAM = "\n".join(
    path.read_text(encoding="utf-8") for path in (ROOT / "portfolio").rglob("*.py") if path.name != "errors.py"
)


@pytest.mark.parametrize("code", SENTENCES)
def test_a_sentence_says_what_was_found_and_what_to_do(code: str) -> None:
    """Both halves are whole sentences without blame, capitals-only words or a bare "invalid"."""
    row = SENTENCES[code]
    for half in (row.text, row.remedy):
        assert half.strip().endswith("."), half
        assert not re.search(r"\b(?:invalid|illegal|fatal|oops|you failed|your fault)\b", half, re.IGNORECASE), half
        assert "!" not in half
    assert say(code, item="Line 3", found="a reason")
    assert 400 <= row.http < 600
    assert int(row.exit) != 0


@pytest.mark.parametrize("code", SENTENCES)
def test_every_code_is_used_and_tested(code: str) -> None:
    """A code that nothing raises is taken out; a code without a test gets one."""
    assert f'"{code}"' in PROGRAM, "no longer used"
    assert code in TESTS or code in TABLE, "without a test"


def test_an_unknown_code_is_our_own_mistake() -> None:
    """A Problem with a code that is not in the table cannot be made."""
    with pytest.raises(KeyError):
        Problem("no-such-code", "x")
