"""Random programs in a process of its own: a crash, a hang or a difference ends it with another exit code than 0.

Run as: python -m engine.trial FIRST LAST small|large
"""

import random
import sys

from advisor.inference import run
from advisor.program import OverLimit
from engine.programs import fired, make_facts, make_rulebook, plainly


def program(seed, size):
    rnd = random.Random(f"{size}-{seed}")
    if size == "large":
        book = make_rulebook(rnd, rnd.randint(100, 400), rnd.randint(12, 30), rnd.randint(6, 14), joined=1.0)
        return book, make_facts(rnd, book, rnd.randint(100, 1_200), tuple(f"block-{n}" for n in range(40)))
    book = make_rulebook(rnd, rnd.randint(1, 12), rnd.randint(3, 8), rnd.randint(2, 5))
    return book, make_facts(rnd, book, rnd.randint(0, 60))


def main(first, last, size):
    firings = refused = 0
    for seed in range(int(first), int(last)):
        book, facts = program(seed, size)
        expected, known = plainly(book, facts)
        try:
            got = run(book, facts)
        except OverLimit as limit:
            if not limit.rule:  # refused as a whole, though no rule is too long
                raise
            refused += 1
            continue
        assert len(fired(got)) == len(got.firings), f"seed {seed}: a rule fired twice for the same facts"
        assert fired(got) == expected, f"seed {seed}: {sorted(fired(got) ^ expected)[:3]}"
        assert set(got.facts) == set(known), f"seed {seed}: other facts derived"
        firings += len(got.firings)
    print(firings, refused)


if __name__ == "__main__":
    main(*sys.argv[1:])
