"""Measures inside sentences, written in metric units, turned into US units for an orchard that is kept in them.

A step that reckons (with "=" in it) or counts degree-hours stays as it is, so that its arithmetic still holds.
"""

from __future__ import annotations

import re

from advisor.quantity import spoken

_UNITS = {"°C": "degC", "mm": "mm", "cm": "cm", "m": "m", "m2": "m2", "m3": "m3", "kg": "kg", "m/s": "m/s"}
_NUMBER = r"-?\d+(?:\.\d+)?"
_MEASURE = re.compile(
    rf"(?<![\w.])(?:({_NUMBER}) (to|and) )?({_NUMBER}) (°C|mm|cm|m/s|m2|m3|m|kg)(?![\w/])(?! (?:days|hours))"
)
_STEP = re.compile(r"(; )")


def in_us_units(text: str) -> str:
    """The sentence with its measures in US units: "low of -1.7 °C" becomes "low of 28.9 °F"."""
    return "".join(
        part if "=" in part or "degree-" in part else _MEASURE.sub(_turned, part) for part in _STEP.split(text)
    )


def _turned(found: re.Match[str]) -> str:
    first, word, last, unit = found.groups()
    shown = spoken(float(last), _UNITS[unit], "us")
    return shown if first is None else f"{spoken(float(first), _UNITS[unit], 'us')} {word} {shown}"
