"""Every practice is proposed by a rule and held by a rule, and the exceptions are what they say."""

from advisor import checking, ecosystem
from advisor.advice import default_rules
from advisor.conditions import Propose, Reserve
from advisor.ecosystem import Practice


def test_nothing_is_uncovered():
    assert checking.uncovered(default_rules(), ecosystem.knowledge()) == []


def test_no_exception_is_out_of_date():
    book, practices = default_rules(), ecosystem.knowledge().of_kind(Practice)
    proposed = {str(r.output.practice) for r in book.rules if isinstance(r.output, Propose)}
    held = {p for r in book.rules if isinstance(r.output, Reserve) and r.output.effect in ("hold", "forbid")
            for p in r.practices_considered()}  # fmt: skip
    held |= {str(r.output.practice) for r in book.rules
             if isinstance(r.output, Propose) and r.output.stance in ("wait", "avoid")}  # fmt: skip
    assert set(checking.NEVER_PROPOSED) <= set(practices) - proposed
    assert set(checking.NEVER_HELD) <= set(practices) - held
    assert all(checking.NEVER_PROPOSED.values())
    assert all(checking.NEVER_HELD.values())


def test_a_practice_without_its_rules_is_named(monkeypatch):
    monkeypatch.delitem(checking.NEVER_PROPOSED, "insecticide")
    monkeypatch.delitem(checking.NEVER_HELD, "scout")
    found = {(p.place, p.message) for p in checking.uncovered(default_rules(), ecosystem.knowledge())}
    assert found == {("insecticide", "no rule proposes insecticide"), ("scout", "no rule holds or forbids scout")}
