"""What `enamels intake` writes beside the register, and what it never writes onto; a package is taken alone or not at all."""

import shutil

import polars as pl
import pytest

from collection.store import Change, Store
from schemas.errors import WrongUsage


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """A store with one object; to be copied and never written to."""
    store = Store(tmp_path_factory.mktemp("small") / "enamels.duckdb")
    store.write(Change({"object": pl.DataFrame({"object_id": ["V.0"]})}), by="tester")
    return store


# option and the place that no output may take
TAKEN = [
    ("the store", "enamels.duckdb"),
    ("the log of the store", "enamels.duckdb.wal"),
    ("the source", "o.csv"),
    ("the mapping", "m.toml"),
    ("a file that is there", "letter.txt"),
    ("a folder", "folder"),
    ("a device", "/dev/full"),
    ("nowhere", "/proc/nope/r.xlsx"),
]


@pytest.mark.parametrize("option", ["--readings", "--refused"])
@pytest.mark.parametrize("place", [t[1] for t in TAKEN], ids=[t[0] for t in TAKEN])
def test_no_output_is_written_onto_anything_and_nothing_is_brought_in(
    place, option, enamels, write_csv, tmp_path, small
):
    shutil.copyfile(small.path, tmp_path / "enamels.duckdb")
    write_csv("o.csv", "object_id,title", "V.1,Box")
    write_csv("m.toml", 'record = "object"', "[columns]", '"object_id" = "object_id"')
    write_csv("letter.txt", "dear")
    (tmp_path / "folder").mkdir()
    before = {p.name: p.read_bytes() for p in tmp_path.iterdir() if p.is_file()}

    code, _, err = enamels("intake", "o.csv", "--mapping", "m.toml", option, place)

    assert code == WrongUsage.code, err
    assert "fault of the register" not in err
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir() if p.is_file()} == before


def test_readings_hold_nothing_that_a_spreadsheet_works_out(enamels, write_csv):
    write_csv("o.csv", "object_id,Date made", "=1+1,=2+2", "＝3,@SUM(A1)", "V.1,1850")

    assert enamels("intake", "o.csv", "--yes", "--readings", "r.csv")[0] == 0

    read = pl.read_csv("r.csv", infer_schema=False)
    assert read["object_id"].to_list() == ["'=1+1", "'＝3", "V.1"]
    assert not any(str(v).startswith(("=", "@", "＝")) for row in read.rows() for v in row)


@pytest.fixture(scope="module")
def published(small):
    """The package of the store with one object; to be copied."""
    small.publish(small.path.with_name("p"), "csv")
    return small.path.with_name("p")


@pytest.fixture
def package(published, write_csv, tmp_path):
    write_csv("o.csv", "object_id,title", "V.1,Box")
    shutil.copytree(published, tmp_path / "p")
    return "p/datapackage.json"


def test_a_dry_run_of_a_package_writes_nothing(package, enamels, tmp_path):
    code, out, _ = enamels("intake", package, "--dry-run")

    assert code == 0
    assert "Nothing was written (dry run)" in out
    assert not (tmp_path / "enamels.duckdb").exists()


@pytest.mark.parametrize("more", [("o.csv",), ("--as", "object"), ("--readings", "r.csv"), ("--refused", "r.xlsx")])
def test_what_cannot_go_with_a_package_is_said_and_nothing_is_swallowed(more, package, enamels, tmp_path):
    code, _, err = enamels("intake", package, *more, "--yes")

    assert code == WrongUsage.code
    assert more[0] in err
    assert not (tmp_path / "enamels.duckdb").exists()
