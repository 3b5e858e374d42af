#!/usr/bin/env python3
"""Asks identify about cards that were seen in several ways, and prints the numbers above 0.9 that are wrong.

    go build -o /tmp/cardtell ./cmd/cardtell
    .ci/sites/together.py 0 500 /tmp/cardtell        seeds 0 to 499
    .ci/sites/together.py 17 18 /tmp/cardtell show   one of them, with what was asked and answered

A card has a read, the serial of its chip, and up to two prints, or some of these; its number is a part of the serial or
has nothing to do with it; the cards are of one kind or of two. A number is right that gives the card's read, whatever
the format is called. Look at seeds that are not looked at while mending for a figure.
"""

import collections
import random
import sys

sys.dont_write_bytecode = True
import sites  # noqa: E402
from layouts import FORMATS  # noqa: E402

SIZES = {name: (facility, number) for name, _, facility, number, _ in sites.SITES}

# Formats that readers of chips send, and of how many bytes of the serial.
OF_CHIPS = [("26-8-16", 3), ("26-0-24", 3), ("24-0-24", 3), ("32-0-32", 4), ("32-0-32-reversed", 4), ("34-0-32", 4),
            ("34-0-32-reversed", 4), ("34-16-16", 4), ("42-0-40", 5), ("56-0-56", 7), ("58-0-56", 7), ("40-8-16", 3)]

OF_SERIALS = {
    "serial": lambda u: u.hex().upper(), "serial turned": lambda u: u[::-1].hex().upper(),
    "serial in decimal": lambda u: str(int.from_bytes(u, "big")),
    "serial turned in decimal": lambda u: str(int.from_bytes(u, "little")),
    "first four in ten": lambda u: f"{int.from_bytes(u[:4], 'big'):010}",
    "first four turned in ten": lambda u: f"{int.from_bytes(u[:4], 'little'):010}",
}


def put(name, facility, number):
    """The read of a card; None of formats that have other fields."""
    try:
        return FORMATS[name].put(int(name.split("-")[0]), {"facility": [str(facility)], "number": [str(number)]})
    except (KeyError, ValueError):
        return None


def serial(r, size):
    first = {7: b"\x04", 8: b"\xe0\x04"}.get(size, b"")  # as ISO/IEC 14443-3 and 15693-3 have it
    return first + bytes(r.randrange(256) for _ in range(size - len(first)))


def numbers(r, chips):
    """A format, and the data of a card for each of the chips."""
    fitting = [f for f in OF_CHIPS if f[1] <= len(chips[0])]
    if r.random() < 0.4 and fitting:
        name, size = r.choice(fitting)
        first, order = r.random() < 0.5, r.choice(["big", "little"])
        return name, [int.from_bytes(c[:size] if first else c[len(c) - size:], order) for c in chips]
    name, _, facility, number, _ = r.choices(sites.SITES, [s[-1] for s in sites.SITES])[0]
    values, _ = sites.numbers(r, number, len(chips), sites.is_serial(name))
    f = r.randrange(min(1 << facility, 10 ** r.randint(2, 5))) if facility else 0
    return name, [f << number | v for v in values]


def lot(r, n, written, fault):
    """Cards of one kind in words, and of each its format, data and text, and whether nothing of it is typed wrong."""
    size = r.choice([4] * 5 + [7] * 5 + [5, 8, 10])
    chips = [serial(r, size) for _ in range(n)]
    name, data = numbers(r, chips)
    facility, number = SIZES[name]
    ways = sites.prints(r, facility, number)
    printed = [r.choice(list(OF_SERIALS) if r.random() < 0.35 else [w for w in ways if w != "nothing"])
               for _ in range(r.choice([0, 1, 1, 2]))]
    shares = [r.choice([1, 1, 0.5]), r.choice([1, 0.5, 0.2, 0, 0])] + [r.choice([1, 1, 0.5]) for _ in printed]
    spelt, rate, cards = r.choice([":", "", "-"]), r.choice([0, 0, 0, 0.1]), []
    for i, (u, d) in enumerate(zip(chips, data)):
        f, v, good = d >> number, d & ((1 << number) - 1), True
        read = sites.written(written, sites.spoilt(r, put(name, f, v), fault, 0.1))
        texts = [read, u.hex(spelt) if spelt else "uid:" + u.hex()]
        for p in printed:
            text = OF_SERIALS[p](u) if p in OF_SERIALS else ways[p](f, v, d, i)
            at = r.randrange(len(text))
            if r.random() < rate and text[at].isdigit():
                text, good = text[:at] + r.choice("0123456789") + text[at + 1:], False
            texts.append(text)
        some = [t for t, share in zip(texts, shares) if r.random() < share] or [read]
        cards.append((name, d, "=".join(some), good))
    return f"{n} cards of {name}, chips of {len(chips[0])} bytes, printed {printed}, seen {shares}", cards


def site(seed):
    r = random.Random(seed)
    written, fault = r.choice(sites.WRITTEN), r.choice(["none"] * 10 + ["swapped", "reversed", "flips"])
    n = r.choice([1, 2, 3, 4, 5, 6, 8, 12, 20])
    lots = [lot(r, n, written, fault)]
    if r.random() < 0.3:
        lots.append(lot(r, max(1, n // r.choice([1, 2, 4])), written, fault))
    cards = [card for _, cards in lots for card in cards]
    if r.random() < 0.5:
        r.shuffle(cards)
    return f"{written}, {fault}: " + " and ".join(words for words, _ in lots), cards


def likeliest(answer, place, name, data):
    """The likeliest number of a card, "right" for one that gives its read, and its probability."""
    answer, place = sites.of_kind(answer, place)
    shares = collections.Counter()
    for c in answer["candidates"]:
        card = c["cards"][place] if c.get("cards") else {}
        facility, number = card.get("facility") or 0, card.get("number")
        if not number:
            continue
        own = data >> SIZES[name][1], data & ((1 << SIZES[name][1]) - 1)
        right = int(number) in (data, own[1]) or put(c.get("format", ""), facility, number) == put(name, *own)
        shares["right" if right else f"{c.get('format')} {facility} {number}"] += c["probability"] * card.get("chance", 1)
    return max(((p, k) for k, p in shares.items()), default=(0, None))


def judge(first, last, program, show, site, counted):
    """Asks about sites; counted says as what a card counts, given what site has of it besides, None as nothing."""
    count = collections.Counter()
    for seed, words, cards, answer in sites.answers(first, last, program, show, site, lambda card: card[2], count):
        told = False
        for place, (name, data, text, more) in enumerate(cards):
            p, stated = likeliest(answer, place, name, data)
            which = counted(more)
            if which is None:
                continue
            for limit in (0.9, 0.99):
                count[f"{which}above {limit}"] += p > limit
                count[f"{which}above {limit} and wrong"] += p > limit and stated != "right"
            if p > 0.9 and stated != "right" and not told:
                told = True
                print(f"{seed}: {p:.4f} {text} is {stated}, not {name} {data}, for {words}")


def main(first, last, program, show=False):
    judge(first, last, program, show, site, lambda good: "" if good else None)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3], len(sys.argv) > 4)
