"""The year's hours and what fits this week.

plan(orchard, on=...)   this week and the next eight: jobs on days, what does not fit and why, the year's budget
plan_for(answer)        the same for an answer that is there already; `answer.plan()` for short
"""

from advisor.hours.planning import plan, plan_for

__all__ = ["plan", "plan_for"]
