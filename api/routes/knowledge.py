"""The knowledge and the rules that advice rests on, to be read."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from functools import lru_cache
from pathlib import PurePath
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Request, Response
from starlette.exceptions import HTTPException

from advisor.advice import default_rules
from advisor.api.asking import Asking
from advisor.api.exchange import JSON, accepting, answer, only_known
from advisor.api.paging import After, Limit, Page, page, place
from advisor.api.problems import refusals
from advisor.conditions import FigureRef, Rule, StageRef, Test, Var
from advisor.ecosystem import knowledge

router = APIRouter(tags=["knowledge"], dependencies=[Depends(only_known), Depends(accepting(JSON))])

_NODES = {
    "plants": "plant",
    "habitats": "habitat",
    "allies": "ally",
    "pests": "pest",
    "diseases": "disease",
    "practices": "practice",
    "materials": "material",
    "stages": "stage",
    "resources": "resource",
    "soil-life": "soil-life",
}
_OTHERS = {"links": "link", "figures": "figure", "sources": "source"}
_KINDS = {**{one: one for one in (*_NODES.values(), *_OTHERS.values())}, **_NODES, **_OTHERS}

Kind = Annotated[
    str,
    Path(description="What is asked for.", json_schema_extra={"enum": sorted(_KINDS)}, examples=["plants"]),
]


@router.get("/knowledge/{kind}", response_model=Page, responses=refusals(304, 401, 403, 404, 406, 422, 429))
def list_knowledge(request: Request, kind: Kind, asker: Asking, limit: Limit = 50, after: After = None) -> Response:
    """What is known of a kind: nodes of the ecosystem, the links between them, figures, or sources."""
    if kind not in _KINDS:
        raise HTTPException(404, f"There is no kind {kind[:40]!r}. Kinds: {', '.join(sorted(set(_KINDS.values())))}.")
    return _listing(request, _entries(_KINDS[kind]), limit, after)


@router.get("/rules", response_model=Page, responses=refusals(304, 401, 403, 404, 406, 422, 429))
def list_rules(request: Request, asker: Asking, limit: Limit = 50, after: After = None) -> Response:
    """The rules, by id: when each fires, what it then says, and the evidence and sources for it."""
    return _listing(request, _rules(), limit, after)


def _listing(request: Request, entries: Mapping[str, Any], limit: int, after: str | None) -> Response:
    names = tuple(entries)
    first = bisect_right(names, place(after, str) or "")
    found = names[first : first + limit + 1]
    return answer(request, page(found, limit, entries.__getitem__, str))


@lru_cache(maxsize=32)
def _entries(kind: str) -> Mapping[str, Any]:
    """By id; links, which have none, by their ends and kind."""
    known = knowledge()
    if kind == "link":
        links = (link.model_dump(mode="json", by_alias=True, exclude_defaults=True) for link in known.links)
        numbered = sorted(
            ((f"{one['from']} {one['link']} {one['to']}", one) for one in links), key=lambda pair: pair[0]
        )
        return {f"{name} {position:06}": one for position, (name, one) in enumerate(numbered)}
    if kind in ("figure", "source"):
        table = known.figures if kind == "figure" else known.sources
        found = {name: one.model_dump(mode="json", by_alias=True) for name, one in table.items()}
    else:
        found = {
            node.id: node.model_dump(mode="json", by_alias=True) for node in known.nodes.values() if node.kind == kind
        }
    return dict(sorted(found.items()))


@lru_cache(maxsize=1)
def _rules() -> Mapping[str, Any]:
    return {rule.id: _rule(rule) for rule in sorted(default_rules().rules, key=lambda one: one.id)}


def _rule(rule: Rule) -> dict[str, Any]:
    return {
        "id": rule.id,
        "pack": PurePath(rule.file).stem,
        "layer": rule.layer,
        "when": _plain(rule.when),
        "unless": _plain(rule.unless),
        "even_if_not_seen": sorted(rule.even_if_not_seen),
        type(rule.output).__name__.lower(): _plain(rule.output),
        "because": rule.because,
        "evidence": rule.evidence,
        "sources": list(rule.sources),
    }


def _plain(value: Any) -> Any:
    """A part of a rule as it is written in a pack: $variables, {figure: id}, stages by name."""
    if isinstance(value, Var):
        return f"${value.name}"
    if isinstance(value, FigureRef):
        return {"figure": value.id}
    if isinstance(value, StageRef):
        return value.name
    if isinstance(value, Test):
        return {"field": value.field, value.op: _plain(value.bound)}
    if is_dataclass(value):
        said = {one.name: getattr(value, one.name) for one in fields(value) if one.name != "line"}
        return {name: _plain(inner) for name, inner in said.items() if inner not in (None, ())}
    if isinstance(value, Mapping):
        return {name: _plain(inner) for name, inner in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(inner) for inner in value]
    return value
