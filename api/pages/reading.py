"""Rules and knowledge, to be read: any rule in plain words with its sources and cases; the graph from any node on."""

from __future__ import annotations

from functools import lru_cache
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, HTTPException, Request, Response

from advisor.advice import default_rules
from advisor.api.exchange import in_turn
from advisor.api.pages import rule_words, saying
from advisor.api.pages.knowledge_words import KINDS, address_of, find_nodes, node_at, node_page
from advisor.api.pages.layout import render
from advisor.api.pages.visit import Visitor
from advisor.ecosystem import Figure, Source, knowledge
from advisor.explain.wording import words_of
from advisor.sentences import in_words

router = APIRouter(include_in_schema=False)

Shown = dict[str, Any]

MOST_FOUND = 80
LONGEST_WORD = 60


@router.get("/read/rules")
async def rules(request: Request, visitor: Visitor, word: str = "", pack: str = "") -> Response:
    """The subjects, and the rules of one of them, or those that a word stands in."""
    word = word.strip()[:LONGEST_WORD]
    found = await in_turn(request, rule_words.find_rules, word, pack) if word or pack else []
    if pack and not found and not word:
        raise HTTPException(404, f"There are no rules under {pack[:40]!r}.")
    layers: dict[str, list[Shown]] = {}
    for rule in found[:MOST_FOUND]:
        shown = {"id": rule.id, "title": rule_words.title(rule), "gist": rule_words.gist(rule)}
        layers.setdefault(rule_words.LAYERS[rule.layer], []).append(shown)
    return _page(
        request, "rules.html", "/read/rules", word=word, pack=pack, packs=rule_words.packs(), layers=list(layers.items()),
        found=len(found), shown=min(len(found), MOST_FOUND), pack_name=saying.sentence(words_of(pack)),
    )  # fmt: skip


@router.get("/read/rules/{rule}")
async def one_rule(request: Request, visitor: Visitor, rule: str) -> Response:
    found = _rules().get(rule)
    if found is None:
        raise HTTPException(404, f"There is no rule {rule[:80]!r}.")
    return _page(request, "rule.html", "/read/rules", **await in_turn(request, rule_words.rule_page, found))


@router.get("/read/knowledge")
async def all_kinds(request: Request, visitor: Visitor, word: str = "") -> Response:
    known = knowledge()
    word = word.strip()[:LONGEST_WORD]
    nodes = find_nodes(known, word)
    counts = [(address, words, sum(node.kind == kind for node in known.nodes.values()))
              for address, (kind, words) in KINDS.items()]  # fmt: skip
    counts += [("figures", "Figures", len(known.figures)), ("sources", "Sources", len(known.sources))]
    return _page(
        request, "knowledge.html", "/read/knowledge", word=word, kinds=counts, found=len(nodes),
        nodes=[{"name": saying.sentence(node.name), "at": address_of(node), "kind": in_words(node.kind)}
               for node in nodes[:MOST_FOUND]],
    )  # fmt: skip


@router.get("/read/knowledge/{kind}")
async def one_kind(request: Request, visitor: Visitor, kind: str) -> Response:
    known = knowledge()
    if kind == "figures":
        title, entries = (
            "Figures",
            [(f"/read/knowledge/figures/{id}", one.what, id) for id, one in known.figures.items()],
        )
    elif kind == "sources":
        title = "Sources"
        entries = [
            (f"/read/knowledge/sources/{id}", one.title, str(one.year or "")) for id, one in known.sources.items()
        ]
    elif kind in KINDS:
        of, title = KINDS[kind]
        nodes = [node for node in known.nodes.values() if node.kind == of]
        entries = [(address_of(node), saying.sentence(node.name), node.latin or "") for node in nodes]
    else:
        raise HTTPException(404, f"There is no kind {kind[:40]!r}.")
    entries.sort(key=lambda one: one[1].lower())
    return _page(request, "kind.html", "/read/knowledge", title=title, entries=entries)


@router.get("/read/knowledge/{kind}/{id}")
async def one_node(request: Request, visitor: Visitor, kind: str, id: str) -> Response:
    known = knowledge()
    if kind == "figures" and id in known.figures:
        return _page(request, "figure.html", "/read/knowledge", **_figure(known.figures[id]))
    if kind == "sources" and id in known.sources:
        return _page(request, "source.html", "/read/knowledge", **_source(known.sources[id]))
    node = node_at(known, kind, id)
    if node is None:
        raise HTTPException(404, f"Nothing is known of {id[:60]!r} among {kind[:40]}.")
    context = await in_turn(request, node_page, known, node, _titles(), _keep(request))
    return _page(request, "node.html", "/read/knowledge", rules=rule_words.rules_about(node.id), **context)


def _page(request: Request, template: str, tab: str, **context: Any) -> Response:
    return render(request, template, tab=tab, keep=_keep(request), **context)


def _keep(request: Request) -> str:
    """What addresses carry on, so that the tabs of an orchard stay."""
    orchard = request.query_params.get("orchard", "")
    return f"?orchard={quote(orchard, safe='')}" if orchard else ""


@lru_cache(maxsize=1)
def _rules() -> dict[str, Any]:
    return {rule.id: rule for rule in default_rules().rules}


@lru_cache(maxsize=1)
def _titles() -> dict[str, str]:
    return {id: source.title for id, source in knowledge().sources.items()}


def _figure(figure: Figure) -> Shown:
    used = [rule for rule in default_rules().rules if figure.id in rule.figures()]
    return {
        "title": saying.sentence(figure.what),
        "id": figure.id,
        "note": figure.note,
        "rows": [
            {
                "region": words_of(row.region) if row.region != "any" else "everywhere",
                "default": row.region == figure.default or len(figure.rows) == 1,
                "value": f"{row.value:g} {figure.unit}" if isinstance(row.value, float | int) else words_of(row.value),
                "evidence": saying.EVIDENCE_WORDS[row.evidence],
                "source": (row.source, _titles().get(row.source, row.source)) if row.source else None,
                "note": row.note,
            }
            for row in figure.rows
        ],
        "rules": [{"id": one.id, "title": rule_words.title(one), "gist": rule_words.gist(one)} for one in used],
    }


def _source(source: Source) -> Shown:
    known = knowledge()
    linked = [known.nodes[end] for link in known.links if link.source == source.id for end in (link.start, link.end)]
    cited = {node.key: node for node in (*known.nodes.values(), *linked) if source.id in node.sources or node in linked}
    rules = [rule for rule in default_rules().rules if source.id in rule.sources]
    figures = [(id, one.what) for id, one in known.figures.items() if any(row.source == source.id for row in one.rows)]
    authors = source.authors if isinstance(source.authors, str) else ", ".join(source.authors or ())
    return {
        "title": source.title,
        "authors": authors,
        "where": source.where,
        "year": source.year,
        "address": source.url,
        "seen": {"seen": "Read by those who keep this knowledge.", "second-hand": "Known from another that cites it.",
                 "memory": "Cited from memory, not checked."}[source.seen],
        "note": source.note,
        "nodes": [(address_of(node), saying.sentence(node.name)) for node in sorted(cited.values(), key=lambda n: n.name.lower())],
        "figures": figures,
        "rules": [{"id": one.id, "title": rule_words.title(one), "gist": rule_words.gist(one)} for one in rules],
    }  # fmt: skip
