"""Pictures: well-formed, titled for a screen reader, and with paints that can be told from the page."""

from xml.etree import ElementTree

import pytest

from advisor.drawing import PAINTS, Drawing

SVG = "{http://www.w3.org/2000/svg}"


def test_a_picture_says_what_it_shows() -> None:
    picture = Drawing(100, 50, "Bloom by week", "Two rows, one gap.")
    picture.rect(0, 0, 10, 5, "grass", tip="white clover & vetch")
    picture.text(5, 5, "<week 3>", anchor="middle")
    root = ElementTree.fromstring(picture.svg())
    assert root.get("role") == "img"
    assert root.findtext(f"{SVG}title") == "Bloom by week"
    assert root.findtext(f"{SVG}desc") == "Two rows, one gap."
    assert root.findtext(f"{SVG}rect/{SVG}title") == "white clover & vetch"
    assert root.findtext(f"{SVG}text") == "<week 3>"


def test_a_picture_may_lead_on() -> None:
    picture = Drawing(100, 50, "Weeks", "Each leads to its row.")
    with picture.link("#week-3", "Week 3: 12 mm of rain"):
        picture.rect(0, 0, 10, 10, "rain")
    picture.text(5, 5, "Rain", bold=True)
    root = ElementTree.fromstring(picture.svg())
    link = root.find(f"{SVG}a")
    assert link is not None
    assert link.attrib == {"href": "#week-3", "data-tells": "Week 3: 12 mm of rain"}
    assert link.find(f"{SVG}rect") is not None
    assert root.get("role") == "group"  # an image would hide its links from those who listen
    words = root.find(f"{SVG}text")
    assert words is not None
    assert words.get("class") == "fill-ink bold"


def _luminance(colour: str) -> float:
    """Relative luminance by WCAG 2.2 (definition of relative luminance, seen)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


@pytest.mark.parametrize("side", [0, 1])
@pytest.mark.parametrize("name", [name for name in PAINTS if name != "paper"])
def test_each_paint_stands_out_from_the_page(name: str, side: int) -> None:
    """WCAG 2.2, 1.4.11: graphics need a contrast of 3:1 against what is beside them; text 4.5:1 (1.4.3)."""
    light, dark = sorted((_luminance(PAINTS[name][side]), _luminance(PAINTS["paper"][side])), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= (4.5 if name == "ink" else 3)
