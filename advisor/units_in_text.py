"""Measures inside sentences, written in metric units, turned into US units for an orchard that is kept in them.

A step that reckons (with "=" in it) or counts degree-hours stays as it is, so that its arithmetic still holds. What was
measured is turned as it is; the measures of rules and texts are turned into round numbers, and those of cautions
never into a smaller distance.
"""

from __future__ import annotations

import re
from typing import Literal

from advisor.quantity import neatly, spoken

Telling = Literal["measured", "neat", "cautious"]

_UNITS = {"°C": "degC", "mm": "mm", "cm": "cm", "m": "m", "m2": "m2", "m3": "m3", "kg": "kg", "L": "L",
          "m/s": "m/s"}
_NUMBER = r"-?\d+(?:\.\d+)?"
_MEASURE = re.compile(
    rf"(?<![\w.])(?:({_NUMBER}) (to|and) )?({_NUMBER}) (°C|mm|cm|m/s|m2|m3|m|kg|L)(?![\w/])(?! (?:days|hours))"
)
_STEP = re.compile(r"(; )")


def in_us_units(text: str, telling: Telling = "measured") -> str:
    """The sentence with its measures in US units: "low of -1.7 °C" becomes "low of 28.9 °F"."""

    def turned(found: re.Match[str]) -> str:
        first, word, last, unit = found.groups()
        shown = _turned(last, unit, telling, text)
        return shown if first is None else f"{_turned(first, unit, telling, text)} {word} {shown}"

    return "".join(
        part if "=" in part or "degree-" in part else _MEASURE.sub(turned, part) for part in _STEP.split(text)
    )


def tells_a_difference(unit: str, name: str) -> bool:
    """Whether the degrees of a field or figure tell how far two temperatures lie apart, as a margin does."""
    return unit == "degC" and name.endswith("margin")


def degrees_apart(value: float, system: str) -> str:
    """How far two temperatures lie apart: half a degree C is nine tenths of a degree F, not 32.9 of them."""
    return f"{round(value * 1.8, 1):g} °F" if system == "us" else f"{round(value, 1):g} °C"


def _turned(number: str, unit: str, telling: Telling, text: str) -> str:
    """One measure; it stays exact where its neat reading stands in the text already, as somebody's own measure."""
    exact = _roughly(number, unit)
    if telling == "measured":
        return exact
    neat = neatly(float(number), _UNITS[unit], "us", at_least=telling == "cautious")
    return exact if neat in text and telling == "neat" else neat


def _roughly(number: str, unit: str) -> str:
    """A written measure as spoken; a length in round tens keeps to two figures, as 50 m does: 160 ft, not 164."""
    shown = spoken(float(number), _UNITS[unit], "us")
    value, _, written = shown.partition(" ")
    round_tens = number.isdigit() and number.endswith("0") and len(value) == 3 and value.isdigit()
    return f"{round(int(value), -1)} {written}" if round_tens else shown
