"""Bloom and habitat: who finds food and shelter in an orchard, when, and which plants would close what is lacking.

bloom     everything about an orchard's bloom on a day, as a record ready for JSON
bloom_for the same for an answer that is there already; `answer.bloom()` for short
draw      its bloom ribbon as a picture
write     the record in words, for a terminal
Terms     what a grower accepts of new plants
"""

from advisor.habitat.picture import draw
from advisor.habitat.record import bloom, bloom_for
from advisor.habitat.terms import Terms
from advisor.habitat.text import write

__all__ = ["Terms", "bloom", "bloom_for", "draw", "write"]
