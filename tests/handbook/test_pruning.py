"""How much to prune, against cider growers, newspaper columns and what guides say of strong trees."""

from advisor.science import pruning


def test_no_more_than_a_quarter_and_less_of_old_and_of_strong_trees():
    """A quarter of the fruiting wood (cider orchard page); a tenth to a fifth of old trees, a tenth of strong ones in
    winter (from memory)."""
    assert pruning.share_to_cut() == 0.25
    assert pruning.share_to_cut(old=True) == 0.20
    assert pruning.share_to_cut(strong=True) == pruning.share_to_cut(old=True, strong=True) == 0.10
