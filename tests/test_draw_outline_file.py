"""The outline files read back: by a parser of XML, one of group codes, and a library for DXF files."""

import math
import xml.etree.ElementTree as ElementTree

import ezdxf
import numpy as np
import pytest
from polygon_measures import over_pins_of, radius_of, span_of

from mechlib.bench.gear_to_make import to_make
from mechlib.draw.outline_file import bar_mm, dxf_text, save_outline, svg_text
from mechlib.errors import MechError
from mechlib.gears.measuring import over_pins_mm, span_mm
from mechlib.gears.racks import FINE, ISO_53_A
from mechlib.gears.spur import Gear

SVG = "{http://www.w3.org/2000/svg}"
GEARS = {
    "small": to_make(Gear(24, 0.5, FINE, 0.1), 2.0, 3.0),
    "odd": to_make(Gear(17, 0.8, ISO_53_A, 0.3), 3.0, 4.0),
    "cut tips": to_make(Gear(40, 0.3, FINE, 0.0, -0.2), 1.5, 2.0),
    "allowed for": to_make(Gear(24, 0.5, FINE), 2.0, 3.0, "nylon", 1.5, 0.02, 'A <gear> & "more"'),
}


def of_svg(text: str):
    """Outline (y upwards), bore, bar and size of the picture, in mm."""
    root = ElementTree.fromstring(text.encode())
    view = [float(word) for word in root.get("viewBox").split()]
    for name, length in (("width", view[2]), ("height", view[3])):
        assert root.get(name).endswith("mm")
        assert float(root.get(name)[:-2]) == length  # a unit is a millimetre
    drawn = {one.get("id"): one for one in root.iter() if one.get("id")}

    def corners(words):
        return [tuple(map(float, pair.split())) for pair in words.strip("MZ ").split("L")]

    outline = [(x, -y) for x, y in corners(drawn["outline"].get("d"))]
    bar = corners(drawn["scale-bar"].get("d"))
    assert drawn["outline"].get("d").endswith("Z")
    label = next(root.iter(f"{SVG}text")).text
    return outline + outline[:1], 2 * float(drawn["bore"].get("r")), bar, label, view


def of_dxf(text: str):
    """Outline, bore and bar by the group codes alone: pairs of lines."""
    lines = text.split("\n")
    pairs = [(int(code), value) for code, value in zip(lines[::2], lines[1::2], strict=False)]
    assert lines[-1] == "" and pairs[-1] == (0, "EOF") and len(lines) % 2 == 1
    entities, at = [], pairs.index((2, "ENTITIES"))
    for code, value in pairs[at + 1 :]:
        if code == 0:
            entities.append((value, {}))
        else:
            entities[-1][1][code] = value
    outline = [(float(of[10]), float(of[20])) for kind, of in entities if kind == "VERTEX"]
    (closed,) = [of[70] for kind, of in entities if kind == "POLYLINE"]
    (circle,) = [of for kind, of in entities if kind == "CIRCLE"]
    (line,) = [of for kind, of in entities if kind == "LINE"]
    (words,) = [of[1] for kind, of in entities if kind == "TEXT"]
    assert closed == "1" and (float(circle[10]), float(circle[20])) == (0, 0)
    bar = [(float(line[10]), float(line[20])), (float(line[11]), float(line[21]))]
    return outline + outline[:1], 2 * float(circle[40]), bar, words


@pytest.mark.parametrize("name", GEARS)
@pytest.mark.parametrize("kind", ["svg", "dxf"])
def test_span_and_pins_on_the_drawn_gear_are_the_computed_ones(name, kind):
    made = GEARS[name]
    gear, by = made.gear, 1 + made.scale_percent / 100
    outline, bore, *_ = of_svg(svg_text(made)) if kind == "svg" else of_dxf(dxf_text(made))
    off = 0.006 * gear.module_mm
    for over in (made.over, made.over + 1):
        wanted = by * span_mm(gear.teeth, gear.module_mm, gear.rack, over, gear.shift) - 2 * made.inset_mm
        assert span_of(outline, gear.teeth, over) == pytest.approx(wanted, abs=off)
    # Edges further in let a pin as deep as one thinner by that on either side lies in the gear itself.
    pin, module = 1.8 * by * gear.module_mm, by * gear.module_mm
    wanted = over_pins_mm(gear.teeth, module, gear.rack, pin - 2 * made.inset_mm, gear.shift)
    wanted += 2 * made.inset_mm
    assert over_pins_of(outline, gear.teeth, pin) == pytest.approx(wanted, abs=3 * off)
    assert bore == pytest.approx(made.bore_mm * by + 2 * made.inset_mm, abs=1e-4)
    assert radius_of(outline) == pytest.approx(gear.tip_mm / 2 * by - made.inset_mm, abs=off)


@pytest.mark.parametrize("name", GEARS)
def test_the_bar_is_as_long_as_it_says_and_clear_of_the_gear(name):
    made = GEARS[name]
    *_, bar, label, view = of_svg(svg_text(made))
    assert abs(bar[1][0] - bar[0][0]) == bar_mm(made) and label == f"{bar_mm(made)} mm"
    assert bar[0][1] == bar[1][1] > radius_of(made.outline_mm())  # downwards
    assert view[0] < bar[0][0] and bar[0][1] < view[1] + view[3]
    *_, bar, label = of_dxf(dxf_text(made))
    assert bar[1][0] - bar[0][0] == bar_mm(made) and label == f"{bar_mm(made)} mm"
    assert bar[0][1] < -radius_of(made.outline_mm())


def test_the_bar_suits_the_size():
    for module, bar in ((0.1, 2), (0.2, 5), (0.5, 10), (1.0, 20), (5.0, 100), (20.0, 200)):
        assert bar_mm(to_make(Gear(24, module, ISO_53_A), 0.2, 1)) == bar


@pytest.mark.parametrize("name", GEARS)
def test_a_library_for_DXF_files_finds_nothing_wrong(name, tmp_path):
    document = ezdxf.readfile(save_outline(GEARS[name], tmp_path / "gear.dxf"))
    audit = document.audit()
    assert (audit.errors, audit.fixes, document.dxfversion) == ([], [], "AC1009")
    space = document.modelspace()
    (outline,), (bore,) = space.query("POLYLINE"), space.query("CIRCLE")
    points = np.array([vertex.dxf.location for vertex in outline.vertices])[:, :2]
    assert outline.is_closed and outline.dxf.layer == "OUTLINE" and bore.dxf.layer == "BORE"
    assert points == pytest.approx(GEARS[name].outline_mm()[:-1], abs=5.1e-5)
    assert bore.dxf.radius == pytest.approx(GEARS[name].drawn_bore_mm / 2, abs=5.1e-5)
    # it goes round counter-clockwise once: the area by the corners is that of a disc of about its size
    x, y = points.T
    area = float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
    assert GEARS[name].gear.root_mm ** 2 < area * 4 / math.pi < GEARS[name].gear.tip_mm ** 2 * 1.05


@pytest.mark.parametrize("suffix", [".svg", ".dxf", ".SVG"])
def test_the_same_gear_gives_the_same_bytes(suffix, tmp_path):
    paths = [save_outline(GEARS["small"], tmp_path / f"{name}{suffix}") for name in "ab"]
    first, second = (path.read_bytes() for path in paths)
    assert first == second and b"\r" not in first and first.endswith(b"\n")
    assert sorted(tmp_path.iterdir()) == sorted(paths)


def test_title_and_allowances_stand_in_the_picture_whatever_signs_they_have():
    root = ElementTree.fromstring(svg_text(GEARS["allowed for"]).encode())
    assert root.find(f"{SVG}title").text == 'A <gear> & "more"'
    told = root.find(f"{SVG}desc").text
    assert "drawn 1.50% larger for shrinkage and with its edges further in by 0.020 mm." in told
    assert "without allowances" in svg_text(GEARS["small"])


def test_files_are_plain_and_have_no_minus_nought():
    for text in (svg_text(GEARS["odd"]), dxf_text(GEARS["odd"])):
        assert "-0.0000" not in text and "nan" not in text.lower()
    assert dxf_text(GEARS["allowed for"]).isascii()


@pytest.mark.parametrize("name", ["gear.png", "gear", "no such folder/gear.svg"])
def test_a_wrong_name_is_refused(name, tmp_path):
    with pytest.raises(MechError):
        save_outline(GEARS["small"], tmp_path / name)
    assert list(tmp_path.iterdir()) == []
