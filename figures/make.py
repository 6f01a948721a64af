"""Draw every picture of this folder anew: ``python figures/make.py``.

The same versions of the libraries give the same bytes.  A folder named behind the command is filled instead.
"""

from __future__ import annotations

import sys
from pathlib import Path

from mechlib.bench import slip_effect
from mechlib.bench.follow_power import follow
from mechlib.bench.timing_card import timing_card
from mechlib.draw import LivePicture, planetary, timing_chart
from mechlib.draw.cam_groove import cam_groove
from mechlib.draw.mode_close_up import mode_close_up
from mechlib.draw.planetary_view import view
from mechlib.draw.power_flow import power_flow
from mechlib.draw.proof_sheet import proof_sheet_pages
from mechlib.draw.timing_card import timing_card_pages
from mechlib.draw.tooth_shift import tooth_shift
from mechlib.gears.planetary import simple_set
from mechlib.gears.power import Load
from mechlib.transports import load

HERE = Path(__file__).resolve().parent
SCALE = 2  # sharp on fine screens and in print
PRINT_DPI = 240  # of a page of paper


def chart(path: Path, mesh: str, teeth: int, theta_deg: float) -> None:
    """Draw the timing chart of Alder with some teeth out at a mesh."""
    alder = load("alder")
    values = {"mesh": mesh, "teeth": teeth, "theta_deg": theta_deg}
    picture = LivePicture(
        lambda **chosen: slip_effect(alder, **chosen), timing_chart, values, timing_chart.size_px(alder)
    )
    picture.save(path, SCALE)


def planetary_set(path: Path) -> None:
    """Draw a set whose loads decide: the ring turns and the carrier stands."""
    one, loads = simple_set(16, 16, 48), {"ring": Load(60), "carrier": Load(120)}
    found = follow(one, 120, loads)
    shown = view(one, found.speeds, 4, 0.035, [found.driven.member], told=found.sentence())
    LivePicture(lambda: shown, planetary, {}, planetary.SIZE_PX).save(path, SCALE)


def power_flows(path: Path) -> None:
    """Draw the power through the set of Alder's carriage, with the carrier held and with the ring held."""
    one, loads = simple_set(16, 16, 48, mesh_efficiency=0.97), {"ring": Load(60), "carrier": Load(80)}
    power_flow([follow(one, 100, loads, held) for held in ("carrier", "ring")], SCALE).savefig(path)


def printed(card_path: Path, sheet_path: Path) -> None:
    """Draw Alder's timing card and its blank proof sheet, on A4."""
    card = timing_card(load("alder"))
    for path, pages in ((card_path, timing_card_pages(card)), (sheet_path, proof_sheet_pages(card))):
        pages[0].savefig(path, dpi=PRINT_DPI)


def main(folder: Path = HERE) -> None:
    """Draw all pictures into a folder."""
    chart(folder / "alder_chart.png", "mode switch", 0, 210.0)
    chart(folder / "slipped_tooth.png", "loading gear", -1, 94.5)
    alder = load("alder")
    cam_groove(alder, "tension lever", SCALE).savefig(folder / "cam_groove.png")
    mode_close_up(alder, "PLAY", scale=SCALE).savefig(folder / "mode_close_up.png")
    planetary_set(folder / "planetary_set.png")
    power_flows(folder / "power_flow.png")
    effect = slip_effect(alder, "pinch cam", 1)
    tooth_shift(effect, "pinch lever", SCALE).savefig(folder / "tooth_shift.png")
    printed(folder / "timing_card.png", folder / "proof_sheet.png")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
