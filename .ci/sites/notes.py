#!/usr/bin/env python3
"""Asks identify about cards as notes and exports have them, and prints the numbers above 0.9 that are wrong.

    go build -o /tmp/cardtell ./cmd/cardtell
    .ci/sites/notes.py 0 300 /tmp/cardtell        seeds 0 to 299
    .ci/sites/notes.py 17 18 /tmp/cardtell show   one of them, with what was asked and answered

The cards are of one kind, drawn as those of sites.py are: some read, others only printed. Their numbers have labels before
them, signs between thousands, the facility last, lots and copies beside them, or two forms in one text. A number is right
that gives the card's read. Look at seeds that are not looked at while mending for a figure.
"""

import random
import sys

sys.dont_write_bytecode = True
import sites  # noqa: E402
import together  # noqa: E402


def ways(r, facility, number):
    """Ways to write a card down, given facility, number, all data bits, and its place among the cards."""
    digits, size = len(str((1 << number) - 1)), (facility + number + 7) // 8
    lot = f"{r.randrange(1, 54):02}{r.randrange(8, 26):02}"
    apart = lambda d, sign: sign.join(f"{d:0{2 * size}X}"[k:k + 2] for k in range(0, 2 * size, 2))
    all_ = {
        "no": lambda f, n, d, i: f"No. {n}", "no filled": lambda f, n, d, i: f"No {n:0{digits}}",
        "card": lambda f, n, d, i: f"Card {n}", "id": lambda f, n, d, i: f"ID: {n}",
        "thousands": lambda f, n, d, i: f"{n:,}", "thousands apart": lambda f, n, d, i: f"{n:,}".replace(",", " "),
        "thousands of all": lambda f, n, d, i: f"{d:,}", "decimal8": lambda f, n, d, i: f"{d:08}",
        "float": lambda f, n, d, i: f"{n}.0", "float of all": lambda f, n, d, i: f"{d}.0",
        "hex h": lambda f, n, d, i: f"{d:X}h", "hex 0x": lambda f, n, d, i: f"0x{d:0{2 * size}x}",
        "bytes": lambda f, n, d, i: apart(d, ":"), "bytes apart": lambda f, n, d, i: apart(d, " "),
        "lot behind": lambda f, n, d, i: f"{n:0{digits}} {lot}", "lot before": lambda f, n, d, i: f"{lot} {n:0{digits}}",
        "copy": lambda f, n, d, i: f"{n}/{1 if i % 7 else 2}", "quote": lambda f, n, d, i: f"'{n}",
        "fours": lambda f, n, d, i: " ".join(f"{d:012}"[k:k + 4] for k in (0, 4, 8)) if d < 10 ** 12 else str(d),
    }
    if facility:
        all_ |= {
            "fc id": lambda f, n, d, i: f"FC {f} ID {n}", "fc cn": lambda f, n, d, i: f"FC:{f} CN:{n}",
            "site card": lambda f, n, d, i: f"Site {f}, card {n}", "slash": lambda f, n, d, i: f"{f}/{n}",
            "colon": lambda f, n, d, i: f"{f}:{n}", "dot": lambda f, n, d, i: f"{f:03}.{n:05}",
            "space": lambda f, n, d, i: f"{f:03} {n:05}", "underscore": lambda f, n, d, i: f"{f}_{n}",
            "both": lambda f, n, d, i: f"{d:010} {f:03},{n:05}", "facility last": lambda f, n, d, i: f"{n}-{f}",
            "brackets behind": lambda f, n, d, i: f"{n:05} ({f})", "brackets": lambda f, n, d, i: f"({f}) {n}",
            "pair and copy": lambda f, n, d, i: f"{f}-{n:05}-{i % 3 + 1}",
        }
    return all_


def site(seed):
    """A site in words, and of each card its format, data and text, and whether it was read."""
    r = random.Random(seed)
    name, _, facility, number, _ = r.choices(sites.SITES, [s[-1] for s in sites.SITES])[0]
    n, alone = r.choice([0, 1, 2, 3, 4, 6, 10]), r.choice([0, 0, 1, 2, 4, 8])
    values, way = sites.numbers(r, number, n + alone or 5, sites.is_serial(name))
    f = r.randrange(min(1 << facility, 10 ** r.randint(2, 5))) if facility else 0
    all_ = ways(r, facility, number)
    printed, written, cards = r.choice(list(all_)), r.choice(sites.WRITTEN), []
    for i, v in enumerate(values):
        text = all_[printed](f, v, f << number | v, i)
        if i < n:
            text = sites.written(written, together.put(name, f, v)) + "=" + text
        cards.append((name, f << number | v, text, i < n))
    return f"{name}, facility {f}, numbers {way}, printed {printed}, read {n} of {len(values)}, {written}", cards


def main(first, last, program, show=False):
    together.judge(first, last, program, show, site, lambda read: "read, " if read else "printed, ")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3], len(sys.argv) > 4)
