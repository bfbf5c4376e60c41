"""A site's season as the diseases of its blocks read it: the leaves' wettings, and what they infected."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from advisor import season
from advisor.facts.infections import APPLE_SCAB, Infection, Judge, apple_scab, infections
from advisor.facts.leaves import Leaves
from advisor.facts.nights import written_forecasts
from advisor.facts.situation import Situation
from advisor.facts.stage_dates import reached
from advisor.observation import ForecastSeen, LeafFall
from advisor.orchard import Block

# Parts that are open for a few weeks only: so long after the last look they are taken to have closed unseen (common
# practice, no source).
SHORT_LIVED, STILL_OPEN = frozenset({"blossom", "shoot"}), 14


@dataclass(frozen=True)
class Reading:
    """The season's leaves of a site, and the infections read off them for each block."""

    now: Situation
    leaves: Leaves | None

    @staticmethod
    def of(now: Situation) -> Reading:
        since = season.season_start(now.on, now.latitude)
        return Reading(now, Leaves.of(now.weather, since, now.now, now.file.zone))

    @cached_property
    def written(self) -> Mapping[int, ForecastSeen]:
        """Forecasts that the grower wrote down, by days from today, for days that no hourly forecast reaches."""
        hourly = self.leaves is not None and len(self.leaves) > self.leaves.now_at
        return {} if hourly else written_forecasts(self.now)

    def scabby(self, block: Block) -> bool:
        """True unless last autumn's count found scab on 1 % of the leaves or less."""
        return not self.clean(block)

    def clean(self, block: Block) -> bool:
        start = season.season_start(self.now.on, self.now.latitude)
        count = None
        for look in self.now.observations:
            if not isinstance(look, LeafFall) or look.scab_on_leaves is None or look.block not in (None, block.id):
                continue
            if start - dt.timedelta(days=270) <= look.date < start:
                count = look.scab_on_leaves
        limit = self.now.knowledge.figure("apple-scab.leaf-infection-at-leaf-fall").value(self.now.region).value
        return count is not None and count <= float(limit)

    def of_block(self, block: Block, judge: Judge) -> list[Infection]:
        """Infections of a disease while the block was, or is, open to it."""
        leaves = self.leaves
        opened = reached(self.now, block, judge.opens)
        if leaves is None or opened is None:
            return []
        closed = reached(self.now, block, judge.closes)
        first = leaves.first_hour(opened)
        end = len(leaves) if closed is None else leaves.first_hour(closed)
        stage = self.now.stages[block.id]
        if closed is None and stage.stale and stage.seen and judge.part in SHORT_LIVED:
            end = min(end, leaves.first_hour(stage.seen + dt.timedelta(days=STILL_OPEN)))
        if judge.disease == "cedar-apple-rust" and self.now.bloom.date is not None:
            weeks = self.now.knowledge.figure("cedar-apple-rust.leaves-safe-from-weeks").value(self.now.region).value
            end = min(end, leaves.first_hour(self.now.bloom.date + dt.timedelta(weeks=float(weeks))))
        return self.between(block, judge, first, end)

    def between(self, block: Block, judge: Judge, first: int, end: int) -> list[Infection]:
        if self.leaves is None:
            return []
        if judge is APPLE_SCAB:
            found = self._scab(self.scabby(block))
            return [one for one in found if first <= one.first < end]
        return infections(judge, block.fruit, self.leaves, first, end)

    def _scab(self, scabby: bool) -> list[Infection]:
        return self._both_scabs[scabby]

    @cached_property
    def _both_scabs(self) -> dict[bool, list[Infection]]:
        if self.leaves is None:
            return {True: [], False: []}
        wanted = {self.scabby(block) for block in self.now.blocks}
        where = self.now.latitude, self.now.file.orchard.longitude
        return {kind: apple_scab(self.leaves, 0, len(self.leaves), kind, *where) for kind in wanted}
