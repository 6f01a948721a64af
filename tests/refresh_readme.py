"""Put the counts of handbook values into the README: `python tests/refresh_readme.py`."""

from __future__ import annotations

import re
from pathlib import Path

from mechlib.handbook import count_by_status
from mechlib.say import count, listing

README = Path(__file__).resolve().parents[1] / "README.md"
MEANING = {
    "published": "read in the named source",
    "recomputed": "remembered from print and recomputed",
    "derived": "exact mathematics",
    "practice": "common practice, no source",
    "memory": "from memory only",
}


def counts() -> str:
    """One sentence on how many values are compared, and where they are from."""
    by_status = {status: n for status, n in count_by_status().items() if n}
    parts = listing(f"{n} {status} ({MEANING[status]})" for status, n in by_status.items())
    return f"The library is compared with {count(sum(by_status.values()), 'handbook value')}: {parts}."


def refreshed(text: str) -> str:
    """The README's text with the counts as they are now."""
    return re.sub(
        r"(<!-- counts -->\n).*?(<!-- end of counts -->)",
        lambda m: m[1] + counts() + "\n" + m[2],
        text,
        flags=re.S,
    )


if __name__ == "__main__":
    README.write_text(refreshed(README.read_text("utf-8")), "utf-8")
