"""Pictures: what the results of the rooms below look like.  The lowest room that loads matplotlib."""

from mechlib.draw.live import LivePicture, Scene
from mechlib.draw.words import Word

__all__ = ["LivePicture", "Scene", "Word"]
