"""Requests made to hold the service up: each is answered in bounded time and leaves bounded memory.

The bounds were fixed before the first run: 5 s of processor time, 100 MB kept afterwards, and of
the statuses of the service's own failures only 503 (busy, out of time) and 507 (no room).
"""

import errno
import gzip
import io
import json
import zipfile

import pytest
from processor_time import within

from api import limits
from web import create_app

MOST_CPU_S = 5.0
MOST_KEPT = 100 << 20
MIB = 1 << 20
JSON, CSV = "application/json", "text/csv"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
A, C, Q = "/v1/assemblies", "/v1/comparisons", "/v1/quantities"
P, PROPOSALS = "/v1/portfolios", "/v1/proposals"
HEADER = "name,climate,roof_area_ft2,roof_type,covering,age"
M, OWNERS = P + "?show=mapping", "Roof,City,RoofSF,Age,Leaks,Covering,Deck"
ROW = "Roof {},tulsa-ok,20000,steel-deck-perlite,epdm-black,3"
LAYERS = [{"material": "steel-deck"}]
CASE = {"units": "ip", "site": {"climate": "tulsa-ok"}, "roof": {"area": 24000, "layers": LAYERS}}
OPEN = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
CLOSE = b"</sheetData></worksheet>"


def dumped(document):
    return json.dumps(document).encode()


def assemblies(*layers, count=1, **more):
    one = {"layers": list(layers)}
    return dumped({"units": "si", "assemblies": [one] * count, **more})


def case(**changed):
    return dumped(CASE | changed)


def rows(*members, **more):
    return dumped({"units": "ip", "rows": list(members), **more})


def table(*lines, header=HEADER):
    return "\n".join([header, *lines]).encode()


def lines(count, row=ROW):
    return (row.format(number) for number in range(count))


def wide(title, count):
    """A table of 900 columns, no two cells of which are alike."""
    return table(
        *(",".join(f"Town{row} {n}" for n in range(900)) for row in range(count)),
        header=",".join(f"{title} {n}" for n in range(900)),
    )


def names(count, value=0):
    return {f"name{number}": value for number in range(count)}


def workbook(sheet, **parts):
    """A spreadsheet of one sheet, with other parts beside it or in place of its own."""
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    base = "http://schemas.openxmlformats.org"
    held = {
        "[Content_Types].xml": f'<Types xmlns="{base}/package/2006/content-types">'
        f'<Override PartName="/xl/workbook.xml" ContentType="{kind}.sheet.main+xml"/>'
        f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{kind}.worksheet+xml"/>'
        "</Types>",
        "_rels/.rels": f'<Relationships xmlns="{base}/package/2006/relationships"><Relationship '
        f'Id="a" Type="{base}/officeDocument/2006/relationships/officeDocument" '
        'Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{base}/spreadsheetml/2006/main" xmlns:r="{base}'
        '/officeDocument/2006/relationships"><sheets><sheet name="Roofs" sheetId="1" r:id="s"/>'
        "</sheets></workbook>",
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{base}/package/2006/relationships">'
        f'<Relationship Id="s" Type="{base}/officeDocument/2006/relationships/worksheet" '
        'Target="worksheets/sheet1.xml"/></Relationships>',
        "xl/worksheets/sheet1.xml": sheet,
        **parts,
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in held.items():
            archive.writestr(name, content)
    return out.getvalue()


def sheet(inner):
    return OPEN + inner + CLOSE


def cells(count, cell=b'<c r="A%d" t="inlineStr"><is><t>x</t></is></c>'):
    return b"".join(b'<row r="%d">' % n + cell % n + b"</row>" for n in range(1, count + 1))


def flipped(content, at):
    broken = bytearray(content)
    broken[int(at * len(broken))] ^= 0x5A
    return bytes(broken)


def form(file=b"", **parts):
    """A form in several parts with a boundary of its own."""
    out = [
        b'--x\r\nContent-Disposition: form-data; name="%b"\r\n\r\n%b\r\n'
        % (name.encode(), value if isinstance(value, bytes) else value.encode())
        for name, value in parts.items()
    ]
    head = b'--x\r\nContent-Disposition: form-data; name="file"; filename="a.csv"\r\n\r\n'
    return b"".join([*out, head, file, b"\r\n--x--\r\n"])


def many_words(count):
    """A mapping of the owner's table with words and places that the table does not have."""
    targets = ("name", "town", "roof_area", "age", "leaks", "covering", "roof_type")
    columns = dict(zip(OWNERS.split(","), targets, strict=True))
    words = {f"word {number}": "epdm-black" for number in range(count)}
    places = {f"place {number}": "tulsa-ok" for number in range(count)}
    kept = {"year": 2026, "columns": columns, "values": {"covering": words}, "places": places}
    return json.dumps(kept)


FORM = "multipart/form-data; boundary=x"
WEATHER = "LOCATION,Here,OK,USA,TMY3,723560,36.2,-95.9,-6.0,206.0\n" + "x,\n" * 300_000
TEXT = "x" * (4 * MIB)

# Name -> address, media type, and the body or what makes it, so that none is made before its test.
ATTACKS = {
    # found by another hand, which held a worker for up to minutes or took gigabytes
    "comment of 100 MB in a sheet": (
        P,
        XLSX,
        lambda: workbook(sheet(b"<!--" + b"x" * (100 * MIB) + b"-->")),
    ),
    "two million nested tags": (P, XLSX, lambda: workbook(sheet(b"<a>" * 2_000_000))),
    "500,000 attributes": (
        P,
        XLSX,
        lambda: workbook(sheet(b"<c " + b" ".join(b'a%d="1"' % n for n in range(500_000)) + b"/>")),
    ),
    "5,000 by 40 unknown materials": (
        A,
        JSON,
        lambda: assemblies(*[{"material": "polyiso"}] * 40, count=5000)[: 5 * MIB],
    ),
    "400,000 unknown names": (A, JSON, lambda: dumped({"units": "si", **names(300_000)})),
    "4 MB of NaN": (A, JSON, lambda: b"[" + b"NaN," * MIB + b"1]"),
    "three million empty rows": (P, JSON, lambda: b'{"rows":[' + b"{}," * 3_000_000 + b"{}]}"),
    "a row of a million names": (P, JSON, lambda: rows(names(1_000_000))),
    "a header cell of 200,000 letters": (P, CSV, lambda: table(header="x" * 200_000)),
    "30,000 columns": (P, CSV, lambda: table(header=",".join("abc" for _ in range(30_000)))),
    "twenty alternatives of one name": (
        C,
        JSON,
        lambda: case(alternatives=[{"kind": "metal-retrofit", "name": "A"}] * 20),
    ),
    "a damaged workbook, early": (P, XLSX, lambda: flipped(workbook(sheet(cells(5000))), 0.1)),
    "a damaged workbook, in the middle": (
        P,
        XLSX,
        lambda: flipped(workbook(sheet(cells(5000))), 0.5),
    ),
    # JSON
    "5 MB of brackets": (A, JSON, lambda: b"[" * (5 * MIB - 1)),
    "5 MB of opened objects": (A, JSON, lambda: b'{"a":' * (MIB - 1)),
    "5 MB of one text": (A, JSON, lambda: dumped({"units": "x" * (5 * MIB - 100)})),
    "5 MB of digits": (A, JSON, lambda: b'{"units":' + b"9" * (5 * MIB - 100) + b"}"),
    "5 MB of decimals": (A, JSON, lambda: b"[" + b"0." + b"3" * (4 * MIB) + b"]"),
    "a million exponents": (A, JSON, lambda: b"[" + b"1e999," * 700_000 + b"1]"),
    "a million equal names": (A, JSON, lambda: b"{" + b'"a":1,' * 700_000 + b'"a":1}'),
    "300,000 names twice": (
        A,
        JSON,
        lambda: b"{" + b",".join(b'"n%d":1,"n%d":1' % (n, n) for n in range(150_000)) + b"}",
    ),
    "escaped surrogates": (A, JSON, lambda: b'["' + b"\\ud800" * 700_000 + b'"]'),
    "a million texts with NUL": (A, JSON, lambda: b"[" + b'"\\u0000",' * 500_000 + b"1]"),
    "names that are spelled nearly right": (
        A,
        JSON,
        lambda: dumped(
            {"units": "si", **names(100_000)} | {f"assembly{n}": 1 for n in range(100_000)}
        ),
    ),
    "5,000 good assemblies of many layers": (
        A,
        JSON,
        lambda: assemblies(*[{"resistance": 1}] * 50, count=5000),
    ),
    "5,000 good assemblies of one layer": (
        A,
        JSON,
        lambda: assemblies({"resistance": 1}, count=5000),
    ),
    "assemblies that are all null": (
        A,
        JSON,
        lambda: dumped({"units": "si", "assemblies": [None] * 5000}),
    ),
    "a million assemblies": (
        A,
        JSON,
        lambda: dumped({"units": "si", "assemblies": [0] * 1_000_000}),
    ),
    "layers of a million numbers": (
        A,
        JSON,
        lambda: dumped({"units": "si", "assemblies": [{"layers": [1] * 1_000_000}]}),
    ),
    "a quantity of 4 MB": (A, JSON, lambda: assemblies({"resistance": "1" * (4 * MIB)})),
    "a quantity of many signs": (A, JSON, lambda: assemblies({"resistance": "-" * MIB + "1 m"})),
    "a material of 4 MB": (A, JSON, lambda: assemblies({"material": TEXT})),
    "a kind of 4 MB": (C, JSON, lambda: case(base_case={"kind": TEXT})),
    "a name of 4 MB": (C, JSON, lambda: case(name=TEXT)),
    "300,000 origins": (
        C,
        JSON,
        lambda: case(origins={f"/roof/{n}": "demo" for n in range(200_000)}),
    ),
    "an origin of a million steps": (C, JSON, lambda: case(origins={"/a" * MIB: "demo"})),
    "an origin of a million indexes": (C, JSON, lambda: case(origins={"/0" * MIB: "demo"})),
    "a weather file of nonsense": (
        C,
        JSON,
        lambda: case(site={"climate_zone": "3A", "weather": {"name": "a.epw", "text": WEATHER}}),
    ),
    "a weather file of one long line": (
        C,
        JSON,
        lambda: case(site={"climate_zone": "3A", "weather": {"name": "a.epw", "text": TEXT}}),
    ),
    "a weather file of commas": (
        C,
        JSON,
        lambda: case(site={"climate_zone": "3A", "weather": {"name": "a", "text": "," * 4 * MIB}}),
    ),
    "a place of 4 MB": (C, JSON, lambda: case(site={"place": TEXT})),
    "a place of spaces": (C, JSON, lambda: case(site={"place": " " * 190 + "x"})),
    "a thousand alternatives": (
        C,
        JSON,
        lambda: case(alternatives=[{"kind": "membrane", "name": f"{n}"} for n in range(1000)]),
    ),
    "a million draws": (C, JSON, lambda: case(uncertainty={"draws": 1_000_000})),
    "a logo of 4 MB": (PROPOSALS, JSON, lambda: case(proposal={"logo": "A" * (4 * MIB)})),
    "a framing of a thousand rectangles": (
        Q,
        JSON,
        lambda: dumped(
            {"units": "si", "framing": {"rectangles": [{"length": 9, "width": 9}] * 1000}}
        ),
    ),
    "a framing of unknown names": (
        Q,
        JSON,
        lambda: dumped({"units": "si", "framing": names(200_000)}),
    ),
    # bodies as gzip, and broken ones
    "a bomb of gzip": (A, "gzip", lambda: gzip.compress(b" " * (1 << 30))),
    "gzip of NaN": (A, "gzip", lambda: gzip.compress(b"[" + b"NaN," * MIB + b"1]")),
    "gzip in gzip": (A, "gzip", lambda: gzip.compress(gzip.compress(b" " * MIB))),
    "two gzips": (A, "gzip", lambda: gzip.compress(b"{}") + gzip.compress(b"{}")),
    "gzip cut short": (A, "gzip", lambda: gzip.compress(b" " * MIB)[:-9]),
    # tables
    "200,001 rows": (P, CSV, lambda: table(*lines(200_001))),
    "200,000 rows that are all bad": (P, CSV, lambda: table(*lines(200_000, "x,y,z,a,b,c"))),
    "200,000 rows that differ in every fault": (
        P,
        CSV,
        lambda: table(*lines(200_000, "R{0},c{0},a{0},t{0},v{0},g{0}")),
    ),
    "100,000 different places": (
        P + "?show=mapping",
        CSV,
        lambda: table(*lines(100_000, "R{0},Town {0}"), header="Roof,City"),
    ),
    "60 MB of one cell": (P, CSV, lambda: table('"' + "x" * (60 * MIB))),
    "60 MB of quotes": (P, CSV, lambda: table('"' * (60 * MIB))),
    "60 MB of commas": (P, CSV, lambda: table("," * (60 * MIB))),
    "60 MB of line ends": (P, CSV, lambda: table("\n" * (60 * MIB))),
    "60 MB of carriage returns": (P, CSV, lambda: table("\r" * (60 * MIB))),
    "40 MB of UTF-16": (P, CSV, lambda: table("x" * (20 * MIB)).decode().encode("utf-16")),
    "bytes of no text": (P, CSV, lambda: bytes(range(256)) * 4096),
    "a header of known titles a thousand times": (
        P,
        CSV,
        lambda: table(header=",".join([HEADER] * 1000)),
    ),
    "a thousand titles and a mapping asked": (
        P + "?show=mapping",
        CSV,
        lambda: table(
            *[",".join(["roof x"] * 900)] * 3000, header=",".join(f"roof {n}" for n in range(900))
        ),
    ),
    "900 columns of other cells each and a mapping asked": (M, CSV, lambda: wide("roof", 1500)),
    "900 columns of towns and a mapping asked": (M, CSV, lambda: wide("city", 600)),
    "a title of 75,000 letters and a mapping asked": (
        M,
        CSV,
        lambda: table(*["x,y"] * 100, header="roof_" * 15_000 + ",City"),
    ),
    "one word 20,000 times as a title and a mapping asked": (
        M,
        CSV,
        lambda: table(*["x,y"] * 100, header="roof" * 20_000 + ",City"),
    ),
    "cells of 9,000 digits and a mapping asked": (
        M,
        CSV,
        lambda: table(*lines(1000, "R{0},T" + f",{'1' * 9000}x{{0}}" * 5), header=OWNERS),
    ),
    "cells of 9,000 letters and a mapping asked": (
        M,
        CSV,
        lambda: table(
            *lines(1000, "R{0},T" + "a " * 4000 + ("," + "a'1 (e) " * 1000 + "x{0}") * 5),
            header=OWNERS,
        ),
    ),
    "200,000 rows of other words each and a mapping asked": (
        M,
        CSV,
        lambda: table(*lines(200_000, "R{0},Tulsa OK,{0}x,{0}y,{0}z,c{0},d{0}"), header=OWNERS),
    ),
    "100,000 rows of numbers and a mapping asked": (
        M,
        CSV,
        lambda: table(
            *lines(100_000, "R{0},Tulsa OK" + "".join(f",{{0}}.{n}" for n in range(12))),
            header="Roof,City,RoofSF,Age,Leaks,stories,insulation,rtu,repairs,eer,gas,electricity,"
            "demand,height",
        ),
    ),
    "numbers of many commas": (
        P,
        CSV,
        lambda: table(*lines(50_000, 'R{0},tulsa-ok,"1' + ",000" * 90 + '",a,b,3')),
    ),
    "numbers of 10,000 digits": (P, CSV, lambda: table(*[f"R,tulsa-ok,{'9' * 9999},a,b,3"] * 300)),
    "100,000 rows in JSON": (
        P,
        JSON,
        lambda: rows(*[{"name": f"R{n}", "climate": "x"} for n in range(100_000)]),
    ),
    "60,000 good rows in JSON that are only checked": (
        P + "?show=check",
        JSON,
        lambda: rows(
            *[
                {
                    "name": f"R{n}",
                    "climate": "tulsa-ok",
                    "roof_area": 20000,
                    "age": 3,
                    "roof_type": "steel-deck-perlite",
                    "covering": "epdm-black",
                }
                for n in range(60_000)
            ]
        ),
    ),
    "a million short rows in JSON": (P, JSON, lambda: rows(*[1] * 1_000_000)),
    # workbooks
    "a workbook of 1,000 empty parts": (
        P,
        XLSX,
        lambda: workbook(sheet(b""), **{f"xl/a{n}.xml": b"<a/>" for n in range(990)}),
    ),
    "a workbook of 5,000 parts": (
        P,
        XLSX,
        lambda: workbook(sheet(b""), **{f"a{n}": b"" for n in range(5000)}),
    ),
    "a workbook that unpacks to a gigabyte": (P, XLSX, lambda: workbook(b" " * (1 << 30))),
    "100,000 rows of one cell": (P, XLSX, lambda: workbook(sheet(cells(100_000)))),
    "a processing instruction of 100 MB": (
        P,
        XLSX,
        lambda: workbook(sheet(b"<?x " + b"y" * (100 * MIB) + b"?>")),
    ),
    "plain data of 100 MB": (
        P,
        XLSX,
        lambda: workbook(sheet(b"<![CDATA[" + b"y" * (100 * MIB) + b"]]>")),
    ),
    "an entity in a sheet": (
        P,
        XLSX,
        lambda: workbook(b'<!DOCTYPE a [<!ENTITY b "c">]>' + sheet(b"&b;" * 1000)),
    ),
    "a tag of 30 MB": (P, XLSX, lambda: workbook(sheet(b"<" + b"a" * (30 * MIB) + b"/>"))),
    "a value of 30 MB": (P, XLSX, lambda: workbook(sheet(b'<c r="' + b"A" * (30 * MIB) + b'"/>'))),
    "a cell in the last column": (
        P,
        XLSX,
        lambda: workbook(sheet(cells(1000, b'<c r="XFD%d"><v>1</v></c>'))),
    ),
    "styles of 30 MB": (
        P,
        XLSX,
        lambda: workbook(sheet(cells(9)), **{"xl/styles.xml": b"<a>" + b"<b/>" * 6 * MIB}),
    ),
    "texts of 30 MB": (
        P,
        XLSX,
        lambda: workbook(
            sheet(cells(9)), **{"xl/sharedStrings.xml": b"<sst>" + b"<si/>" * 5 * MIB}
        ),
    ),
    "a list of contents of 2 MB": (
        P,
        XLSX,
        lambda: workbook(sheet(b""), **{"[Content_Types].xml": b"<Types>" + b"<a/>" * 500_000}),
    ),
    "a zip of something else": (P, XLSX, lambda: workbook(b"", **{"xl/workbook.xml": b"hello"})),
    "60 MB that begin as a zip": (P, XLSX, lambda: b"PK\x03\x04" + b"\0" * (60 * MIB)),
    # forms
    "a form without an end": (P, FORM, lambda: form(b"x" * (30 * MIB))[:-9]),
    "a form of 10,000 parts": (P, FORM, lambda: form(**{f"a{n}": "x" for n in range(10_000)})),
    "a form of boundaries": (P, FORM, lambda: b"--x\r\n" * 5 * MIB),
    "a form whose case is no JSON": (P, FORM, lambda: form(table(ROW), case="{")),
    "a form whose case is 4 MB of NaN": (
        P,
        FORM,
        lambda: form(table(ROW), case=b"[" + b"NaN," * MIB + b"1]"),
    ),
    "a form whose mapping is 4 MB": (P, FORM, lambda: form(table(ROW), mapping=TEXT)),
    "a form whose mapping nests": (P, FORM, lambda: form(table(ROW), mapping="[" * 100_000)),
    "20,000 words and 20,000 places of a mapping that 5,000 rows lack": (
        P + "?show=check",
        FORM,
        lambda: form(
            table(*lines(5000, "R{0},Town {0},9000,3,0,EPDM,steel"), header=OWNERS),
            mapping=many_words(20_000),
        ),
    ),
}


@pytest.fixture(scope="module")
def client():
    """The service with its pages; warm, so that no attack pays for tables and plans."""
    warm = create_app({}).test_client()
    assert warm.post(C, data=case(), content_type=JSON).status_code == 200
    assert warm.post(P, data=table(ROW.format(1)), content_type=CSV).status_code == 200
    assert warm.get("/v1/places?query=Tulsa").status_code == 200
    return warm


def memory():
    """Return what this process holds in memory [byte]."""
    with open("/proc/self/statm") as file:  # noqa: PTH123 (no file of a disk)
        return int(file.read().split()[1]) * 4096


def test_there_are_as_many_attacks_as_promised():
    """Those of the finding, and 60 more."""
    assert len(ATTACKS) >= 12 + 60


@pytest.mark.thorough
@pytest.mark.filterwarnings(  # a form that ends too early leaves the framework's own file open
    "ignore::pytest.PytestUnraisableExceptionWarning"
)
@pytest.mark.parametrize("name", ATTACKS)
def test_an_attack_is_answered_in_bounded_time_and_memory(client, name):
    """Processor time of all threads, and memory when the answer has been sent and closed."""
    address, media_type, make = ATTACKS[name]
    headers = {"Content-Encoding": "gzip"} if media_type == "gzip" else {}
    body = make()
    before = memory()
    with (
        within(MOST_CPU_S),
        client.post(
            address, data=body, content_type=JSON if headers else media_type, headers=headers
        ) as answer,
    ):
        status = answer.status_code
        assert len(answer.data) < 100 * MIB
    kept = memory() - before
    print(f"{name}: {status}, {kept / MIB:.0f} MB kept")
    assert status < 500 or status in (503, 507)
    assert kept < MOST_KEPT


@pytest.mark.thorough
def test_a_full_disk_is_answered_by_507(client, monkeypatch):
    """507 with words, and the next request is served."""

    def full(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr("shutil.copyfileobj", full)
        answer = client.post(P, data=table(ROW.format(1)), content_type=CSV)
    assert answer.status_code == 507
    assert answer.json["type"].endswith("/no-room")
    assert client.post(P, data=table(ROW.format(1)), content_type=CSV).status_code == 200


def test_reading_is_within_the_time_limit(monkeypatch):
    """A body that takes long to read is answered by 503, and its reading ends by itself."""
    client = create_app({"TIME_LIMIT_S": 0.0}).test_client()
    for address, body in ((A, assemblies({"resistance": 1})), (P, rows({"name": "A"}))):
        answer = client.post(address, data=body, content_type=JSON)
        assert (answer.status_code, answer.json["type"]) == (503, "/v1/problems/time-limit")
    assert limits.time_left() == float("inf")
