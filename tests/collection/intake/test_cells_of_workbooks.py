"""What a cell of a workbook becomes that holds an error, a formula without a value or no date; hidden sheets are read and said."""

import zipfile

import openpyxl
import pytest
import xlsxwriter


def changed(source, target, old: bytes, new: bytes) -> None:
    with zipfile.ZipFile(source) as book, zipfile.ZipFile(target, "w") as out:
        for name in book.namelist():
            data = book.read(name)
            if name == "xl/worksheets/sheet1.xml":
                assert old in data
                data = data.replace(old, new)
            out.writestr(name, data)


ERRORS = ["#REF!", "#DIV/0!", "#N/A", "#NAME?", "#VALUE!", "#NULL!", "#NUM!", "#SPILL!", "#CALC!", "#GETTING_DATA"]


def test_an_error_cell_is_said_and_its_row_is_taken_where_the_cell_may_be_empty(tmp_path, judge):
    book = openpyxl.Workbook()
    book.active.append(["object_id", "title", "height_mm"])
    for number, error in enumerate(ERRORS, start=2):
        book.active.append([f"V.{number}", "Plaque", "MARK"])
        book.active[f"C{number}"].value, book.active[f"C{number}"].data_type = error, "e"
    book.active.append(["V.0", "Bowl", 12])
    book.save(tmp_path / "e.xlsx")

    judged = judge(tmp_path / "e.xlsx")

    heights = dict(judged.rows("object").select("object_id", "height_mm").iter_rows())
    assert heights == {f"V.{number}": None for number in range(2, len(ERRORS) + 2)} | {"V.0": 12.0}
    assert judged.answer.problems.select("source_row", "rule", "column", "value", "level").sort(
        "source_row"
    ).rows() == [(number, "error_cell", "height_mm", error, "ask") for number, error in enumerate(ERRORS, start=2)]


@pytest.mark.parametrize(
    "cell",
    [
        b'<c r="B2" s="1"><f>1+1</f><v></v></c>',
        b'<c s="1" r="B2"><f>1+1</f></c>',
        b"<c s='1' r='B2'><f>1+1</f></c>",
        b'<c r="B2"><f t="normal">1+1</f><v/></c>',
    ],
)
def test_a_formula_without_a_value_is_seen_whatever_the_order_of_attributes(cell, tmp_path, answer_to):
    with xlsxwriter.Workbook(tmp_path / "a.xlsx") as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["object_id", "height_mm"])
        sheet.write(1, 0, "V.1")
        sheet.write_number(1, 1, 7)
    changed(tmp_path / "a.xlsx", tmp_path / "b.xlsx", b'<c r="B2"><v>7</v></c>', cell)

    result = answer_to(tmp_path / "b.xlsx")

    assert result.problems.select("source_row", "rule", "column").rows() == [(2, "formula_without_value", "height_mm")]


def test_a_number_that_no_date_can_be_is_said(tmp_path, answer_to):
    with xlsxwriter.Workbook(tmp_path / "a.xlsx") as book:
        sheet, day = book.add_worksheet(), book.add_format({"num_format": "yyyy-mm-dd"})
        sheet.write_row(0, 0, ["object_id", "condition_remark_on", "condition_remark"])
        sheet.write_row(1, 0, ["V.1", None, "chipped"])
        sheet.write_number(1, 1, 99_999_999, day)

    result = answer_to(tmp_path / "a.xlsx")

    assert result.problems.select("column", "level").rows() == [("condition_remark_on", "ask")]


def test_a_hidden_sheet_is_read_and_said(tmp_path, answer_to):
    with xlsxwriter.Workbook(tmp_path / "a.xlsx") as book:
        book.add_worksheet("seen").write_column(0, 0, ["object_id", "V.1"])
        hidden = book.add_worksheet("unseen")
        hidden.write_column(0, 0, ["object_id", "V.2"])
        hidden.hide()

    result = answer_to(tmp_path / "a.xlsx")

    hidden = result.problems.filter(rule="sheet_hidden")
    assert hidden.select("sheet", "rule", "level").rows() == [("unseen", "sheet_hidden", "note")]
