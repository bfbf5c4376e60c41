"""The leaves of an explanation: observations, the orchard file, the weather, the knowledge graph."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.answer import Record
from advisor.consequences import sentence
from advisor.explain.nodes import Nodes, node
from advisor.explain.wording import Wording, words_of
from advisor.fact import Fact
from advisor.weather import Weather

if TYPE_CHECKING:
    from advisor.advice import Run

# Where the orchard file says what facts of a kind say, under its block or habitat.
_FIELD_OF = {
    "cultivar": "cultivars", "understory": "understory", "guards": "guards", "irrigation": "irrigation",
    "frost-gear": "frost_gear", "history": "history", "habitat-plant": "plants", "mulch": "mulch",
}  # fmt: skip


class Leaves:
    """Makes leaves for one run."""

    def __init__(self, run: Run, nodes: Nodes) -> None:
        self.run = run
        self.nodes = nodes
        inference = run.inference
        resolver = inference.rulebook.resolver(inference.region)
        us = run.now.file.orchard.units == "us"
        self.say = Wording(resolver, run.now.knowledge, inference.show, us)
        self.observations = {seen.id: seen for seen in run.now.observations}

    def name(self, id: str) -> str:
        """The name that the knowledge has for an id."""
        found = self.run.now.knowledge.nodes.get(id)
        return found.name if found else words_of(id)

    def observation(self, id: str) -> Record:
        return node("observation", id, self.say.observation(self.observations[id]))

    def orchard(self, fact: Fact, fields: list[str]) -> Record:
        """What the orchard file says, by its place there."""
        said = self.say.fact(fact, fields)
        verb = "says" if ":" in said else "has"
        return node("orchard", self.place(fact), f"The orchard file {verb}: {said}")

    def place(self, fact: Fact) -> str:
        """Where in the orchard file a fact comes from: blocks.upper.history."""
        if fact.kind == "tool":
            return "orchard.tools"
        for group, name in (("blocks", "block"), ("habitats", "habitat")):
            if name in fact.fields:
                place = f"{group}.{fact.fields[name]}"
                return f"{place}.{_FIELD_OF[fact.kind]}" if fact.kind in _FIELD_OF else place
        return "orchard"

    def input(self, origin: str, fact: Fact) -> list[Record]:
        """The leaves that an origin stands for, other than a fact or a firing."""
        if origin in self.observations:
            return [self.observation(origin)]
        if origin in ("weather", "forecast"):
            return [self.weather(origin)]
        if origin == "orchard":
            place = self.place(fact)
            return [node("orchard", place, f"What the orchard file says under {place}")]
        if origin == "knowledge":
            return self.knowledge(fact)
        return []

    def weather(self, which: str) -> Record:
        """The span of the hourly weather, or of the forecast."""
        table = self.run.now.measured if which == "weather" else self.run.inputs.forecast
        name = "Hourly weather" if which == "weather" else "Hourly forecast"
        return node(which, which, f"{name} {self.span(table)}" if table is not None and len(table) else
                    f"{name}: none is known")  # fmt: skip

    def span(self, table: Weather) -> str:
        zone = self.run.now.file.zone
        first, last = (moment.astimezone(zone) for moment in (table.start, table.end))
        return f"from {first:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M}, {len(table)} hours"

    def knowledge(self, fact: Fact) -> list[Record]:
        """The links of the knowledge graph between the things that a fact names; failing those, the things."""
        known = self.run.now.knowledge
        words = [str(value) for value in fact.fields.values() if isinstance(value, str)]
        things = {found.key: found for word in words if (found := known.nodes.get(word))}
        links = [link for key in things for link in known.links_from(key) if link.end in things]
        by_link = [
            node(
                "knowledge",
                f"{link.start} {link.link} {link.end}",
                sentence(link, known),
                source=self.say.sources([link.source] if link.source else [], link.evidence),
            )
            for link in links
        ]
        by_thing = [
            node("knowledge", key, f"What is known of {thing.name}", source=self.say.sources(thing.sources))
            for key, thing in things.items()
        ]
        return by_link or by_thing or [node("knowledge", "knowledge", "The figures and tables of the knowledge")]
