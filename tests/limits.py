"""Limits on one act of the library: processor time and memory; and its only ends: a result or a MechError."""

from __future__ import annotations

import re
import resource
import signal
import time
import traceback
from collections.abc import Callable
from pathlib import Path

from mechlib.errors import MechError

SECONDS, MEGABYTES = 2.0, 200


class Broken(AssertionError):
    """What a reader of files must not do."""


class TooSlow(BaseException):
    """Two seconds are over; not caught by any ``except Exception``."""


class Watch:
    """Lets one thing after the other happen within the limits, and keeps the slowest and the largest."""

    def __init__(self):
        self.slowest, self.largest = (0.0, ""), (0.0, "")
        self.what = ""
        signal.signal(signal.SIGPROF, self._late)

    def _late(self, *_):
        raise TooSlow

    def act(self, what: str, do: Callable):
        """Return what ``do()`` gives, or its MechError; Broken for any other end."""
        before, begun = held_MB(), time.process_time()
        resource.setrlimit(resource.RLIMIT_DATA, (data_bytes() + MEGABYTES * 10**6, resource.RLIM_INFINITY))
        signal.setitimer(signal.ITIMER_PROF, SECONDS)
        try:
            return do()
        except MechError as refused:
            return refused
        except TooSlow:
            raise Broken(f"{what}: over {SECONDS:g} s") from None
        except MemoryError:
            raise Broken(f"{what}: over {MEGABYTES} MB") from None
        except Exception as error:
            raise Broken(f"{what}: {type(error).__name__}: {str(error)[:160]} ({where(error)})") from error
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0)
            resource.setrlimit(resource.RLIMIT_DATA, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
            label = f"{what}, {self.what}"
            self.slowest = max(self.slowest, (time.process_time() - begun, label))
            self.largest = max(self.largest, (held_MB(peak=True) - before, label))


def where(error: Exception) -> str:
    """The last places in the library that an error came through."""
    steps = traceback.extract_tb(error.__traceback__)
    ours = [f"{Path(step.filename).name}:{step.lineno}" for step in steps if "mechlib" in step.filename]
    return ", ".join(ours[-3:])


def held_MB(peak: bool = False) -> float:
    """The memory that the process holds now, from where a new peak is looked for; or that peak."""
    if not peak:
        Path("/proc/self/clear_refs").write_text("5")  # proc(5): the peak starts again from here
    key = "VmHWM" if peak else "VmRSS"
    return status_kB(key) / 1000


def data_bytes() -> int:
    return status_kB("VmData") * 1024


def status_kB(key: str) -> int:
    return int(re.search(rf"{key}:\s+(\d+)", Path("/proc/self/status").read_text())[1])
