"""The README says what is true now."""

import re
from pathlib import Path

from refresh_readme import README, counts, refreshed

TOP = README.parent


def test_counts_are_fresh():
    text = README.read_text("utf-8")
    assert refreshed(text) == text, "stale counts: run python tests/refresh_readme.py"
    assert counts() in text


def test_every_link_leads_somewhere():
    for name in ("README.md", "DEVELOPERS.md"):
        links = re.findall(r"\]\(([^)#]+)\)", (TOP / name).read_text("utf-8"))
        assert not [link for link in links if not (TOP / link).exists()]


def test_every_picture_has_words():
    assert all(alt.strip() for alt in re.findall(r"!\[([^\]]*)\]", README.read_text("utf-8")))


def test_start_page_links_every_lesson():
    start = (TOP / "notebooks" / "00_start_here.ipynb").read_text("utf-8")
    lessons = [
        path.name for path in Path(TOP / "notebooks").glob("*.ipynb") if not path.name.startswith("00_")
    ]
    assert lessons and not [name for name in lessons if f"({name})" not in start]
