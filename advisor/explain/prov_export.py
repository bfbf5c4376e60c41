"""The tree of why as W3C PROV (PROV-JSON), for tools that audit where data came from.

Every node is an entity, derived from the nodes behind it; a published source is an entity that figures, rules, numbers
and paths have as their primary source. One activity stands for the run: it used the inputs, generated the recommendation
and was associated with the program in its edition. No times are given: advice is a function of its inputs.
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from advisor import extras
from advisor.answer import Record
from advisor.explain.nodes import INPUTS, titles, walk

if TYPE_CHECKING:
    from advisor.advice import Answer

NAMESPACE = "urn:underbough:"


def prov_json(answer: Answer, tree: Record) -> str:
    """PROV-JSON of a tree that `why` made for this answer. Needs the package prov (extra `all`)."""
    extras.need("prov")
    from prov.model import ProvDocument

    document: Any = ProvDocument()
    document.add_namespace("ub", NAMESPACE)
    edition = answer["edition"]
    run = document.activity(f"ub:advice/{answer['advice']}", other_attributes={
        "prov:label": f"advice for {answer['orchard']} on {answer['date']}", "prov:type": "ub:advice",
        **{f"ub:{name}": edition[name] for name in ("rules", "knowledge", "inputs")},
    })  # fmt: skip
    program = document.agent(f"ub:program/{quote(edition['software'])}", {
        "prov:type": "prov:SoftwareAgent", "prov:label": f"underbough {edition['software']}",
    })  # fmt: skip
    document.wasAssociatedWith(run, program)
    entities: dict[str, Any] = {}
    told: set[tuple[str, str]] = set()
    for one in walk(tree):
        entity = _entity(document, one, entities)
        if one.kind == "recommendation":
            document.wasGeneratedBy(entity, run)
        elif one.kind in INPUTS and (_name(one), "used") not in told:
            told.add((_name(one), "used"))
            document.used(run, entity)
        for child in one["from"]:
            if (_name(one), _name(child)) not in told:
                told.add((_name(one), _name(child)))
                document.wasDerivedFrom(entity, _entity(document, child, entities))
        for source in titles(one):
            name = f"ub:source/{quote(source, safe='')}"
            if (_name(one), name) not in told:
                told.add((_name(one), name))
                if name not in entities:
                    entities[name] = document.entity(name, {"prov:label": source, "prov:type": "ub:source"})
                document.hadPrimarySource(entity, entities[name])
    return str(document.serialize(format="json"))


def _entity(document: Any, one: Record, entities: dict[str, Any]) -> Any:
    """The entity of a node, made once."""
    name = _name(one)
    if name not in entities:
        said = {"prov:label": one.text, "prov:type": f"ub:{one.kind}", "prov:value": one.value, "ub:unit": one.unit,
                "ub:needed": one.needed}  # fmt: skip
        if one.source and not titles(one):
            said["ub:evidence"] = one.source
        entities[name] = document.entity(name, {key: value for key, value in said.items() if value is not None})
    return entities[name]


def _name(one: Record) -> str:
    """The name of a node's entity; a rule that spoke twice stands for two."""
    told_apart = "/" + hashlib.sha256(one.text.encode()).hexdigest()[:8] if one.kind == "rule" else ""
    return f"ub:{one.kind}/{quote(one.id, safe='')}{told_apart}"
