"""Spreadsheets of roofs: hostile ones are refused clearly, quickly and in bounded memory."""

import io
import tracemalloc
import zipfile
from contextlib import suppress

import openpyxl
import pytest
import xlsxwriter
from processor_time import within

from api.portfolio.reading.any_table import open_table
from api.portfolio.reading.fault_kinds import TableError, TooManyRows
from api.portfolio.reading.spreadsheet_limits import MAX_ROWS
from api.portfolio.reading.spreadsheets import MAX_COLUMNS, SHEET

HEADER = ["name", "climate", "roof_area_m2", "roof_type", "covering", "age"]
ROOF = ["007", "tulsa-ok", 1000, "steel-deck-perlite", "epdm-black", 12.5]
SHEET_PART = "xl/worksheets/sheet1.xml"
OPEN = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
CLOSE = b"</sheetData></worksheet>"


def book(*rows, title="Sheet", extra=()):
    workbook = openpyxl.Workbook()
    workbook.active.title = title
    for row in rows:
        workbook.active.append(row)
    for name in extra:
        workbook.create_sheet(name, 0)
    file = io.BytesIO()
    workbook.save(file)
    return file.getvalue()


def tampered(part, content, listed=None):
    """A sound spreadsheet in which one part is another, its list of contents changed."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(book(HEADER, ROOF))) as sound,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive,
    ):
        for info in sound.infolist():
            held = content if info.filename == part else sound.read(info.filename)
            if info.filename == "[Content_Types].xml" and listed:
                held = listed(held)
            archive.writestr(info, held)
        if part not in sound.namelist():
            archive.writestr(part, content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def sheet_of(row, count):
    return OPEN + b"".join(row % {b"n": number} for number in range(1, count + 1)) + CLOSE


def refusal(content):
    with pytest.raises(TableError) as caught:
        for _ in open_table(io.BytesIO(content)).runs():
            pass
    return caught.value


def read(content):
    (run,) = open_table(io.BytesIO(content)).runs()
    return run


def test_numbers_texts_and_leading_zeros_are_what_the_cells_hold():
    run = read(book(HEADER, ROOF, [None] * 6, [8, *ROOF[1:]]))
    assert run.frame["name"].tolist() == ["007", "8"]
    assert run.frame["age_y"].tolist() == [12.5, 12.5]


def test_the_sheet_named_for_roofs_is_taken_before_the_first():
    run = read(book(HEADER, ROOF, title=SHEET, extra=["Notes"]))
    assert len(run.frame) == 1


def test_a_formula_without_a_stored_value_is_an_empty_cell():
    run = read(book(HEADER, [*ROOF[:2], "=2*500", *ROOF[3:]]))
    ((_, (fault,)),) = run.bad
    assert (fault.letter, fault.line) == ("C", 2)
    assert "every building needs it" in fault.rule


def test_a_short_row_has_empty_cells_at_its_end():
    run = read(book(HEADER, ROOF[:5]))
    ((_, (fault,)),) = run.bad
    assert fault.column == "age"


def test_a_bomb_is_refused_before_it_is_unpacked():
    content = tampered(SHEET_PART, b"0" * (200 << 20))
    assert len(content) < 1 << 20
    with within(1):
        tracemalloc.start()
        error = refusal(content)
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
    assert (error.status, peak < 8 << 20) == (413, True)
    assert "unpacks to at most 128 MiB" in str(error)


@pytest.mark.thorough
def test_a_sheet_of_every_row_there_can_be_is_refused_quickly():
    content = tampered(
        SHEET_PART, sheet_of(b'<row r="%(n)d"><c r="A%(n)d"><v>1</v></c></row>', 1_048_576)
    )
    with within(5):
        error = refusal(content)
    assert isinstance(error, TooManyRows)
    assert f"at most {MAX_ROWS:,} rows" in str(error)


@pytest.mark.thorough
def test_rows_are_counted_whatever_their_prefix_and_wherever_a_block_ends():
    spaced = OPEN.replace(b"<worksheet xmlns", b"<x:worksheet xmlns:x")
    spaced = spaced.replace(b"<sheetData", b"<x:sheetData")
    row = b'<x:row r="%d"><x:c r="A%d"><x:v>1</x:v></x:c></x:row>'
    count = 1_048_576
    rows = b"".join(row % (number, number) for number in range(1, count + 1))
    content = tampered(SHEET_PART, spaced + rows + b"</x:sheetData></x:worksheet>")
    with within(5):
        error = refusal(content)
    assert f"this sheet holds {count:,}" in str(error)


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["xl/words.xml", "xl/words.bin", "xl/worksheets/words.xml"])
def test_texts_of_cells_are_bounded_under_any_name(name):
    texts = b"<sst>" + b"<si><t>roof</t></si>" * (33 * 2**20 // 20) + b"</sst>"
    kind = b"application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
    entry = b'<Override PartName="/%s" ContentType="%s"/></Types>'
    both = (entry % (name.encode(), kind)).replace(b"</Types>", b"") + entry % (
        name.encode(), kind.replace(b"sharedStrings", b"worksheet"),
    )  # fmt: skip
    for listed in (entry % (name.encode(), kind), both):
        content = tampered(name, texts, lambda held, to=listed: held.replace(b"</Types>", to))
        with within(5):
            error = refusal(content)
        assert (error.status, "at most 32 MiB of text" in str(error)) == (413, True)


DECLARED = '<?xml version="1.0"{}?><!DOCTYPE a [<!ENTITY b "bbbb">]>' + (OPEN + CLOSE).decode()


@pytest.mark.parametrize(
    "content",
    [
        DECLARED.format(' encoding="UTF-16"').encode("utf-16"),
        DECLARED.format("").encode("utf-16-le"),
        DECLARED.format("").encode("utf-16-be"),
        ("\ufeff" + DECLARED.format("")).encode("utf-16-be"),
        ("\ufeff" + DECLARED.format("")).encode(),
        DECLARED.format(' encoding="iso-8859-1"').encode(),
        DECLARED.format(' encoding="cp1252"').replace("<!DOCTYPE", "<!-- -->").encode(),
        # the declaration cut by the end of a block
        b"<!--" + b" " * (2**20 - 12) + b"--><!DOCTYPE a>" + OPEN + CLOSE,
    ],
)
def test_declarations_are_found_in_any_encoding_and_at_any_place(content):
    error = refusal(tampered(SHEET_PART, content))
    assert error.status == 415
    assert "in UTF-8 without document type declarations" in str(error)


def test_a_sheet_of_another_name_is_looked_through_too():
    hostile = b"<!DOCTYPE a>" + OPEN + CLOSE
    assert refusal(tampered("xl/sheet.bin", hostile)).status == 415


def test_a_picture_in_a_workbook_is_no_fault():
    picture = b"\x89PNG\r\n\x1a\n\0\0<!DOCTYPE"
    content = tampered("xl/media/image1.png", picture)
    assert len(read(content).frame) == 1


def test_a_sheet_whose_last_row_is_far_away_is_refused():
    far = b'<row r="1"><c r="A1" t="inlineStr"><is><t>name</t></is></c></row><row r="1048576"/>'
    error = refusal(tampered(SHEET_PART, OPEN + far + CLOSE))
    assert error.status in (413, 422)


def test_a_sheet_as_wide_as_there_can_be_is_refused():
    wide = sheet_of(b'<row r="%(n)d"><c r="XFD%(n)d"><v>1</v></c></row>', 50)
    error = refusal(tampered(SHEET_PART, wide))
    assert f"at most {MAX_COLUMNS} columns" in str(error)


@pytest.mark.parametrize(
    ("part", "content"),
    [
        (SHEET_PART, b'<!DOCTYPE a [<!ENTITY b "bbbb">]>' + OPEN + CLOSE),
        ("xl/workbook.xml", b"<!DOCTYPE a SYSTEM 'file:///etc/passwd'><workbook/>"),
        (SHEET_PART, OPEN + b"<row r="),
        ("xl/workbook.xml", b""),
        (SHEET_PART, OPEN + b'<row r="x"><c r="??"><v>1</v></c></row>' + CLOSE),
    ],
)
def test_declarations_and_damage_are_refused(part, content):
    assert refusal(tampered(part, content)).status == (415 if b"<!DOCTYPE" in content else 422)


@pytest.mark.parametrize("cut", [3, 4, 40, 400, -20])
def test_a_file_that_was_cut_is_refused(cut):
    assert refusal(book(HEADER, ROOF)[:cut]).status in (415, 422)


def test_an_archive_that_is_no_spreadsheet_is_refused():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("notes.txt", "hello")
    assert refusal(out.getvalue()).status == 415


def test_a_locked_archive_is_refused():
    content = bytearray(book(HEADER, ROOF))
    for signature, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = content.find(signature)
        content[at + offset] |= 1  # the flag of an encrypted part
    assert refusal(bytes(content)).status == 422


def timed_refusal(part, content, most_s):
    """What is said of a hostile part, within seconds of processor time fixed before."""
    held = tampered(part, content)
    with within(most_s):
        try:
            return refusal(held)
        except pytest.fail.Exception:
            return None  # read as a table: no harm if it is quick


ROWS = b'<row r="1"><c r="A1" t="inlineStr"><is><t>name</t></is></c></row>'


@pytest.mark.thorough
@pytest.mark.parametrize(
    "content",
    [
        OPEN + ROWS + b"<!--" + b"x" * (20 << 20) + b"-->" + CLOSE,
        OPEN + ROWS + b"<a>" * 2_000_000 + b"</a>" * 2_000_000 + CLOSE,
        OPEN + ROWS + b"<c " + b" ".join(b'a%d="1"' % n for n in range(500_000)) + b"/>" + CLOSE,
        OPEN + b'<row r="1"><c a=">" ' + b'b="<" ' * 300_000 + b"/></row>" + CLOSE,
        OPEN + b'<row r="1"><c r="A1"/></row><row r="90000"><c r="GR90000"/></row>' + CLOSE,
        OPEN + b'<row r="1">' + b"<c><v>1</v></c>" * 100_000 + b"</row>" + CLOSE,
        OPEN + b"<" * (20 << 20) + CLOSE,
    ],
    ids=["comment", "nested", "attributes", "quoted", "far apart", "placeless", "brackets"],
)
def test_a_hostile_sheet_holds_nobody_for_long(content):
    """Each took up to minutes, or room out of bounds, before."""
    timed_refusal(SHEET_PART, content, 6)


@pytest.mark.parametrize("seed", range(20))
def test_a_damaged_byte_is_refused_or_harmless(seed):
    content = bytearray(book(HEADER, *[ROOF] * 40))
    at = int(len(content) * (seed + 0.5) / 20)
    content[at] ^= 0x5A
    with suppress(TableError):  # any other error is a fault of the service
        open_table(io.BytesIO(bytes(content)))


def formatted(rows, formats):
    """A workbook by another writer, some of whose cells have number formats."""
    file = io.BytesIO()
    with xlsxwriter.Workbook(file) as made:
        made.add_worksheet("Cover").write(0, 0, "Our roofs")
        sheet = made.add_worksheet("Buildings")
        for number, row in enumerate(rows):
            for column, cell in enumerate(row):
                style = (
                    made.add_format({"num_format": formats[column]}) if column in formats else None
                )
                sheet.write(number, column, cell, style)
        sheet.set_row(2, None, None, {"hidden": True})
    return file.getvalue()


@pytest.mark.parametrize("style", ["0%", "0.00%", '0.0"%"%'])
@pytest.mark.parametrize("title", ["wet_fraction", "wet_fraction (%)"])
def test_a_cell_shown_as_a_percentage_is_one_whatever_its_column_says(title, style):
    rows = [[*HEADER, title], [*ROOF, 0.1], ["B", *ROOF[1:], 0.125]]
    content = formatted(rows, {6: style})
    assert read(content).frame["wet_fraction"].tolist() == [0.1, 0.125]


def test_a_number_that_only_quotes_a_percent_sign_is_as_stored():
    rows = [[*HEADER, "wet_fraction (%)"], [*ROOF, 10], ["B", *ROOF[1:], 0.5]]
    assert read(formatted(rows, {6: '0"%"'})).frame["wet_fraction"].tolist() == [0.1, 0.005]


def test_the_sheet_read_is_named_with_the_others_and_hidden_rows_are_said():
    content = formatted([HEADER, ROOF, ["B", *ROOF[1:]]], {})
    told = open_table(io.BytesIO(content)).table.read_as
    assert "sheet 'Buildings' (not read: 'Cover')" in told
    assert "1 hidden row is read too" in told
