"""Tools for software agents, over the Model Context Protocol: ask for advice and for its reasons, and record what is seen.

    serve(Desk("underbough.db"))        # speaks on standard input and output

Every tool but `record` only reads, and says so. An agent names an orchard that is kept in the journal, or hands over an
orchard file as JSON. Needs the extra `agents`, and `server` for orchards that are kept.
"""

from __future__ import annotations

import functools
from collections import OrderedDict
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

from pydantic import Field

from advisor import extras
from advisor.advice import Answer, Inputs, answer_to, day_of, default_rules, edition_of, id_of
from advisor.agents_shapes import Bloom, Looks, Plan, Recorded, WhatIf, WhyNode, WhyNot
from advisor.answer import AnswerShape
from advisor.ecosystem import knowledge
from advisor.errors import InputError, Problem
from advisor.orchard import OrchardFile, load_orchard

if TYPE_CHECKING:
    from mcp.server import MCPServer

    from advisor.journal import Journal

_HELD = 8  # answers kept with their runs, so that a why right after an advice costs little
_INSTRUCTIONS = (
    "Advice for growers who tend fruit trees as an ecosystem. Ask `advise` first; its recommendations have ids, which "
    "`why` explains. Pass on the cautions and say what is unknown: they are part of the advice. Units are always written "
    "(35 cm, 14 in). Record only what a person has seen or done."
)

Kept = Annotated[str | None, Field(description="The id of an orchard that is kept in the journal.")]
File = Annotated[
    dict[str, Any] | None,
    Field(description="An orchard file as JSON: orchard, blocks, habitats, observations, weather, forecast."),
]
On = Annotated[str | None, Field(description="The day, such as 2026-05-18, or an ISO time; today if left out.")]
_F = TypeVar("_F", bound=Callable[..., Any])


class Desk:
    """Where the questions of an agent are answered.

    journal: a file or a database address, opened when it is first needed. file: the orchard file that is meant where a
    question names neither orchard nor file.
    """

    def __init__(self, journal: str | Path, file: Path | None = None) -> None:
        self._address = journal
        self._file = file
        self._journal: Journal | None = None
        self._held: OrderedDict[str, Answer] = OrderedDict()

    def journal(self, *, make: bool = False) -> Journal:
        """The journal; where there is none yet it is made only to record."""
        if self._journal is None:
            from advisor.journal import Journal

            self._journal = Journal.open(self._address, make=make)
        return self._journal

    def answer(self, orchard: str | None, file: dict[str, Any] | None, on: str | None) -> Answer:
        """The answer that a question is about; nothing is kept of it."""
        read = self._read(orchard, file)
        inputs = Inputs(read, day_of(on, read), read.weather, read.forecast, default_rules(), knowledge())
        id = id_of(edition_of(inputs))
        if id not in self._held:
            self._held[id] = answer_to(inputs)
        self._held.move_to_end(id)
        while len(self._held) > _HELD:
            self._held.popitem(last=False)
        return self._held[id]

    def _read(self, orchard: str | None, file: dict[str, Any] | None) -> OrchardFile:
        if orchard is not None and file is not None:
            raise _refused("orchard", "both an orchard and a file are given", "Give one of the two.")
        if orchard is not None:
            return self.journal().file_of(orchard)
        if file is not None:
            return load_orchard(file, files=False)
        if self._file is not None:
            return load_orchard(self._file)
        raise _refused(
            "orchard", "it is not said which orchard is meant", "Give `orchard`, or an orchard file as `file`."
        )


def make_server(desk: Desk) -> MCPServer:
    """The server with its tools."""
    extras.need("mcp")
    from mcp.server import MCPServer
    from mcp.server.mcpserver.exceptions import ToolError
    from mcp.types import ToolAnnotations

    server = MCPServer("underbough", version=version("underbough"), instructions=_INSTRUCTIONS, log_level="WARNING")
    reads = ToolAnnotations(read_only_hint=True, idempotent_hint=True, open_world_hint=False)
    writes = ToolAnnotations(read_only_hint=False, destructive_hint=False, idempotent_hint=True, open_world_hint=False)

    def tool(annotations: ToolAnnotations) -> Callable[[_F], _F]:
        """A tool that answers refused input with its sentence, as something to be mended."""

        def made(act: _F) -> _F:
            @functools.wraps(act)
            def asked(*args: Any, **named: Any) -> Any:
                try:
                    return act(*args, **named)
                except InputError as refused:
                    raise ToolError(str(refused)) from None

            server.tool(annotations=annotations)(asked)
            return act

        return made

    @tool(reads)
    def advise(orchard: Kept = None, file: File = None, on: On = None) -> AnswerShape:
        """Say what to do, what to wait with, what to avoid and what to look at in an orchard on a day, and why."""
        return AnswerShape.model_validate(desk.answer(orchard, file, on))

    @tool(reads)
    def why(
        recommendation: Annotated[str, Field(description="The id of a recommendation of `advise`.")],
        orchard: Kept = None,
        file: File = None,
        on: On = None,
    ) -> WhyNode:
        """Explain a recommendation: a tree down to observations, figures and sources, proven by running again."""
        return WhyNode.model_validate(desk.answer(orchard, file, on).why(recommendation))

    @tool(reads)
    def why_not(
        practice: Annotated[str, Field(description="The id of a practice, such as first-mow.")],
        block: Annotated[str | None, Field(description="A block or habitat; any if left out.")] = None,
        orchard: Kept = None,
        file: File = None,
        on: On = None,
    ) -> WhyNot:
        """Say why a practice was not advised, and the smallest change that would bring it about."""
        return WhyNot.model_validate(desk.answer(orchard, file, on).why_not(practice, block))

    @tool(reads)
    def what_if(
        changes: Annotated[
            dict[str, Any],
            Field(
                description="Any of set (place: value, such as blocks.upper.floor: turf), add (observations), drop (ids), "
                "warmer (°C), rain (factor), on (a day), weather and forecast (hours)."
            ),
        ],
        orchard: Kept = None,
        file: File = None,
        on: On = None,
    ) -> WhatIf:
        """Show what appears, disappears and moves in the advice if the inputs were otherwise."""
        return WhatIf.model_validate(desk.answer(orchard, file, on).what_if(changes, files=False))

    @tool(reads)
    def look_next(orchard: Kept = None, file: File = None, on: On = None) -> Looks:
        """Rank the looks that could change most of the advice, with the minutes each takes and what each answer would do."""
        return Looks.model_validate({"looks": desk.answer(orchard, file, on).look_next()})

    @tool(reads)
    def plan(
        orchard: Kept = None,
        file: File = None,
        on: On = None,
        weeks: Annotated[int, Field(ge=0, le=12, description="Weeks after this one.")] = 8,
    ) -> Plan:
        """Fit the advised work into the hours of this week and those to come; say what slips and what that costs."""
        return Plan.model_validate(desk.answer(orchard, file, on).plan(weeks))

    @tool(reads)
    def bloom(
        orchard: Kept = None,
        file: File = None,
        on: On = None,
        wanted: Annotated[list[str] | None, Field(description="Plants that are asked about.")] = None,
        terms: Annotated[
            dict[str, Any] | None,
            Field(
                description="What is accepted of new plants: permanent, toxic, annuals, grazed, nitrogen (true or false), "
                "most (kinds), spots, region, prices."
            ),
        ] = None,
    ) -> Bloom:
        """Show the succession of bloom, the weeks that lack food for bees and allies, and plants that would help."""
        return Bloom.model_validate(desk.answer(orchard, file, on).bloom(wanted=wanted, terms=terms))

    @tool(writes)
    def record(
        orchard: Annotated[str, Field(description="The id of the orchard in the journal.")],
        file: File = None,
        observations: Annotated[
            list[dict[str, Any]] | None, Field(description="Observations: {date, kind, block or habitat, ...}.")
        ] = None,
        weather: Annotated[
            list[dict[str, Any]] | None, Field(description="Measured hours: {time, temp_c or temp_f, rain_mm, ...}.")
        ] = None,
        forecast: Annotated[list[dict[str, Any]] | None, Field(description="Forecast hours, in the same form.")] = None,
        key: Annotated[
            str | None, Field(description="An idempotency key: the same call again with it keeps nothing twice.")
        ] = None,
    ) -> Recorded:
        """Keep an orchard file, observations or hourly weather in the journal, all of it or nothing. Nothing is erased."""
        given = {name: one for name, one in (("file", file), ("observations", observations), ("weather", weather),
                                             ("forecast", forecast)) if one is not None}  # fmt: skip
        if len(given) != 1:
            raise _refused(
                "record", f"{len(given)} things to record", "Give one: file, observations, weather or forecast."
            )
        journal = desk.journal(make=True)
        if file is not None:
            return Recorded(orchard=orchard, version=journal.put_orchard(orchard, file, key=key).number)
        if observations is not None:
            return Recorded(orchard=orchard, observations=journal.observe(orchard, observations, key=key))
        ahead = forecast is not None
        counts = journal.weather(orchard, weather or forecast or [], forecast=ahead, key=key)
        return Recorded(orchard=orchard, hours={"forecast" if ahead else "weather": counts})

    return server


def serve(desk: Desk) -> None:
    """Speak on standard input and output until the input ends."""
    make_server(desk).run("stdio")


def _refused(place: str, message: str, mend: str) -> InputError:
    return InputError(Problem("request", place, message, mend))
