"""Why, why not, what if, look next: explanations that are proven by running again."""

from advisor.explain.look_next import look_next
from advisor.explain.what_if import what_if
from advisor.explain.why import why
from advisor.explain.why_not import why_not

__all__ = ["look_next", "what_if", "why", "why_not"]
