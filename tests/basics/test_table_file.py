"""Tables from a desk: separators, decimal signs, encodings and workbooks are read, or doubt is named."""

import openpyxl
import pytest

from loopdrift.basics import table_file
from loopdrift.basics.errors import InvalidFile

ROWS = [["time", "power °F"], ["1", "1234.5"], ["2", "-0.25"]]
NUMBERS = [[1.0, 1234.5], [2.0, -0.25]]
GERMAN = "time;power °F\n1;1.234,5\n2;-0,25\n"
WRITTEN = {
    "commas": ("time,power °F\n1,1234.5\n2,-0.25\n", "utf-8"),
    "a byte-order mark": ("time,power °F\n1,1234.5\n2,-0.25\n", "utf-8-sig"),
    "semicolons and decimal commas": (GERMAN, "utf-8"),
    "Latin-1": (GERMAN, "latin-1"),
    "UTF-16": (GERMAN, "utf-16"),
    "tabs": ("time\tpower °F\n1\t1234.5\n2\t-0.25\n", "utf-8"),
    "tabs and thousands": ('time\tpower °F\n1\t"1,234.5"\n2\t-0.25\n', "utf-8"),
    "quoted thousands": ('time,power °F\n1,"1,234.5"\n2,\u22120.25\n', "utf-8"),
    "lines of another system": ("time;power °F\r\n1;1 234,5\r\n2;-0,25\r\n", "utf-8"),
    "decimal commas that could be thousands elsewhere": (
        "time;power °F\n1,000;1.234,5\n2,000;-0,25\n",
        "utf-8",
    ),
}


@pytest.mark.parametrize(("text", "encoding"), WRITTEN.values(), ids=WRITTEN)
def test_every_way_of_writing_gives_the_same_numbers(tmp_path, text, encoding):
    path = tmp_path / "table.csv"
    path.write_bytes(text.encode(encoding))
    (sheet,) = table_file.sheets(path)
    assert sheet.rows[0].cells == ("time", "power °F")
    assert [
        [table_file.number(cell, sheet.decimal) for cell in row.cells] for row in sheet.rows[1:]
    ] == NUMBERS
    assert [row.line for row in sheet.rows] == [1, 2, 3]


def test_lines_are_those_of_an_editor(tmp_path):
    path = tmp_path / "table.csv"
    path.write_text('# a note, with a comma\n\na,b\n\n"1\n2",3\n4,5\n')
    (sheet,) = table_file.sheets(path)
    assert [row.line for row in sheet.rows] == [1, 3, 5, 7]
    assert sheet.rows[0].cells == ("# a note, with a comma",)


def test_visible_sheets_of_a_workbook(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["time", "power °F"])
    book.active.append([1, 1234.5])
    book.active["A4"], book.active["B4"] = 2, "-0,25"
    book.create_sheet("notes").sheet_state = "hidden"
    book.save(tmp_path / "book.xlsx")
    (sheet,) = table_file.sheets(tmp_path / "book.xlsx")
    assert sheet.name == "Sheet"
    assert [row.line for row in sheet.rows] == [1, 2, 4]
    assert [
        [table_file.number(cell, sheet.decimal) for cell in row.cells] for row in sheet.rows[1:]
    ] == NUMBERS
    assert "book.xlsx, sheet 'Sheet', line 4" in str(sheet.fault(4, "", "", ""))


SPOILT = {
    "binary": (b"a,b\n\x00\x01,2\n", 2, "must be UTF-8 text, Latin-1 text, or an Excel workbook"),
    "commas of thousands or of decimals": (b"a;b\n1;36,500\n", 2, "can be 36500 or 36.500"),
    "both signs before decimals": (b"a;b\n1.5;3\n1,5;3\n", 3, "must write decimals as '1.5' in line 2 does"),
    "half a workbook": (b"PK\x03\x04 and no more", 1, "must be an Excel workbook that opens in Excel"),
    "an old workbook": (b"\xd0\xcf\x11\xe0", 1, "must be saved as .xlsx or as CSV"),
    "a cell without end": (b'a,b\n"' + b"1" * 200_000 + b'",2\n', 2, "must be cells parted by ','"),
}


@pytest.mark.parametrize(("content", "line", "allowed"), SPOILT.values(), ids=SPOILT)
def test_doubt_is_refused_with_its_line(tmp_path, content, line, allowed):
    path = tmp_path / "table.csv"
    path.write_bytes(content)
    with pytest.raises(InvalidFile) as caught:
        table_file.sheets(path)
    assert caught.value.line == line
    assert allowed in str(caught.value)


@pytest.mark.parametrize("cell", ["", "-", "n/a", "1e", "0x1", "1_000", "nan", "12 %", "1,2,3"])
def test_what_is_no_number(cell):
    assert table_file.number(cell, ".") is None
    assert table_file.number(cell, ",") is None


def test_workbooks_need_an_extra(tmp_path, monkeypatch):
    openpyxl.Workbook().save(tmp_path / "book.xlsx")
    monkeypatch.setitem(__import__("sys").modules, "openpyxl", None)
    with pytest.raises(
        table_file.ExcelNeeded, match=r"pip install 'loopdrift\[excel\]', or save the sheet as CSV"
    ):
        table_file.sheets(tmp_path / "book.xlsx")
