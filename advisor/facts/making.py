"""Make facts in the units that `rules/kinds.yaml` declares."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.conditions import Kind
from advisor.errors import InputError, Problem
from advisor.fact import LARGEST, Fact

_LENGTHS_IN_MM = {"fruit_diameter"}  # every other field in mm is rain or soil water, which is in mm inside


class Maker:
    """Makes facts of declared kinds; refuses (as a programming fault) a field that its kind does not have.

    file: the orchard's, named where what is given comes to a number that nobody can mean.
    """

    def __init__(self, kinds: Mapping[str, Kind], file: str = "orchard") -> None:
        self.kinds = kinds
        self.file = file

    def __call__(
        self,
        kind: str,
        about: str,
        values: Mapping[str, Any],
        *,
        origin: tuple[str, ...] = (),
        text: str = "",
        sources: tuple[str, ...] = (),
    ) -> Fact:
        """One fact. `about` makes its id; lengths come in m; fields that are None are left out."""
        declared = self.kinds[kind].fields
        fields = {name: _plain(name, value, declared[name].unit) for name, value in values.items() if value is not None}
        named = f"{kind}:{about}" if about else kind
        for name, value in fields.items():
            if isinstance(value, float) and not abs(value) < LARGEST:
                raise InputError(Problem(
                    self.file, named, f"{name.replace('_', ' ')} comes to more than can be meant",
                    "Check the trees, areas, lengths and counts that are given there.", None, f"{value:.3g}",
                ))  # fmt: skip
        return Fact(
            id=named,
            kind=kind,
            fields=fields,
            origin=origin,
            text=text,
            sources=sources,
        )


def _plain(name: str, value: Any, unit: str | None) -> str | float | bool:
    if isinstance(value, bool | str):
        return value
    factor = 100.0 if unit == "cm" else 1000.0 if name in _LENGTHS_IN_MM else 1.0
    return round(float(value) * factor, 4)
