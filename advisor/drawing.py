"""Pictures as SVG, laid by hand: they print, follow light and dark pages, and can be read aloud.

Drawing     a picture with a title and a description; add shapes, then `svg()`
PAINTS      the colours of our pictures by name, each for light and for dark pages

Every picture stands beside a table that says the same, so no meaning hangs on colour: kinds are also told apart by
pattern or by words.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from xml.etree import ElementTree

# name: (on a light page, on a dark page); dark enough on light and light enough on dark for 3:1 against the page.
PAINTS = {
    "ink": ("#2b2a25", "#ece7da"),
    "faint": ("#8a8577", "#918c7e"),
    "paper": ("#fbf8f0", "#1d1f1a"),
    "grass": ("#4f7a3a", "#9cc47f"),
    "moss": ("#2f6b5e", "#7fc2b0"),
    "bark": ("#7a5536", "#cfa27c"),
    "straw": ("#9a7512", "#dcb85a"),
    "plum": ("#7d3f6b", "#d79ac4"),
    "rose": ("#b0413e", "#ee9a92"),
    "rain": ("#33658a", "#8dbbe0"),
}

_SIZE = 12  # of type, in the picture's own units


class Drawing:
    """A picture `width` by `height` units. Attribute values are numbers or words; `paint` is a name of PAINTS."""

    def __init__(self, width: float, height: float, title: str, description: str) -> None:
        self._root = ElementTree.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "viewBox": f"0 0 {_number(width)} {_number(height)}",
                "role": "img",
                "class": "drawing",
            },
        )
        ElementTree.SubElement(self._root, "title").text = title
        ElementTree.SubElement(self._root, "desc").text = description
        ElementTree.SubElement(self._root, "style").text = _style()
        self._group = self._root

    def rect(self, x: float, y: float, width: float, height: float, paint: str, tip: str = "", **more: object) -> None:
        """A filled box; `tip` is shown when pointed at."""
        self._add("rect", {"x": x, "y": y, "width": width, "height": height, **more}, f"fill-{paint}", tip)

    def line(self, x1: float, y1: float, x2: float, y2: float, paint: str = "faint", **more: object) -> None:
        self._add("line", {"x1": x1, "y1": y1, "x2": x2, "y2": y2, **more}, f"line-{paint}")

    def path(self, d: str, paint: str, tip: str = "", *, filled: bool = False, **more: object) -> None:
        self._add("path", {"d": d, **more}, f"{'fill' if filled else 'line'}-{paint}", tip)

    def circle(self, cx: float, cy: float, r: float, paint: str, tip: str = "", **more: object) -> None:
        self._add("circle", {"cx": cx, "cy": cy, "r": r, **more}, f"fill-{paint}", tip)

    def text(
        self, x: float, y: float, words: str, anchor: str = "start", paint: str = "ink", *, bold: bool = False,
        **more: object,
    ) -> None:  # fmt: skip
        """Words with their baseline at y; anchor: start, middle or end."""
        css = f"fill-{paint} bold" if bold else f"fill-{paint}"
        self._add("text", {"x": x, "y": y, "text-anchor": anchor, **more}, css).text = words

    @contextmanager
    def link(self, address: str, tells: str = "") -> Iterator[None]:
        """Shapes drawn inside lead to an address; the words among them name the link. The picture is then no longer one
        image. tells: what a page may show of it (data-tells)."""
        self._root.set("role", "group")
        outside, self._group = self._group, ElementTree.SubElement(self._group, "a", {"href": address})
        if tells:
            self._group.set("data-tells", tells)
        yield
        self._group = outside

    def svg(self) -> str:
        """The picture as text, ready to stand in a page or a file."""
        return ElementTree.tostring(self._root, encoding="unicode")

    def _add(self, tag: str, attributes: dict[str, object], css: str, tip: str = "") -> ElementTree.Element:
        given = {name.replace("_", "-"): _number(value) for name, value in attributes.items()}
        element = ElementTree.SubElement(self._group, tag, {"class": css, **given})
        if tip:
            ElementTree.SubElement(element, "title").text = tip
        return element


def _style() -> str:
    """The paints as classes; a page that is dark, and only there, gets the dark ones. Print is always light."""
    light = "".join(f".fill-{n}{{fill:{a}}}.line-{n}{{stroke:{a};fill:none}}" for n, (a, _) in PAINTS.items())
    dark = "".join(f".fill-{n}{{fill:{b}}}.line-{n}{{stroke:{b};fill:none}}" for n, (_, b) in PAINTS.items())
    type_ = f"text{{font:{_SIZE}px sans-serif}}.bold{{font-weight:bold}}"
    return f"{type_}{light}@media screen and (prefers-color-scheme:dark){{{dark}}}"


def _number(value: object) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value)
