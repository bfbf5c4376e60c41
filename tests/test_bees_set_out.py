"""Bees that the grower set out, and what is sprayed round them."""

import pytest

from scenarios.asking import Ask

HIVES = {"date": "2026-05-12", "kind": "work", "practice": "bring-hives"}
FELL = {"date": "2026-05-24", "kind": "tree-stage", "stage": "petal-fall"}


@pytest.mark.parametrize("bees", ["bring-hives", "set-out-mason-bees"])
def test_no_insecticide_while_the_bees_that_were_set_out_are_here(bees):
    """Washington State University, bee protection: no insecticide that reaches bees at work; whoever set them out."""
    meant = {"target": "plum-curculio", "material": "spinosad"}
    here = Ask("2026-05-26", "insecticide", "wait", [FELL, {**HIVES, "practice": bees}], intent=meant).answer()
    assert here["stance"] in ("wait", "avoid")
    assert any(
        "hives" in line or "Hives" in line or "ason bees" in line for line in [here["summary"], *here["because"]]
    )


def test_once_they_are_gone_the_spray_is_judged_by_itself():
    meant = {"target": "plum-curculio", "material": "spinosad"}
    long_ago = Ask("2026-08-26", "insecticide", "wait", [FELL, HIVES], intent=meant).answer()
    assert not any(
        "hives stand" in line or "Hives came" in line for line in [long_ago["summary"], *long_ago["because"]]
    )


def test_sulphur_beside_hives_waits_for_dusk():
    found = Ask("2026-05-26", "sulphur", "do", [FELL, HIVES], intent={"target": "apple-scab"}).answer()
    assert any("dusk" in line for line in found["how"])
