"""Sliders and boxes on top of the pictures and exercises.  The only room that loads ipywidgets."""

from mechlib.panels.base import Panel, Told

__all__ = ["Panel", "Told"]
