"""Stock lists as shops and spreadsheets write them: good rows used, bad rows told, whatever comes."""

import contextlib
import csv
import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mechlib.bench.stock import SPARES_BIN, Stock, read_stock, spares_bin
from mechlib.errors import MechError

HEAD = "name,teeth,module_mm,diametral_pitch,bore_mm,width_mm,hub_mm,material,count,shift,pressure_angle_deg"
GOOD = "drawer 1,24,0.5,,2,3,5,POM,4,0.1,20"
SHORT = "teeth;module_mm;bore_mm;width_mm;count"


def test_a_row_is_read_as_it_is_written():
    (gear,) = read_stock(f"{HEAD}\n{GOOD}").gears
    assert (gear.row, gear.name, gear.teeth, gear.module_mm, gear.size) == (
        2,
        "drawer 1",
        24,
        0.5,
        "module 0.5",
    )
    assert (gear.bore_mm, gear.width_mm, gear.hub_mm, gear.material) == (2, 3, 5, "acetal")
    assert (gear.count, gear.shift, gear.pressure_angle_deg) == (4, 0.1, 20)
    assert gear.sentence() == (
        "Row 2 (drawer 1): 24 teeth, module 0.5, acetal, bore 2.00 mm, 3.00 mm wide, 4 of them."
    )


def test_diametral_pitch_is_turned_into_a_module_and_gaps_have_their_meaning():
    (gear,) = read_stock("teeth,diametral_pitch,bore_mm,width_mm,count\n20,48,2,3,1").gears
    assert gear.module_mm == pytest.approx(0.52917, abs=5e-6) and gear.size == "48 DP"  # a module table, G12
    assert (gear.hub_mm, gear.material, gear.shift, gear.pressure_angle_deg) == (0, "", None, None)


@pytest.mark.parametrize(
    "text",
    [
        f"{SHORT}\n24;0,5;2;3;6",
        f"{SHORT}\n24;0.5;2,0;3.0;6\n",
        f"\ufeff{SHORT}\r\n24;0,5;2;3;6\r\n",
        f"{SHORT}\r24;0,5;2;3;6\r",
        f"# our list\n\n{SHORT}\n;;;;\n# in drawers\n24;0,5;2;3;6\n\n",
        SHORT.replace(";", ",") + '\n24,"0,5",2,3,6',
        SHORT.replace(";", "\t") + "\n24\t0,5\t2\t3\t6",
        SHORT.replace(";", " ; ").upper() + "\n24 ; 0,5 ; 2 ; 3 ; 6",
        f"{SHORT};;\n24;0,5;2;3;6;;",
        "Teeth;Module mm;Bore mm;Width mm;Count\n24;0,5;2;3;6",
    ],
)
@pytest.mark.parametrize("encoding", [None, "utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_the_ways_of_spreadsheets(text, encoding):
    if encoding and "\ufeff" in text:
        text = text[1:]
    stock = read_stock(text if encoding is None else text.encode(encoding))
    (gear,) = stock.gears
    assert (gear.teeth, gear.module_mm, gear.bore_mm, gear.width_mm, gear.count) == (24, 0.5, 2, 3, 6)
    assert stock.bad == () and stock.sentence() == "1 row of gears can be used."


def test_rows_are_counted_as_in_the_file_and_all_problems_of_a_row_told():
    text = f"# ours\n{SHORT}\n24;0,5;2;3;6\n\n5;0,5;2;;6\nx;;2;3;-1\n30;0.5;2;3;2"
    stock = read_stock(text)
    assert [gear.row for gear in stock.gears] == [3, 7]
    first, second = stock.bad
    assert first.row == 5 and "from 6 to 2000" in first.reason and "width_mm is missing" in first.reason
    assert second.row == 6 and second.reason.count(";") == 2 and "teeth is 'x'" in second.reason
    assert stock.sentence().startswith("2 rows of gears can be used; 2 rows can't: Row 5: teeth is 5")


@pytest.mark.parametrize(
    ("cells", "reason"),
    [
        ("a,24,0.5,48,2,3,5,acetal,4,0,20", "not both"),
        ("a,24,,,2,3,5,acetal,4,0,20", "give module_mm or diametral_pitch"),
        ("a,24.5,0.5,,2,3,5,acetal,4,0,20", "whole number"),
        ("a,24,0.5,,2,3,5,acetal,4,9,20", "shift is 9"),
        ("a,24,0.5,,2,3,5,acetal,4,0,2000", "pressure_angle_deg is 2000"),
        ("a,24,nan,,2,3,5,acetal,4,0,20", "module_mm is nan"),
        ("a,24,0.5,,inf,3,5,acetal,4,0,20", "bore_mm is inf"),
        ("a,24,1e999,,2,3,5,acetal,4,0,20", "module_mm is inf"),
        ("a,99999999999999999999,0.5,,2,3,5,acetal,4,0,20", "teeth is"),
        ("a,24,0,5,,2,3,5,acetal,4,0,20", "12 columns"),
        ('a,"24,0.5,,2,3,5,acetal,4,0,20', "quotation marks"),
        ("a,24,0.5,0,2,3,5,acetal,4,0,20", "not both"),
        ("a,24,,0,2,3,5,acetal,4,0,20", "diametral_pitch is 0"),
        ("=1+1,2_4,0.5,,2,3,5,acetal,1 000,0,20", "count is '1 000'"),
    ],
)
def test_a_bad_row_spoils_no_other(cells, reason):
    stock = read_stock(f"{HEAD}\n{GOOD}\n{cells}\n{GOOD}")
    assert [gear.row for gear in stock.gears] == [2, 4]
    assert [one.row for one in stock.bad] == [3] and reason in stock.bad[0].reason


@pytest.mark.parametrize(
    ("column", "good", "bad"),
    [
        ("diametral_pitch", ("0.5", "500"), ("0.49", "500.5")),
        ("bore_mm", ("0", "200"), ("-0.1", "200.5")),
        ("width_mm", ("0.1", "200"), ("0.05", "200.5")),
        ("hub_mm", ("0", "500"), ("-1", "500.5")),
        ("count", ("0", "100000"), ("-1", "100001")),
        ("pressure_angle_deg", ("10", "30"), ("9.5", "30.5")),
    ],
)
def test_the_limits_of_a_column(column, good, bad):
    fields = {
        "teeth": "24",
        "diametral_pitch": "48",
        "bore_mm": "2",
        "width_mm": "3",
        "count": "1",
        "hub_mm": "4",
    }

    def row(value):
        cells = {**fields, "pressure_angle_deg": "20", column: value}
        return read_stock(f"{';'.join(cells)}\n{';'.join(cells.values())}")

    assert all(len(row(value).gears) == 1 for value in good)
    assert all(column in row(value).bad[0].reason for value in bad)


def test_empty_cells_beyond_the_heading_do_no_harm():
    assert len(read_stock(f"{SHORT}\n24;0,5;2;3;6;;;").gears) == 1
    assert "6 columns, the heading 5" in read_stock(f"{SHORT}\n24;0,5;2;3;6;x").bad[0].reason


def test_a_list_of_just_so_many_bytes_is_read(monkeypatch, tmp_path):
    text = f"{SHORT}\n24;0,5;2;3;6\n"
    path = tmp_path / "list.csv"
    path.write_text(text)
    for most, good in ((len(text), True), (len(text) - 1, False)):
        monkeypatch.setattr("mechlib.bench.stock.MOST_BYTES", most)
        for source in (text, text.encode(), path):
            if good:
                assert len(read_stock(source).gears) == 1
                continue
            with pytest.raises(MechError, match=f"at most {most} are read"):
                read_stock(source)


def test_many_bad_rows_are_counted_and_the_first_told():
    stock = read_stock("\n".join([SHORT, *["0;0;0;0;0"] * 50]))
    assert len(stock.bad) == 50 and "And 30 more bad rows." in stock.sentence()
    assert "Row 21:" in stock.sentence() and "Row 22:" not in stock.sentence()


@pytest.mark.parametrize(
    ("source", "words"),
    [
        ("", "is empty"),
        (b"", "is empty"),
        ("\n\n# nothing\n", "is empty"),
        ("teeth;bore_mm\n1;2", "'width_mm' is missing"),
        ("teeth;bore_mm\n1;2", "module_mm or diametral_pitch is missing"),
        (f"{SHORT};colour\n", "no column 'colour'"),
        (f"{SHORT};teeth\n", "'teeth' is there twice"),
        ('teeth;"bore_mm\n1;2', "quotation marks"),
        ("no_such_file.csv", "no_such_file.csv"),
        ("\0.csv", "can't read"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "is no text"),
        (b"\xff\xfea", "is no text"),
        (b"x" * 5_000_001, "bytes"),
        ("teeth\n" * 1_000_000, "letters"),
        (SHORT + "\n24;1;2;3;4" * 20_001, "20001 rows"),
        (17, "is a int"),
        (None, "is a NoneType"),
    ],
)
def test_what_is_no_stock_list_is_refused_in_clear_words(source, words):
    with pytest.raises(MechError) as error:
        read_stock(source)
    assert words in str(error.value) and len(str(error.value)) < 500


def test_files_are_read_from_a_path_and_a_folder_is_no_file(tmp_path):
    path = tmp_path / "our gears.csv"
    path.write_bytes(f"{SHORT};name\n24;0,5;2;3;6;Schublade für Räder".encode("cp1252"))
    assert read_stock(path).gears[0].name == read_stock(str(path)).gears[0].name == "Schublade für Räder"
    with pytest.raises(MechError, match="can't read"):
        read_stock(tmp_path)


@given(st.binary(max_size=300))
def test_any_bytes_give_a_stock_or_an_error_of_ours(raw):
    with contextlib.suppress(MechError):
        assert isinstance(read_stock(raw), Stock)


@given(st.text(st.characters(exclude_characters="\n\r"), max_size=80))
def test_any_row_is_good_or_bad_and_leaves_its_neighbours_alone(line):
    stock = read_stock(f"{HEAD}\n{GOOD}\n{line}\n{GOOD}")
    assert {2, 4} <= {gear.row for gear in stock.gears}
    assert len(stock.gears) + len(stock.bad) in (2, 3)


def test_the_spares_bin_is_whole_invented_and_has_near_misses():
    stock = spares_bin()
    assert len(stock.gears) == 150 and stock.bad == ()
    lines = SPARES_BIN.read_text(encoding="utf-8").splitlines()
    assert "INVENTED" in lines[0]
    rows = list(csv.DictReader(lines[1:]))  # a reader of its own
    assert [int(row["teeth"]) for row in rows] == [gear.teeth for gear in stock.gears]
    assert len({gear.name for gear in stock.gears}) == 150
    sizes = {gear.size for gear in stock.gears}
    assert {"module 0.3", "module 1.5", "16 DP", "64 DP"} <= sizes
    assert all(0.28 < gear.module_mm < 1.6 for gear in stock.gears)
    for near, beside in (("48 DP", "module 0.5"), ("16 DP", "module 1.5"), ("64 DP", "module 0.4")):
        pairs = itertools.product(stock.gears, repeat=2)
        assert any(a.size == near and b.size == beside and a.teeth == b.teeth for a, b in pairs)


def test_every_gear_of_the_bin_has_metal_left_round_its_bore():
    for gear in spares_bin().gears:
        root = (gear.teeth - 2 * 1.6) * gear.module_mm  # the deepest of the racks
        assert gear.bore_mm < root - 0.5, gear.sentence()
        assert gear.hub_mm == 0 or gear.bore_mm < gear.hub_mm
