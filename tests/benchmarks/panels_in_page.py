"""What a real page shows of a panel while its slider is dragged, and of its figure under ``interact``."""

from __future__ import annotations

import base64
import hashlib
import io
import shutil
import sys
import tempfile
import time
from pathlib import Path

sys.path.append(str(Path(__file__).resolve().parents[1] / "browser"))

import lab
from nbformat import writes
from nbformat.v4 import new_code_cell, new_notebook
from PIL import Image
from playwright.sync_api import TimeoutError as NotShown
from playwright.sync_api import sync_playwright
from workbook_panels import Found, put

HERE = Path(__file__).resolve().parent
KERNEL = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
MOVES_S = 60  # moves of the mouse in a second
SWEEP_S = 2.0  # from end to end of a slider, or less where it has few positions
FILM_S = 2.0
ONE_COLOUR = 24  # of 255: differences that JPEG may add
COLUMNS = (("frames/s", 9), ("blank", 8), ("moved", 6), ("rest, ms", 9), ("interact", 9), ("blank", 8),
           ("moved", 6), ("times", 7))  # fmt: skip
# Looked at before each frame that the page paints; a picture counts once it is loaded.
WATCH = """([area, sharp_px]) => {
    const seen = {sums: [], jumps: 0, stop: false};
    let last = '', place = '';
    const look = () => {
        const picture = area.querySelector('img');
        if (picture) {
            const [box, around] = [picture.getBoundingClientRect(), area.getBoundingClientRect()];
            const now = [box.width, box.height, box.top - around.top, box.left - around.left].join();
            if (place && now !== place) seen.jumps += 1;
            place = now;
            if (picture.complete && picture.naturalWidth && picture.src !== last) {
                last = picture.src;
                const number = seen.sums.push('sharp') - 1;
                if (picture.naturalWidth < sharp_px) fetch(last).then(file => file.arrayBuffer())
                    .then(bytes => crypto.subtle.digest('SHA-256', bytes))
                    .then(sum => { seen.sums[number] = new Uint8Array(sum).join(); });
            }
        }
        if (!seen.stop) requestAnimationFrame(look);
    };
    requestAnimationFrame(look);
    window.seen = seen;
}"""
TOLD = """() => {
    window.seen.stop = true;
    const {sums, jumps} = window.seen;
    return {pictures: sums.filter((sum, at) => at && sum !== 'sharp' && sum !== sums[at - 1]).length, jumps};
}"""
# Under interact a picture may be taken away and replaced at any moment: asked until there is a whole one.
BOX = """([area, scroll]) => {
    const picture = area.querySelector('img');
    if (!picture || !picture.complete || !picture.naturalWidth) return null;
    if (scroll) picture.scrollIntoView({block: 'nearest'});
    const {x, y, width, height} = picture.getBoundingClientRect();
    return {x, y, width, height};
}"""
SHOWS = """async ([picture, wanted]) => {
    const file = await (await fetch(picture.src)).arrayBuffer();
    const sum = new Uint8Array(await crypto.subtle.digest('SHA-256', file));
    return picture.complete
        && Array.from(sum, byte => byte.toString(16).padStart(2, '0')).join('') === wanted;
}"""


def in_page(found: list[Found], seconds: float) -> None:
    """Print for each panel what is seen of it in a real page, and of the same under ``interact``."""
    columns = "".join(f"{title:>{width}}" for title, width in COLUMNS)
    print(f"{'in the page':26}{'slider':20}{columns}")
    with (
        sync_playwright() as playwright,
        tempfile.TemporaryDirectory(prefix="panels-") as home,
        lab.server(Path(home, "home")) as served,
    ):
        program = shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=program, args=lab.CHROMIUM_FLAGS)
        for one in found:
            if one.slider is None:
                print(f"{one.label:26}only lists: nothing to drag")
                continue
            (served.notebooks / "one_panel.ipynb").write_text(writes(alone(one)), encoding="utf-8")
            notebook = lab.OpenNotebook(browser, served, "one_panel.ipynb")
            notebook.run_all()
            print(f"{one.label:26}{one.slider:20}{seen(one, notebook, seconds)}", flush=True)
            print(*notebook.faults, sep="\n", end="\n" * bool(notebook.faults))
            notebook.close()
        browser.close()


def alone(one: Found):
    """A notebook of three cells: what stands before the panel, the panel, and its figure under interact."""
    beside = (
        f"import sys\nsys.path.append({str(HERE)!r})\n"
        "from beside_interact import beside_interact\nbeside_interact(_)"
    )
    codes = (f"{one.before}\nNone", one.cell, beside)
    return new_notebook(metadata=KERNEL, cells=[new_code_cell(code) for code in codes])


def seen(one: Found, notebook: lab.OpenNotebook, seconds: float) -> str:
    """Drag, rest, and drag under interact; return the line of the table."""
    panel = notebook.widgets(".widget-vbox:has(> img)").first
    plain = notebook.widgets(".widget-interact").first
    live_s, moved = counted(notebook, panel, one, seconds, 2 * one.panel.picture.size_px[0])
    rest = rested(notebook, panel, one)
    blank = filmed(notebook, panel, one)
    plain_s, plain_moved = counted(notebook, plain, one, seconds, 10**6)
    told = f"{live_s:9.1f}{blank:>8}{moved:6}{rest:>9}{plain_s:9.1f}"
    told += f"{filmed(notebook, plain, one):>8}{plain_moved:6}"
    return told + (f"{live_s / plain_s:7.1f}" if plain_s else "      –")


def counted(notebook: lab.OpenNotebook, area, one: Found, seconds: float, sharp_px: int) -> tuple[float, int]:
    """Pictures a second that the page showed during a drag, and how often the picture moved in its place."""
    area.locator("img").first.wait_for()
    notebook.page.evaluate(WATCH, [area.element_handle(), sharp_px])
    drag(notebook.page, area, one, seconds)
    told = notebook.page.evaluate(TOLD)
    return told["pictures"] / seconds, told["jumps"]


def filmed(notebook: lab.OpenNotebook, area, one: Found) -> str:
    """Blank frames and all frames of a film of a drag: at the picture's place one colour only."""
    frames, film = [], notebook.page.context.new_cdp_session(notebook.page)
    box_of(notebook.page, area, scroll=True)

    def keep(frame: dict) -> None:
        frames.append(frame["data"])
        film.send("Page.screencastFrameAck", {"sessionId": frame["sessionId"]})

    film.on("Page.screencastFrame", keep)
    film.send("Page.startScreencast", {"format": "jpeg", "quality": 30})
    drag(notebook.page, area, one, FILM_S)
    film.send("Page.stopScreencast")
    box, page = box_of(notebook.page, area, scroll=False), notebook.page.viewport_size
    return f"{sum(is_blank(frame, box, page['width']) for frame in frames)}/{len(frames)}"


def box_of(page, area, scroll: bool) -> dict:
    """Where the picture stands in the window, brought into view if asked."""
    return page.wait_for_function(BOX, arg=[area.element_handle(), scroll]).json_value()


def is_blank(frame: str, box: dict, page_px: int) -> bool:
    """Whether the upper half of the picture's place has one colour, give or take what JPEG adds."""
    film = Image.open(io.BytesIO(base64.b64decode(frame))).convert("L")
    scale = film.width / page_px
    sides = (box["x"], max(box["y"], 0), box["x"] + box["width"], max(box["y"], 0) + box["height"] / 2)
    dark, bright = film.crop([round(scale * side) for side in sides]).getextrema()
    return bright - dark < ONE_COLOUR


def drag(page, area, one: Found, seconds: float) -> None:
    """Drag the slider to and fro with the mouse, and let it go."""
    control = one.panel.ranges[one.slider]
    row = area.locator(".widget-slider").filter(has_text=control.title).first
    row.scroll_into_view_if_needed()
    track, handle = (row.locator(f".noUi-{part}").bounding_box() for part in ("base", "handle"))
    sweep = min(SWEEP_S, len(control.positions()) / MOVES_S)
    page.mouse.move(handle["x"] + handle["width"] / 2, handle["y"] + handle["height"] / 2)
    page.mouse.down()
    begun, moves = time.perf_counter(), 0
    while (passed := time.perf_counter() - begun) < seconds:
        to_and_fro = abs((passed / sweep) % 2 - 1)
        page.mouse.move(track["x"] + to_and_fro * track["width"], handle["y"] + handle["height"] / 2)
        moves += 1
        time.sleep(max(0.0, begun + moves / MOVES_S - time.perf_counter()))
    page.mouse.up()


def rested(notebook: lab.OpenNotebook, panel, one: Found) -> str:
    """Milliseconds from the end of a drag to the sharp picture of the slider's last place."""
    begun = time.perf_counter()
    control = one.panel.ranges[one.slider]
    row = panel.locator(".widget-slider").filter(has_text=control.title).first
    readout = row.locator(".widget-readout").text_content().replace("\N{MINUS SIGN}", "-")
    put(one.panel, {one.slider: min(control.positions(), key=lambda at: abs(at - float(readout)))})
    wanted = hashlib.sha256(one.panel.picture.frame(2)).hexdigest()
    picture = panel.locator("> img").element_handle()
    try:
        notebook.page.wait_for_function(SHOWS, arg=[picture, wanted], timeout=10_000)
    except NotShown:
        return "NEVER"
    return f"{1e3 * (time.perf_counter() - begun):.0f}"
