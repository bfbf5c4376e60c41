"""What is known of a plant, pest, practice and so on, in words: its own facts, and its links both ways."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from advisor.api.pages import saying
from advisor.drawing import Drawing
from advisor.ecosystem import Knowledge, Link, Node, Season
from advisor.explain.wording import words_of
from advisor.science.hardiness import coldest_of
from advisor.sentences import in_words

Shown = dict[str, Any]

# Address, kind, heading.
KINDS: dict[str, tuple[str, str]] = {
    "plants": ("plant", "Plants"), "habitats": ("habitat", "Habitats"), "allies": ("ally", "Helpful creatures"),
    "pests": ("pest", "Pests"), "diseases": ("disease", "Diseases"), "practices": ("practice", "Work"),
    "materials": ("material", "Materials"), "stages": ("stage", "Stages"), "resources": ("resource", "Resources"),
    "soil-life": ("soil-life", "Soil life"),
}  # fmt: skip
ADDRESS = {kind: address for address, (kind, _) in KINDS.items()}

# What a link says of its beginning, and what it says seen from its end.
SAYS: dict[str, tuple[str, str]] = {
    "happens-at": ("happens at", "is the time of"), "susceptible-at": ("is open to it at", "opens"),
    "hosts": ("hosts", "lives on"), "alternate-host-of": ("is the other host of", "also lives on"),
    "eats": ("eats", "is eaten by"), "parasitises": ("parasitises", "is parasitised by"),
    "shelters": ("shelters", "is sheltered by"), "feeds": ("feeds", "is fed by"),
    "blooms": ("in bloom gives", "comes from the bloom of"), "gathers": ("gathers", "is gathered by"),
    "competes-with": ("competes with", "has to compete with"), "builds": ("builds", "is built by"),
    "disturbs": ("disturbs", "is disturbed by"), "suppresses": ("holds down", "is held down by"),
    "favours": ("favours", "is favoured by"), "harms": ("harms", "is harmed by"), "spreads": ("spreads", "is spread by"),
    "needs": ("needs", "is needed by"), "conflicts-with": ("cannot go with", "cannot go with"),
}  # fmt: skip
STRENGTH = {1: "a little", 2: "clearly", 3: "strongly"}
_OUT_OF_SIGHT = {"kind", "id", "name", "also", "latin", "note", "cautions", "evidence", "sources"}
_MOST_TWIGS = 8
_WIDTH, _LINE, _MIDDLE = 360.0, 15.0, 180.0


def node_at(known: Knowledge, address: str, id: str) -> Node | None:
    """The node of an address such as plants/yarrow."""
    kind = KINDS.get(address, ("", ""))[0]
    found = known.resolve(id, kind=kind) if kind else None
    return found if found is not None and found.id == id else None


def address_of(node: Node) -> str:
    return f"/read/knowledge/{ADDRESS[node.kind]}/{node.id}"


def node_page(known: Knowledge, node: Node, title_of: Mapping[str, str], keep: str = "") -> Shown:
    """What stands on the page of a node. title_of: the title of each source. keep: what addresses carry on."""
    out, back = known.links_from(node.key), known.links_to(node.key)
    return {
        "name": saying.sentence(node.name),
        "kind": KINDS[ADDRESS[node.kind]][1],
        "kind_at": ADDRESS[node.kind],
        "latin": node.latin,
        "also": [words_of(one) for one in node.also],
        "note": node.note,
        "cautions": list(node.cautions),
        "facts": _facts(node),
        "evidence": saying.EVIDENCE_WORDS[node.evidence],
        "sources": [(id, title_of.get(id, id)) for id in node.sources],
        "out": _groups(known, out, True),
        "back": _groups(known, back, False),
        "drawn": links_picture(known, node, keep) if out or back else "",
    }


def _facts(node: Node) -> list[tuple[str, str]]:
    """The node's own fields that are filled in."""
    found = []
    for name, value in node.model_dump(mode="python", by_alias=True, exclude_none=True).items():
        if name in _OUT_OF_SIGHT or value in ((), [], "", False):
            continue
        found.append((saying.sentence(words_of(name)), _value(name, value)))
    return found


def _value(name: str, value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name in ("nectar", "pollen"):
        return f"{value} of 3"
    if name == "bloom":
        return f"weeks {value['from']:g} to {value['to']:g} from apple full bloom"
    if name == "hardiness":
        mild = f" to {value['mildest']}" if value.get("mildest") else ""
        return f"hardiness zone {value['zone']}{mild}: winters down to {coldest_of(value['zone']):.0f} °C"
    if name == "years":
        return f"{value[0]} to {value[1]}"
    if name == "height":
        return f"{value['min']:g} to {value['max']:g} cm"
    if name == "active":
        return f"weeks {value['from_week']:g} to {value['to_week']:g} from apple full bloom"
    if name == "ph":
        return f"{value[0]:g} to {value[1]:g}"
    if name == "open_stages":
        return ", ".join(f"{words_of(one['fruit'])} BBCH {one['bbch'][0]} to {one['bbch'][1]}" for one in value)
    if name == "bbch":
        return " to ".join(map(str, value)) if isinstance(value, list | tuple) else str(value)
    if isinstance(value, list | tuple):
        return ", ".join(words_of(str(one)) for one in value)
    if isinstance(value, float | int):
        return f"{value:g}{' %' if name.endswith('_pct') else ''}"
    return words_of(value) if name != "does" else str(value)


def season_words(season: Season) -> str:
    """When a link acts."""
    if season.bbch:
        return f"{words_of(str(season.fruit))} at BBCH {season.bbch[0]} to {season.bbch[1]}"
    if season.weeks:
        return f"weeks {season.weeks[0]:g} to {season.weeks[1]:g} from apple full bloom"
    return "in winter" if season.winter else "all year"


def _groups(known: Knowledge, links: Sequence[Link], out: bool) -> list[Shown]:
    """The links by what they say, each with the other end, the strongest first."""
    found: dict[str, list[Shown]] = {}
    for link in sorted(links, key=lambda one: (-one.strength, one.end if out else one.start)):
        other = known.nodes[link.end if out else link.start]
        found.setdefault(SAYS[link.link][0 if out else 1], []).append({
            "name": other.name,
            "at": address_of(other),
            "how": f"{STRENGTH[link.strength]}, {season_words(link.season)}; {saying.EVIDENCE_WORDS[link.evidence]}",
            "source": link.source,
            "note": link.note,
        })  # fmt: skip
    return [{"says": saying.sentence(says), "ends": ends} for says, ends in sorted(found.items())]


def links_picture(known: Knowledge, node: Node, keep: str = "") -> str:
    """The strongest links as twigs on a stem: on the left what acts on it, on the right what it does. The thicker the
    twig, the stronger the link; the lists beside it say the same. keep: what the addresses of its links carry on."""
    sides = [_twigs(known, known.links_to(node.key), False), _twigs(known, known.links_from(node.key), True)]
    rows = max(len(one) for one in sides)
    height = 54 + rows * (2 * _LINE + 8)
    drawing = Drawing(_WIDTH, height, f"The strongest links of {node.name}",
                      "; ".join(f"{says} {other.name}" for side in sides for says, other, _ in side))  # fmt: skip
    drawing.text(_MIDDLE, 16, _short(node.name, 44), "middle", bold=True)
    drawing.text(_MIDDLE - 14, 36, "What acts on it", "end", "faint")
    drawing.text(_MIDDLE + 14, 36, "What it does", "start", "faint")
    drawing.line(_MIDDLE, 24, _MIDDLE, height - 8, "bark", stroke_width=3)
    for side, (twigs, to, anchor) in enumerate(zip(sides, (-1, 1), ("end", "start"), strict=True)):
        for row, (says, other, strength) in enumerate(twigs):
            y = 58.0 + row * (2 * _LINE + 8)
            x = _MIDDLE + to * 14
            drawing.line(_MIDDLE, y - 2, x - to * 2, y - 4, "moss" if side else "plum", stroke_width=strength * 1.5)
            with drawing.link(address_of(other) + keep, f"{says} {other.name}"):
                drawing.text(x, y, says, anchor)
                drawing.text(x, y + _LINE, _short(other.name, 25), anchor, bold=True)
    return drawing.svg()


def _twigs(known: Knowledge, links: Sequence[Link], out: bool) -> list[tuple[str, Node, int]]:
    """The strongest links of a side, no two to the same end with the same words."""
    found: dict[tuple[str, str], tuple[str, Node, int]] = {}
    for link in sorted(links, key=lambda one: (-one.strength, one.link, one.start, one.end)):
        end = link.end if out else link.start
        says = SAYS[link.link][0 if out else 1]
        found.setdefault((says, end), (says, known.nodes[end], link.strength))
    return list(found.values())[:_MOST_TWIGS]


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1].rstrip() + "\u2026"


def find_nodes(known: Knowledge, word: str) -> list[Node]:
    """Nodes in whose names every word stands; those whose name begins with it first."""
    wanted = in_words(word.lower()).split()

    def names(node: Node) -> str:
        return in_words(" ".join((node.name, node.id, *node.also, node.latin or "")).lower())

    found = [node for node in known.nodes.values() if wanted and all(one in names(node) for one in wanted)]
    return sorted(found, key=lambda node: (not node.name.lower().startswith(wanted[0]), node.name.lower(), node.kind))
