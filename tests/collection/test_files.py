"""Files: what may be read, where an output may go, and whole files or none."""

import errno
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from collection import files
from collection.files import clear_drafts, draft_of, read_source, replacing, require_free, require_source, write_whole
from schemas.errors import OutputRefused, SourceRefused


@pytest.fixture
def there(tmp_path: Path) -> Path:
    path = tmp_path / "there.txt"
    path.write_text("mine")
    return path


def test_a_file_is_read_whole_up_to_the_size_stated(there):
    assert read_source(there, 4) == b"mine"

    with pytest.raises(SourceRefused, match=r"4 bytes.*at most 3 bytes"):
        read_source(there, 3)


def fifo(path: Path) -> Path:
    os.mkfifo(path)
    return path


NO_FILES = {
    "pipe": lambda folder: fifo(folder / "f"),
    "folder": lambda folder: folder,
    "endless device": lambda folder: Path("/dev/zero"),
    "full device": lambda folder: Path("/dev/full"),
    "nothing": lambda folder: folder / "none",
    "name too long": lambda folder: folder / ("x" * 300),
    "zero byte in the name": lambda folder: folder / "a\0b",
}


@pytest.mark.parametrize("kind", NO_FILES)
def test_what_is_no_file_is_refused_before_it_is_read(kind, tmp_path):
    path = NO_FILES[kind](tmp_path)

    with pytest.raises(SourceRefused):
        require_source(path)
    with pytest.raises(SourceRefused):
        read_source(path, 10)


def test_an_output_may_have_a_name_that_nothing_has(tmp_path, there):
    require_free(tmp_path / "new.csv", store=tmp_path / "s.duckdb", sources=[there])


def test_no_output_is_written_onto_the_store_a_source_or_a_file_that_is_there(tmp_path, there):
    store = tmp_path / "s.duckdb"
    store.write_bytes(b"store")
    linked, hard = tmp_path / "link", tmp_path / "hard"
    linked.symlink_to(there)
    os.link(store, hard)

    for path, words in [
        (store, "the store"),
        (hard, "the store"),
        (tmp_path / "." / "s.duckdb", "the store"),
        (tmp_path / "s.duckdb.wal", "the log of the store"),
        (there, "a file that is read"),
        (linked, "a file that is read"),
    ]:
        with pytest.raises(OutputRefused, match=words):
            require_free(path, store=store, sources=[there], replace=True)
    with pytest.raises(OutputRefused, match="a file of this name is there"):
        require_free(there, store=store)


def test_a_file_of_ours_may_be_replaced_where_that_is_asked_for(there):
    require_free(there, store=None, replace=True)
    require_free(there, store=None, replace=lambda path: path.read_text() == "mine")
    with pytest.raises(OutputRefused):
        require_free(there, store=None, replace=lambda path: False)


@pytest.mark.parametrize("kind", ["pipe", "folder", "endless device", "full device"])
def test_no_output_goes_to_a_device_a_pipe_or_a_folder(kind, tmp_path):
    with pytest.raises(OutputRefused):
        require_free(NO_FILES[kind](tmp_path), store=None, replace=True)


def test_no_output_follows_a_link_to_nowhere(tmp_path):
    (tmp_path / "out.csv").symlink_to(tmp_path / "elsewhere")

    with pytest.raises(OutputRefused, match="broken link"):
        require_free(tmp_path / "out.csv", store=None, replace=True)


def test_a_file_is_replaced_whole_and_keeps_its_mode(there):
    there.chmod(0o600)
    write_whole(there, b"new")

    assert there.read_bytes() == b"new"
    assert stat.S_IMODE(there.stat().st_mode) == 0o600


def test_a_new_file_has_the_mode_of_any_new_file(tmp_path):
    before = os.umask(0o027)
    try:
        write_whole(tmp_path / "new", b"new")
    finally:
        os.umask(before)

    assert stat.S_IMODE((tmp_path / "new").stat().st_mode) == 0o640


def test_a_write_that_fails_leaves_the_file_as_it_was_and_nothing_beside_it(there):
    def broken_off() -> None:
        with replacing(there) as draft:
            draft.write_text("half")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        broken_off()

    assert there.read_text() == "mine"
    assert list(there.parent.iterdir()) == [there]


def test_a_draft_has_a_name_nobody_can_guess_and_is_readable_by_nobody_else(there):
    there.chmod(0o600)
    with draft_of(there) as one, draft_of(there) as other:
        assert one.name != other.name
        assert stat.S_IMODE(one.stat().st_mode) == 0o600


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EROFS, "read-only"),
        (errno.EACCES, "permission is refused"),
        (errno.ENAMETOOLONG, "too long"),
    ],
)
def test_what_the_disk_refuses_is_said_in_words(number, words, there, monkeypatch):
    def refused(*args: object, **kwargs: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(files.os, "replace", refused)

    with pytest.raises(OutputRefused, match=words):
        write_whole(there, b"new")
    assert there.read_text() == "mine"


def test_a_name_that_is_too_long_and_a_path_through_a_file_are_said(tmp_path):
    with pytest.raises(OutputRefused, match="too long"):
        write_whole(tmp_path / ("n" * 300), b"new")
    (tmp_path / "file").write_text("")
    with pytest.raises(OutputRefused, match="a file is where a folder should be"):
        write_whole(tmp_path / "file" / "out.csv", b"new")


LEAVE_A_DRAFT = """
import os, sys
from pathlib import Path
from collection.files import draft_of, draft_folder
with draft_of(Path(sys.argv[1])), draft_folder(Path(sys.argv[1])):
    print("there", flush=True)
    sys.stdin.readline() or os.kill(os.getpid(), 9)
"""


def test_drafts_of_killed_processes_are_cleared_and_those_in_work_are_not(there):
    working = subprocess.Popen(
        [sys.executable, "-c", LEAVE_A_DRAFT, str(there)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    working.stdout.readline()
    clear_drafts(there.parent, there.name)
    assert len(list(there.parent.iterdir())) == 3

    working.kill()
    working.communicate()
    assert len(list(there.parent.iterdir())) == 3
    clear_drafts(there.parent, there.name)

    assert list(there.parent.iterdir()) == [there]
