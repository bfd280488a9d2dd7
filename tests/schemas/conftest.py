"""A folder of vocabularies of the museum's own, copied from ours and changed."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from schemas import agreement, vocabularies


def forget() -> None:
    vocabularies.vocabularies.cache_clear()
    vocabularies.load_parameters.cache_clear()
    agreement.require_agreement.cache_clear()


@pytest.fixture
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str, str, str], None]]:
    """Replaces text in one file of a copy of the vocabularies, which is then the one that is read."""
    folder = tmp_path / "own"
    shutil.copytree(vocabularies.folder(), folder)
    monkeypatch.setenv("ENAMELS_VOCABULARIES", str(folder))
    forget()

    def change(file: str, old: str, new: str) -> None:
        text = (folder / file).read_text("utf-8")
        assert old in text
        (folder / file).write_text(text.replace(old, new), "utf-8")
        forget()

    yield change
    monkeypatch.undo()
    forget()
