"""The year's hours and what fits this week.

    plan(orchard, on=...)   this week and the next eight: jobs on days, what does not fit and why, the year's budget
"""

from advisor.hours.planning import plan

__all__ = ["plan"]
