"""How much of a tree to take in a year, by its age and by how it grows.

When each fruit is pruned, and how far below fire blight, are rules and figures of the knowledge. Shares 0-1.
"""

from __future__ import annotations

SHARE_MOST = 0.25  # of the fruiting wood in a year (cider orchard page); one third in general guides, both weak
SHARE_OLD = (0.10, 0.20)  # of the canopy a year on old trees, from memory
SHARE_STRONG = 0.10  # of trees that grow strongly, in winter, when a cut wakes growth; from memory


def share_to_cut(old: bool = False, strong: bool = False) -> float:
    """Most of the fruiting wood to take in a winter: a quarter, of old trees a fifth, of strong ones a tenth.

    old: the tree has lived as long as its stock usually does. strong: its shoots are longer than they should be, so
    that a winter cut only wakes more.
    """
    return SHARE_STRONG if strong else SHARE_OLD[1] if old else SHARE_MOST
