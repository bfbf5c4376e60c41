"""Measures inside sentences, written in metric units, turned into US units for an orchard that is kept in them.

A step that reckons (with "=" in it) or counts degree-hours stays as it is, so that its arithmetic still holds.
"""

from __future__ import annotations

import re

from advisor.quantity import spoken

_UNITS = {"°C": "degC", "mm": "mm", "cm": "cm", "m": "m", "m2": "m2", "m3": "m3", "kg": "kg", "L": "L",
          "m/s": "m/s"}
_NUMBER = r"-?\d+(?:\.\d+)?"
_MEASURE = re.compile(
    rf"(?<![\w.])(?:({_NUMBER}) (to|and) )?({_NUMBER}) (°C|mm|cm|m/s|m2|m3|m|kg|L)(?![\w/])(?! (?:days|hours))"
)
_STEP = re.compile(r"(; )")


def in_us_units(text: str) -> str:
    """The sentence with its measures in US units: "low of -1.7 °C" becomes "low of 28.9 °F"."""
    return "".join(
        part if "=" in part or "degree-" in part else _MEASURE.sub(_turned, part) for part in _STEP.split(text)
    )


def _turned(found: re.Match[str]) -> str:
    first, word, last, unit = found.groups()
    shown = _roughly(last, unit)
    return shown if first is None else f"{_roughly(first, unit)} {word} {shown}"


def _roughly(number: str, unit: str) -> str:
    """A written measure as spoken; a length in round tens keeps to two figures, as 50 m does: 160 ft, not 164."""
    shown = spoken(float(number), _UNITS[unit], "us")
    value, _, written = shown.partition(" ")
    round_tens = number.isdigit() and number.endswith("0") and len(value) == 3 and value.isdigit()
    return f"{round(int(value), -1)} {written}" if round_tens else shown
