#!/usr/bin/env python3
"""Asks identify about cards of which some were read and the others are only printed, and prints the numbers above 0.9
that are wrong.

    go build -o /tmp/cardtell ./cmd/cardtell
    .ci/sites/partly.py 0 200 /tmp/cardtell        seeds 0 to 199
    .ci/sites/partly.py 17 18 /tmp/cardtell show   one of them, with what was asked and answered

The cards are of one kind, drawn as those of sites.py are, and printed in any of its ways. A number is right that gives
the card's read. Look at seeds that are not looked at while mending for a figure.
"""

import random
import sys

sys.dont_write_bytecode = True
import sites  # noqa: E402
import together  # noqa: E402


def site(seed):
    """A site in words, and of each card its format, data and text, and whether it was read."""
    r = random.Random(seed)
    name, _, facility, number, _ = r.choices(sites.SITES, [s[-1] for s in sites.SITES])[0]
    n, alone = r.choice([3, 4, 6, 10, 16]), r.choice([1, 2, 5, 10])
    values, way = sites.numbers(r, number, n + alone, sites.is_serial(name))
    f = r.randrange(min(1 << facility, 10 ** r.randint(2, 5))) if facility else 0
    ways = sites.prints(r, facility, number)
    printed, written = r.choice([w for w in ways if w != "nothing"]), r.choice(sites.WRITTEN)
    some = set(r.sample(range(len(values)), min(n, len(values) - 1)))
    cards = []
    for i, v in enumerate(values):
        text = ways[printed](f, v, f << number | v, i)
        if i in some:
            text = sites.written(written, together.put(name, f, v)) + "=" + text
        cards.append((name, f << number | v, text, i in some))
    return f"{name}, facility {f}, numbers {way}, printed {printed}, read {len(some)} of {len(values)}, {written}", cards


def main(first, last, program, show=False):
    together.judge(first, last, program, show, site, lambda read: "read, " if read else "printed, ")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3], len(sys.argv) > 4)
