"""Reports of a list: a file of its own for each number, never one of an earlier run, never for a loan without a way."""

import unicodedata
from dataclasses import replace
from datetime import date
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from collection.documents.batch import ReportRequest, file_name, reports
from schemas.errors import OutputRefused

REQUEST = ReportRequest("outgoing", date(2026, 9, 30), Path("out"), Path("photographs"))
LONGEST_NAME_BYTES = 255  # of one name on ext4, APFS and NTFS, from memory


def same_on_disk(name):
    """What a disk that folds case and composes letters, as those of Windows and macOS do, takes for one name."""
    return unicodedata.normalize("NFC", name).casefold()


def test_numbers_that_look_the_same_as_file_names_get_files_of_their_own():
    numbers = ["V 1", "V_1", "V/1", "v.1", "V.1", "V.1.", "V:1", "é1", "e\u03011", "CON", "con", "..", "", "-"]
    names = {same_on_disk(file_name(number, REQUEST)) for number in numbers}

    assert len(names) == len(numbers)


@given(st.text(max_size=400), st.text(max_size=400))
def test_a_name_is_short_has_no_folder_in_it_and_is_that_of_one_number(one, other):
    name, another = file_name(one, REQUEST), file_name(other, REQUEST)

    assert len(name.encode()) <= LONGEST_NAME_BYTES
    assert Path(name).name == name
    assert one == other or same_on_disk(name) != same_on_disk(another)


def test_a_report_of_an_earlier_run_stays_until_replacing_it_is_asked_for(triage, tmp_path):
    asked = replace(REQUEST, out=tmp_path, photographs=tmp_path)

    (first,) = reports(triage, ["V.1"], asked)
    (again,) = reports(triage, ["V.1"], asked)
    (replaced,) = reports(triage, ["V.1"], replace(asked, replace=True))

    assert first.error is None
    assert isinstance(again.error, OutputRefused)
    assert replaced.error is None


def test_a_file_that_is_no_report_is_not_replaced(triage, tmp_path):
    asked = replace(REQUEST, out=tmp_path, photographs=tmp_path, replace=True)
    stranger = tmp_path / file_name("V.1", asked)
    stranger.write_bytes(b"letters of 1912")

    (result,) = reports(triage, ["V.1"], asked)

    assert isinstance(result.error, OutputRefused)
    assert stranger.read_bytes() == b"letters of 1912"
