from pathlib import Path

import pytest

from portfolio.archive import settings
from portfolio.archive.settings import Settings
from portfolio.errors import LibraryError


def test_what_is_saved_is_read_back_and_silence_means_the_default(tmp_path: Path) -> None:
    """Every value survives; a file that says little keeps the other defaults."""
    wanted = Settings(executor="thread", workers=3, photo_seconds=9)
    settings.save(tmp_path, wanted)
    assert settings.load(tmp_path) == wanted
    (tmp_path / "portfolio.toml").write_text("workers = 1\n", encoding="utf-8")
    assert settings.load(tmp_path) == Settings(workers=1)


@pytest.mark.parametrize("text", ["wokers = 1", 'workers = "two"', "workers = true", "workers = ", "executor = 3"])
def test_a_slip_in_the_settings_is_said_not_guessed(tmp_path: Path, text: str) -> None:
    """An unknown word, a wrong kind of value, or torn text stops with the sentence that names it."""
    (tmp_path / "portfolio.toml").write_text(text, encoding="utf-8")
    with pytest.raises(LibraryError) as caught:
        settings.load(tmp_path)
    assert caught.value.code == "settings-unreadable"
