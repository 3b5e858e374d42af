#!/usr/bin/env python3
"""Asks identify about cards of which only the prints are known, and prints the numbers above 0.9 that are wrong.

    go build -o /tmp/cardtell ./cmd/cardtell
    .ci/sites/prints.py 0 500 /tmp/cardtell        seeds 0 to 499
    .ci/sites/prints.py 17 18 /tmp/cardtell show   one of them, with what was asked and answered

The cards are drawn as those of sites.py are, of one kind or of two, and some prints are mistyped. A number counts as
wrong where all candidates together give another one to a card whose print is right. Look at seeds that are not looked
at while mending for a figure.
"""

import collections
import random
import sys

sys.dont_write_bytecode = True
import sites  # noqa: E402

# Prints that do not say what the number is, or need a read beside them to be understood.
OTHER = ("nothing", "asset", "order", "constant", "year", "last digits", "turned", "turned hex")


def mistyped(r, text):
    """A text with a digit changed, left out or typed twice, and whether it is."""
    at, way = r.randrange(len(text)), r.random()
    if not text[at].isdigit():
        return text, False
    if way < 0.6:
        return text[:at] + r.choice("0123456789") + text[at + 1:], True
    return text[:at] + text[at] * 2 * (way < 0.8) + text[at + 1:], True


def lot(r, n):
    """What some cards of one kind are like, in words, and each card's number and print."""
    name, _, facility, number, _ = r.choices(sites.SITES, [s[-1] for s in sites.SITES])[0]
    values, way = sites.numbers(r, number, n, sites.is_serial(name))
    f = r.randrange(min(1 << facility, 10 ** r.randint(2, 5))) if facility else 0
    ways = sites.prints(r, facility, number)
    printed = r.choice([w for w in ways if w not in OTHER])
    cards = [(v, ways[printed](f, v, f << number | v, i)) for i, v in enumerate(values)]
    return f"{len(values)} cards of {name}, facility {f}, numbers {way}, printed {printed}", cards


def site(seed):
    """A site in words, and each card's number, its print, and whether that is mistyped."""
    r = random.Random(seed)
    n = r.choice([1, 2, 3, 5, 8, 12, 20, 50])
    lots = [lot(r, n)]
    if r.random() < 0.25:
        lots.append(lot(r, max(1, n // r.choice([1, 2, 4]))))
    rate, all_ = r.choice([0, 0, 0.05, 0.1, 0.2]), []
    for _, cards in lots:
        for number, text in cards:
            all_.append((number, *(mistyped(r, text) if r.random() < rate else (text, False))))
    if r.random() < 0.5:
        r.shuffle(all_)
    return " and ".join(words for words, _ in lots) + f", mistyped {rate}", all_


def likeliest(answer, place):
    """The likeliest number of a card, over all candidates, and its probability."""
    shares = collections.Counter()
    answer, place = sites.of_kind(answer, place)
    for c in answer["candidates"]:
        if c.get("cards"):
            card = c["cards"][place]
            shares[card.get("number")] += c["probability"] * card.get("chance", 1)
    return max(((p, number) for number, p in shares.items() if number), default=(0, None))


def main(first, last, program, show=False):
    count = collections.Counter()
    for seed, words, cards, answer in sites.answers(first, last, program, show, site, lambda card: card[1], count):
        told = False
        for place, (number, text, wrong) in enumerate(cards):
            p, stated = likeliest(answer, place)
            for limit in (0.9, 0.99):
                count[f"above {limit}"] += p > limit and not wrong
                count[f"above {limit} and wrong"] += p > limit and not wrong and stated != str(number)
            if p > 0.9 and not wrong and stated != str(number) and not told:
                told = True
                print(f"{seed}: {p:.4f} {text} is {stated}, not {number}, for {words}")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3], len(sys.argv) > 4)
