"""What the tests of a panel with text below its picture share: controls moved, text read off the page."""

from html import unescape


def ends_of(controls) -> dict[str, tuple]:
    """Both ends of every control, by its name."""
    return {name: (control.positions()[0], control.positions()[-1]) for name, control in controls.items()}


def put(panel, values) -> str:
    """Move every control; return the text below the picture, as it stands in the page."""
    for name, value in values.items():
        panel.controls[name].value = value
    assert panel.error is None
    page = panel.children[-2].value
    listed = unescape(page[page.index(">") + 1 : page.index("</pre>")])
    assert panel.text == panel.image.tooltip == repr(panel) and "nan" not in panel.text + listed
    return listed
