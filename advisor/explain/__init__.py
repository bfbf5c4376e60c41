"""Why, why not, what if, look next: explanations that are proven by running again."""

from advisor.explain.what_if import what_if
from advisor.explain.why import why

__all__ = ["what_if", "why"]
