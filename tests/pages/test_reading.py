"""Rules and knowledge as pages: every rule and every node can be read, in words, and every link leads on."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from page_house import furnish, settings

from advisor.advice import default_rules
from advisor.api.pages.knowledge_words import KINDS, SAYS, find_nodes, node_page, season_words
from advisor.api.pages.rule_words import filled, find_rules, packs, rule_page
from advisor.api.service import make_app
from advisor.ecosystem import Season, knowledge


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Any:
    path = tmp_path_factory.mktemp("reading") / "journal.db"
    furnish(path)
    with TestClient(make_app(settings(path)), follow_redirects=False) as found:
        yield found


def test_every_rule_reads_in_words() -> None:
    for rule in default_rules().rules:
        page = rule_page(rule)
        said = [page["because"], page["then"]["head"], *page["then"]["lines"], *page["then"]["care"]]
        said += [one["text"] for one in (*page["when"], *page["unless"])]
        for text in said:
            assert text, rule.id
            assert not re.search(r"[{}$_`]", text), (rule.id, text)
        assert len(page["when"]) == len(rule.when)
        assert {one["fires"] for one in page["cases"]} == {True, False}, rule.id
        assert page["sources"] or "no source" in page["evidence"] or "memory" in page["evidence"], rule.id


def test_a_rule_tells_what_it_goes_by() -> None:
    rule = next(one for one in default_rules().rules if one.id == "cover-before-scab-rain")
    page = rule_page(rule)
    assert page["when"][0]["text"] == "Block: fruit apple or pear"
    assert page["then"]["head"].startswith("Do: spraying sulphur, for or against [disease].")
    assert page["figures"][0]["value"] == "2 days"  # the figure infection.act-ahead-days
    assert "clean-orchard-may-wait" in [one["id"] for one in page["behind"]]
    assert page["then"]["care"][0].startswith("Follow the label")


def test_rules_lead_on_both_ways() -> None:
    rules = {rule.id: rule for rule in default_rules().rules}
    behind = {one["id"] for one in rule_page(rules["cover-before-scab-rain"])["behind"]}
    for id in behind:
        assert "cover-before-scab-rain" in {one["id"] for one in rule_page(rules[id])["leads_to"]}
    assert behind


def test_slots_and_figures_are_filled() -> None:
    assert filled("Wait in {block}: {infection.act-ahead-days}.") == "Wait in [block]: 2 days."


def test_the_subjects_hold_all_rules_and_words_find_them() -> None:
    assert sum(number for _, _, number in packs()) == len(default_rules().rules)
    found = find_rules("scab sulphur")
    assert "cover-before-scab-rain" in {rule.id for rule in found}
    assert len(found) < len(find_rules("scab")) < len(default_rules().rules)
    assert find_rules("no-such-word-anywhere") == []


def test_every_node_shows_all_its_links_with_strength_season_and_evidence() -> None:
    known = knowledge()
    links = 0
    for node in known.nodes.values():
        page = node_page(known, node, {})
        ends = [end for group in (*page["out"], *page["back"]) for end in group["ends"]]
        links += len(ends)
        assert all(re.match(r"(a little|clearly|strongly), .+; .+", end["how"]) for end in ends)
        assert not any("_" in value for _, value in page["facts"])
    assert links == 2 * len(known.links)  # each seen from both its ends


def test_every_kind_of_link_has_words_for_both_ends() -> None:
    assert {link.link for link in knowledge().links} <= set(SAYS)


def test_seasons_in_words() -> None:
    assert season_words(Season(weeks=(-2, 4))) == "weeks -2 to 4 from apple full bloom"
    assert season_words(Season(bbch=(60, 69), fruit="sweet-cherry")) == "sweet cherry at BBCH 60 to 69"
    assert season_words(Season(winter=True)) == "in winter"
    assert season_words(Season()) == "all year"


def test_a_word_finds_by_every_name() -> None:
    known = knowledge()
    assert find_nodes(known, "milfoil")[0].id == "yarrow"  # another name of yarrow
    assert find_nodes(known, "achillea millefolium")[0].id == "yarrow"
    assert find_nodes(known, "") == []


def test_every_node_figure_and_source_has_its_page(client: Any) -> None:
    """One of each kind; the address of each stands in the list of its kind."""
    for kind in (*KINDS, "figures", "sources"):
        page = client.get(f"/read/knowledge/{kind}?orchard=larkfield")
        assert page.status_code == 200
        addresses = re.findall(r'href="(/read/knowledge/[\w-]+/[^"]+)"', page.text)
        assert addresses
        for address in (addresses[0], addresses[-1]):
            assert client.get(address).status_code == 200, address


def test_links_lead_to_pages_and_keep_the_tabs(client: Any) -> None:
    seen: set[str] = set()
    wanted = ["/read/knowledge/pests/rosy-apple-aphid?orchard=larkfield"]
    while wanted and len(seen) < 40:
        address = wanted.pop()
        seen.add(address)
        page = client.get(address)
        assert page.status_code == 200, address
        assert 'href="/at/larkfield/this-week"' in page.text
        links = [one for one in re.findall(r'href="(/read/[^"]+)"', page.text) if one not in seen]
        wanted += links[7::11]
    assert len(seen) == 40


@pytest.mark.parametrize(
    "address",
    ["/read/rules/no-such-rule", "/read/rules?pack=no-such-pack", "/read/knowledge/plants/voles", "/read/knowledge/heroes",
     "/read/knowledge/plants/no-such-plant", "/read/knowledge/figures/none"],
)  # fmt: skip
def test_what_is_not_there_is_told_on_a_page(client: Any, address: str) -> None:
    page = client.get(address)
    assert page.status_code == 404
    assert page.headers["content-type"].startswith("text/html")


def test_a_word_is_shown_and_never_run(client: Any) -> None:
    for at in ("/read/rules", "/read/knowledge"):
        page = client.get(at, params={"word": "<script>alert(1)</script>", "orchard": '"><b>'})
        assert "<script>alert" not in page.text
        assert '"><b>' not in page.text


def test_reading_asks_who_comes(tmp_path: Path) -> None:
    furnish(tmp_path / "journal.db")
    with TestClient(make_app(settings(tmp_path / "journal.db", tokens=True)), follow_redirects=False) as stranger:
        for at in ("/read/rules", "/read/knowledge", "/read/knowledge/plants/yarrow", "/set-up", "/at/larkfield/walk"):
            assert stranger.get(at).status_code == 303
            assert stranger.get(at).headers["location"].startswith("/sign-in?next=")
