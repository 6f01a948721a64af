"""A class on a JupyterHub: readers who all open the slipped-tooth lesson and move its slider at once.

    HUB/bin/python tests/benchmarks/classroom.py --proxy node_modules/.bin/configurable-http-proxy 5 10 20

where HUB is an environment with requirements.txt and jupyterhub.  Starts a hub with hub_settings.py, and for
each size of class lets every reader start a server and a kernel, run every cell, and move the slider 50
times, the next move a short pause after its picture has come.  Prints failures, seconds from the move to the
picture (median and p95), memory a head (proportional share of all processes), and how many fit.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import secrets
import statistics
import subprocess
import sys
import tempfile
import time
import uuid
from pathlib import Path

from tornado.httpclient import AsyncHTTPClient, HTTPClientError, HTTPRequest
from tornado.websocket import websocket_connect

ROOT = Path(__file__).resolve().parents[2]
LESSON = ROOT / "notebooks" / "01_see_how_one_tooth_shifts_the_timing.ipynb"
PORT = 8765
HUB = f"http://127.0.0.1:{PORT}"
MOVES, PAUSE_S, PATIENCE_S = 50, 0.1, 300


class Reader:
    """One apprentice: a server of their own, a kernel, the lesson, the slider."""

    def __init__(self, name: str, token: str):
        self.name, self.header = name, {"Authorization": f"token {token}"}
        self.models: dict[str, dict] = {}  # by comm, what the page would hold
        self.errors: list[str] = []
        self.times: list[float] = []

    async def ask(self, method: str, path: str, body=None):
        data = json.dumps(body) if body is not None else ("" if method == "POST" else None)
        request = HTTPRequest(HUB + path, method, self.header, data, request_timeout=PATIENCE_S)
        return await AsyncHTTPClient().fetch(request)

    async def start(self) -> None:
        """Start the server and a kernel, and open the line to it."""
        await self.ask("POST", f"/hub/api/users/{self.name}")
        await self.ask("POST", f"/hub/api/users/{self.name}/server")
        ready = f"/hub/api/users/{self.name}"
        while not json.loads((await self.ask("GET", ready)).body)["servers"].get("", {}).get("ready"):
            await asyncio.sleep(1)
        made = await self.ask("POST", f"/user/{self.name}/api/kernels", {"path": "notebooks"})
        kernel = json.loads(made.body)["id"]
        line = f"ws://127.0.0.1:{PORT}/user/{self.name}/api/kernels/{kernel}/channels"
        self.line = await websocket_connect(HTTPRequest(line, headers=self.header), max_message_size=2**27)

    async def send(self, kind: str, content: dict) -> str:
        header = {"msg_id": uuid.uuid4().hex, "msg_type": kind, "username": "", "session": self.name}
        message = {"header": header | {"version": "5.3"}, "parent_header": {}, "metadata": {}}
        await self.line.write_message(json.dumps(message | {"channel": "shell", "content": content}))
        return header["msg_id"]

    async def hear(self) -> dict:
        """The next message; which widgets there are is kept, and every error."""
        heard = await asyncio.wait_for(self.line.read_message(), PATIENCE_S)
        if heard is None:
            raise ConnectionError("the line to the kernel was cut")
        message = json.loads(without_buffers(heard))
        if message["msg_type"] == "comm_open":
            self.models[message["content"]["comm_id"]] = message["content"]["data"].get("state", {})
        if message["msg_type"] == "error":
            self.errors.append(message["content"]["evalue"])
        return message

    async def run_lesson(self) -> None:
        """Run every code cell, one after the other."""
        for cell in json.loads(LESSON.read_text(encoding="utf-8"))["cells"]:
            if cell["cell_type"] == "code":
                asked = await self.send("execute_request", {"code": "".join(cell["source"])})
                answered = False
                while not answered:
                    heard = await self.hear()
                    answered = (
                        heard["msg_type"] == "execute_reply" and heard["parent_header"]["msg_id"] == asked
                    )

    def widget(self, *kinds: str) -> str:
        return next(comm for comm, state in self.models.items() if state.get("_model_name") in kinds)

    async def move(self) -> None:
        """Move the slider step by step, up and round again; wait for each picture."""
        slider, picture = self.widget("IntSliderModel", "FloatSliderModel"), self.widget("ImageModel")
        low, high, value = (self.models[slider][name] for name in ("min", "max", "value"))
        for step in range(1, MOVES + 1):
            place = low + (value - low + step) % (high - low + 1)
            begun = time.perf_counter()
            data = {"method": "update", "state": {"value": place}, "buffer_paths": []}
            await self.send("comm_msg", {"comm_id": slider, "data": data})
            while (heard := await self.hear())["content"].get("comm_id") != picture:
                pass
            assert heard["msg_type"] == "comm_msg"
            self.times.append(time.perf_counter() - begun)
            await asyncio.sleep(PAUSE_S)

    async def leave(self) -> None:
        """Stop the server, and the reader is gone: the next class finds nobody."""
        await self.ask("DELETE", f"/hub/api/users/{self.name}/server")
        while json.loads((await self.ask("GET", f"/hub/api/users/{self.name}")).body)["servers"]:
            await asyncio.sleep(0.5)


def without_buffers(heard: str | bytes) -> str | bytes:
    """The words of a message; one with pictures starts with how many pieces it has and where each begins."""
    if isinstance(heard, str):
        return heard
    pieces = int.from_bytes(heard[:4], "big")
    starts = [int.from_bytes(heard[4 + 4 * at : 8 + 4 * at], "big") for at in range(pieces)]
    return heard[starts[0] : starts[1] if pieces > 1 else None]


def memory_MiB(top: int) -> tuple[float, int]:
    """The memory of every process below one, shared pages shared out, and how many processes there are."""
    below, total = [top], 0.0
    for pid in below:
        try:
            for task in Path(f"/proc/{pid}/task").iterdir():
                below += map(int, (task / "children").read_text().split())
            rollup = Path(f"/proc/{pid}/smaps_rollup").read_text()
        except OSError:  # it has just ended
            continue
        total += sum(int(line.split()[1]) for line in rollup.splitlines() if line.startswith("Pss:")) / 1024
    return total, len(below)


async def one_class(size: int, token: str, hub: int) -> None:
    """Let a class of this size come, learn and leave, and print how it went."""
    readers = [Reader(f"reader{size}-{at}", token) for at in range(size)]
    empty, _ = memory_MiB(hub)
    begun, failed = time.perf_counter(), []
    for deed in ("start", "run_lesson", "move"):
        done = await asyncio.gather(*(getattr(r, deed)() for r in readers), return_exceptions=True)
        failed += [f"{r.name}, {deed}: {e!r}" for r, e in zip(readers, done, strict=True) if e is not None]
        print(f"  {deed}: everybody done after {time.perf_counter() - begun:.0f} s", flush=True)
    full, processes = memory_MiB(hub)
    failed += [f"{r.name}: {error}" for r in readers for error in r.errors]
    times = sorted(1000 * t for r in readers for t in r.times)
    head = (full - empty) / size
    print(f"class of {size}: {len(failed)} failures, {len(times)} moves; from a move to its picture")
    print(f"  median {statistics.median(times):.0f} ms, p95 {times[int(0.95 * (len(times) - 1))]:.0f} ms")
    print(f"  {head:.0f} MiB a head ({processes} processes); the hub alone {empty:.0f} MiB")
    for gib in (8, 24):
        print(f"  {gib} GiB, a tenth of it left free, holds {int((gib * 1024 * 0.9 - empty) / head)}")
    print(*failed[:10], sep="\n")
    await asyncio.gather(*(r.leave() for r in readers), return_exceptions=True)


async def up() -> None:
    """Wait until the hub answers."""
    while True:
        try:
            await AsyncHTTPClient().fetch(HUB + "/hub/api/")
            return
        except (OSError, HTTPClientError):
            await asyncio.sleep(0.2)


async def measured(sizes: list[int], proxy: str) -> None:
    token = secrets.token_hex(16)
    with tempfile.TemporaryDirectory(prefix="classroom-") as folder:
        told = {"CLASSROOM": folder, "CLASSROOM_PASSWORD": secrets.token_hex(8), "CLASSROOM_MEASURED": token}
        told |= {"HUB_URL": HUB, "HOME": folder}
        settings = ROOT / "tests" / "benchmarks" / "hub_settings.py"
        command = [
            sys.executable,
            "-m",
            "jupyterhub",
            "-f",
            settings,
            f"--ConfigurableHTTPProxy.command={proxy}",
        ]
        with open(Path(folder, "hub.log"), "w") as log:
            hub = subprocess.Popen(command, cwd=folder, env=os.environ | told, stdout=log, stderr=log)
            try:
                await asyncio.wait_for(up(), 60)
                AsyncHTTPClient.configure(None, max_clients=200)
                for size in sizes:
                    await one_class(size, token, hub.pid)
            finally:
                hub.terminate()
                hub.wait()


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("sizes", type=int, nargs="*", default=[5, 10, 20])
    parser.add_argument(
        "--proxy", default="configurable-http-proxy", help="the program of that name, from npm"
    )
    given = parser.parse_args()
    asyncio.run(measured(given.sizes, given.proxy))
