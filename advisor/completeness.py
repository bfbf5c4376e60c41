"""What a complete ecosystem graph holds, and what this one lacks.

The loader refuses what is wrong; this names what is missing: a pest without a winter place, an ally without food, a
practice that does not say what it disturbs, and lists inside nodes that the links do not bear out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING

from advisor.errors import Problem
from advisor.knowledge_schema import Ally, Disease, Habitat, Node, Pest, Plant, Practice

if TYPE_CHECKING:
    from advisor.ecosystem import Knowledge

LESS = ("disturbs", "harms", "suppresses", "competes-with")
MORE = ("favours", "builds", "feeds", "shelters", "spreads", "gathers")
HURTFUL_TOOLS = (
    "scythe", "sickle-bar", "flail-mower", "lawn-mower", "brush-cutter", "chipper", "chainsaw", "pruning-saw", "ladder",
    "cultivator", "backpack-sprayer", "air-sprayer", "heater",
)  # fmt: skip
ELSEWHERE = "elsewhere"
Gap = tuple[Node, str, str]


def check(knowledge: Knowledge) -> list[Problem]:
    """Everything that a complete graph would hold and this one does not; empty if it is complete."""
    gaps = [gap for node in knowledge.nodes.values() for rule in _RULES for gap in rule(node, knowledge)]
    return [Problem("knowledge", f"{node.kind} {node.id}", said, mend) for node, said, mend in gaps]


def _says(node: Node, *fields: str) -> Iterator[Gap]:
    for field in fields:
        if getattr(node, field) is None:
            yield node, f"`{field}` is not given", f"Add `{field}: [...]`, or `none-known`."


def _known(node: Node, field: str, names: Iterable[str], knowledge: Knowledge, kinds: tuple[str, ...]) -> Iterator[Gap]:
    for name in names:
        found = knowledge.nodes.get(name)
        if found is None or found.kind not in kinds:
            close = ", ".join(knowledge.nearest(name, kinds)) or "none"
            yield node, f"`{field}` names `{name}`, which is no {' or '.join(kinds)}", f"Nearest known: {close}."


def _borne_out(
    node: Node, field: str, names: Iterable[str], linked: set[str], sentence: Callable[[str], str]
) -> Iterator[Gap]:
    for name in names:
        if name not in linked:
            mend = f"Add the link `{sentence(name)}`, or take the name out."
            yield node, f"`{field}` names `{name}` but no link says so", mend


def _from(knowledge: Knowledge, key: str, kinds: tuple[str, ...]) -> set[str]:
    return {link.end for link in knowledge.links_from(key) if link.link in kinds}


def _to(knowledge: Knowledge, key: str, kinds: tuple[str, ...]) -> set[str]:
    return {link.start for link in knowledge.links_to(key) if link.link in kinds}


def _trouble(node: Node, knowledge: Knowledge) -> Iterator[Gap]:
    """Pests and diseases: hosts, open stages, winter place, what holds them."""
    if not isinstance(node, Pest | Disease):
        return
    yield from _says(node, "hosts", "open_stages", "winters_in")
    yield from _says(node, "eaten_by" if isinstance(node, Pest) else "suppressed_by")
    yield from _known(node, "fruits", node.fruits, knowledge, ("plant",))
    yield from _known(node, "hosts", node.hosts or (), knowledge, ("plant",))
    yield from _known(node, "alternate_hosts", node.alternate_hosts or (), knowledge, ("plant",))
    yield from _known(node, "open_stages", {stage.fruit for stage in node.open_stages or ()}, knowledge, ("plant",))
    winters = [place for place in node.winters_in or () if place != ELSEWHERE]
    yield from _known(node, "winters_in", winters, knowledge, ("habitat", "plant"))
    if isinstance(node, Pest):
        eaters = _to(knowledge, node.key, ("eats", "parasitises"))
        yield from _known(node, "eaten_by", node.eaten_by or (), knowledge, ("ally",))
        yield from _borne_out(node, "eaten_by", node.eaten_by or (), eaters, lambda name: f"{name} eats {node.id}")
    else:
        held_by = _to(knowledge, node.key, LESS)
        yield from _known(node, "suppressed_by", node.suppressed_by or (), knowledge, ("practice",))
        sentence = "{} suppresses " + node.id
        yield from _borne_out(node, "suppressed_by", node.suppressed_by or (), held_by, sentence.format)


def _ally(node: Node, knowledge: Knowledge) -> Iterator[Gap]:
    if not isinstance(node, Ally):
        return
    yield from _says(node, "prey", "adult_food", "winters_in")
    eaten = _from(knowledge, node.key, ("eats", "parasitises", "suppresses"))
    yield from _known(node, "prey", node.prey or (), knowledge, ("pest", "ally"))
    yield from _borne_out(node, "prey", node.prey or (), eaten, lambda name: f"{node.id} eats {name}")
    winters = [place for place in node.winters_in or () if place != ELSEWHERE]
    shelters = _to(knowledge, node.key, ("shelters",))
    yield from _known(node, "winters_in", winters, knowledge, ("habitat",))
    yield from _borne_out(node, "winters_in", winters, shelters, lambda name: f"{name} shelters {node.id}")


def _practice(node: Node, knowledge: Knowledge) -> Iterator[Gap]:
    if not isinstance(node, Practice):
        return
    yield from _says(node, "disturbs", "favours", "tools")
    for field, kinds in (("disturbs", LESS), ("favours", MORE)):
        names = getattr(node, field) or ()
        linked = _from(knowledge, node.key, kinds)
        for name in names:
            if name not in knowledge.nodes:
                yield node, f"`{field}` names `{name}`, which nobody knows", "Add the node, or take the name out."
        known = [name for name in names if name in knowledge.nodes]
        yield from _borne_out(node, field, known, linked, lambda name, verb=kinds[0]: f"{node.id} {verb} {name}")  # type: ignore[misc]
    for name in node.material:
        if knowledge.resolve(name, "material") is None:
            yield node, f"`material` names `{name}`, which is no material", "Add it to materials.yaml, or take it out."
    if not node.cautions and (node.group == "sprays" or set(node.tools or ()) & set(HURTFUL_TOOLS)):
        yield node, "its tools or materials can hurt and no caution is given", "Add `cautions:` with the usual ones."
    if node.group == "sprays" and node.hurts_bees_in_bloom is None:
        yield node, "`hurts_bees_in_bloom` is not given", "Add true or false."


def _plant(node: Node, knowledge: Knowledge) -> Iterator[Gap]:
    if isinstance(node, Plant) and not node.fruit:
        yield from _says(node, "nectar", "pollen", "root")


def _idle(node: Node, knowledge: Knowledge) -> Iterator[Gap]:
    """A habitat that no link names is drawn and not used."""
    if isinstance(node, Habitat) and not (knowledge.links_from(node.key) or knowledge.links_to(node.key)):
        yield node, "no link begins or ends here", "Add what it shelters, feeds or builds, or take it out."


_RULES: tuple[Callable[[Node, Knowledge], Iterator[Gap]], ...] = (_trouble, _ally, _practice, _plant, _idle)
