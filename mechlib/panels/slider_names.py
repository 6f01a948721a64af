"""Names for the handles of sliders, which the slider widget gives none that a screen reader could say."""

from IPython.display import display

# Once for a page: whenever something is added to it, each slider's handle, and its number, is given
# its label as its name (W3C, "Accessible Name and Description Computation 1.2", 2D: aria-label).
SCRIPT = """(() => {
  const nameAll = () => document.querySelectorAll(".widget-slider").forEach(slider => {
    const label = slider.querySelector(".widget-label")?.textContent.trim();
    slider.querySelectorAll(".noUi-handle, .widget-readout").forEach(each => {
      if (label && each.ariaLabel !== label) each.ariaLabel = label;
      if (each.isContentEditable) each.role = "textbox";
    });
  });
  nameAll();
  if (window.sliderNames) return;
  window.sliderNames = new MutationObserver(nameAll);
  window.sliderNames.observe(document.body, {childList: true, subtree: true});
})();
"""


def name_sliders() -> None:
    """Name the handles of all sliders in the page, and of those that come later."""
    display({"application/javascript": SCRIPT}, raw=True)  # and no words where no script runs
