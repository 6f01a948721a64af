"""What the slider widget lacks: names that a screen reader could say, and numbers with a decimal comma."""

from IPython.display import display

# Once for a page: whenever something is added to it, each slider's handle, and its number, is given
# its label as its name (W3C, "Accessible Name and Description Computation 1.2", 2D: aria-label).
# A number is typed beside a slider.  The widget reads it up to a comma and drops the rest: so before it does,
# the comma is made a point.  It waits for a "blur" at its own box, too, where none arrives, since that event
# doesn't rise (W3C, "UI Events", 3.3): a number left without Enter would stand there and not count.  So one
# that rises is sent after it.
SCRIPT = """(() => {
  const nameAll = () => document.querySelectorAll(".widget-slider").forEach(slider => {
    const label = slider.querySelector(".widget-label")?.textContent.trim();
    slider.querySelectorAll(".noUi-handle, .widget-readout").forEach(each => {
      if (label && each.ariaLabel !== label) each.ariaLabel = label;
      if (each.isContentEditable) each.role = "textbox";
    });
  });
  const read = event => {
    const number = event.target.closest?.(".widget-slider .widget-readout");
    if (!number || event.bubbles && event.key !== "Enter") return;
    if (number.textContent.includes(",")) number.textContent = number.textContent.replace(",", ".");
    if (!event.bubbles) number.dispatchEvent(new Event("blur", {bubbles: true}));
  };
  nameAll();
  if (window.sliderNames) return;
  for (const end of ["keydown", "blur"]) document.addEventListener(end, read, true);
  window.sliderNames = new MutationObserver(nameAll);
  window.sliderNames.observe(document.body, {childList: true, subtree: true});
})();
"""


def name_sliders() -> None:
    """Name the handles of all sliders in the page and of those that come later; commas may be typed there."""
    display({"application/javascript": SCRIPT}, raw=True)  # and no words where no script runs
