"""The committed show is renewed as a whole; the pictures of the app beside it stay."""

from __future__ import annotations

from pathlib import Path

import pytest

from portfolio.demo import gallery


def test_a_renewed_gallery_keeps_the_pictures_of_the_app(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing of the last show is left, and the new one is built where nothing else lies."""
    folder = tmp_path / "gallery"
    for name in ("index.html", "works/old.html", "screens/today.webp"):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text("old", encoding="utf-8")

    def build(place: Path) -> dict[str, object]:
        assert not place.exists()
        (place / "works").mkdir(parents=True)
        (place / "works" / "new.html").write_text("new", encoding="utf-8")
        return {"works": 1}

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(gallery, "build", build)
    monkeypatch.setattr(gallery, "FOLDER", folder)
    monkeypatch.setattr(gallery, "SCREENS", folder / "screens")
    assert gallery.main([]) == 0
    there = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    assert there == {"works/new.html", "screens/today.webp"}
