#!/usr/bin/env python3
"""Asks identify about sites with odd habits, and prints what it states above 0.9 and is wrong.

    go build -o /tmp/cardtell ./cmd/cardtell
    .ci/sites/sites.py 0 500 /tmp/cardtell        seeds 0 to 499
    .ci/sites/sites.py 17 18 /tmp/cardtell show   one of them, with what was asked and answered

The sites are drawn otherwise than those of the calibration, and reads are put together by testdata/independent/layouts.py,
which shares nothing with the program. Look at seeds that are not looked at while mending for a figure. Where the truth is a
layout in no table that has frame and numbers of a format, nobody can tell the two apart, and the answer counts as wrong: not
all that is printed is a fault.
"""

import collections
import json
import pathlib
import random
import subprocess
import sys

sys.dont_write_bytecode = True
sys.path.insert(0, str(pathlib.Path(__file__).parents[2] / "testdata" / "independent"))
from layouts import FORMATS, ones  # noqa: E402

# Formats, how long they are, the bits of their facility and number, and how usual they are here.
SITES = [
    ("24-8-16", 24, 8, 16, 1), ("24-0-24", 24, 0, 24, 1), ("26-8-16", 26, 8, 16, 6), ("26-0-24", 26, 0, 24, 2),
    ("30-8-20", 30, 8, 20, 1), ("32-0-32", 32, 0, 32, 2), ("32-0-32-reversed", 32, 0, 32, 1), ("32-15-15", 32, 15, 15, 1),
    ("32-10-20", 32, 10, 20, 1), ("32-6-24", 32, 6, 24, 1), ("32-8-16", 32, 8, 16, 1), ("34-16-16", 34, 16, 16, 2),
    ("34-0-32", 34, 0, 32, 4), ("34-0-32-reversed", 34, 0, 32, 1), ("34-8-16", 34, 8, 16, 1), ("35-12-20", 35, 12, 20, 2),
    ("36-0-34", 36, 0, 34, 1), ("37-16-19", 37, 16, 19, 2), ("37-0-35", 37, 0, 35, 2), ("37-8-16", 37, 8, 16, 1),
    ("40-8-16", 40, 8, 16, 1), ("42-0-40", 42, 0, 40, 1), ("56-0-56", 56, 0, 56, 1), ("58-0-56", 58, 0, 56, 1),
    ("64-0-64", 64, 0, 64, 1), ("66-0-64", 66, 0, 64, 1), ("80-0-80", 80, 0, 80, 1), ("82-0-80", 82, 0, 80, 1),
]


def is_serial(name):
    return "-0-" in name and name not in ("24-0-24", "26-0-24", "36-0-34", "37-0-35", "42-0-40")


def numbers(r, bits, n, serial):
    """Numbers of n cards, and how they lie."""
    top = 1 << bits
    way = r.choice(["even"] * 3 if serial else ["even", "run", "runs", "steps", "low", "blocks"])
    start = lambda least, most: r.randrange(min(top, 10 ** r.randint(least, most)))
    if way == "even":
        values = [r.randrange(top) for _ in range(n)]
    elif way == "run":
        first = start(2, 7)
        values = [first + i for i in range(n)]
    elif way == "runs":
        values = []
        while len(values) < n:
            first = start(3, 7)
            values += [first + i for i in range(r.randint(1, max(8, n // 4)))]
    elif way == "steps":
        step, first = r.choice([2, 5, 10]), start(3, 5)
        values = [first + step * i for i in sorted(r.sample(range(3 * n), n))]
    elif way == "low":
        values = r.sample(range(1, max(3 * n, 200)), n)
    else:
        blocks = [start(3, 7) for _ in range(r.randint(1, 3))]
        values = [r.choice(blocks) + r.randrange(100) for _ in range(n)]
    values = [v % top for v in values[:n]]
    if r.random() < 0.5:
        r.shuffle(values)
    return values, way


def unlisted(r):
    """A layout in no table: its length, the bits of facility and number, and a function that puts a read together."""
    length = r.choice([26, 28, 30, 32, 33, 34, 35, 36, 37, 38, 40, 42])
    first, last = r.random() < 0.8, r.random() < 0.8
    data = length - first - last
    facility, skipped = r.choice([0, 4, 6, 8, 10, 12, 13, 16]), r.choice([0, 0, 0, 1, 2])
    number = data - facility - skipped
    while number > 34:
        number, skipped = number - 1, skipped + 1
    if number < 12:
        facility, number = 0, data - skipped
    fixed, over_all = r.randrange(1 << skipped) << (facility + number), r.random() < 0.3

    def read(f, n):
        d = format(fixed | f << number | n, f"0{data}b")
        a, b = (d, d) if over_all else (d[:data // 2], d[data // 2:])
        return str(ones(a) % 2) * first + d + str(1 - ones(b) % 2) * last

    return "none", length, facility, number, read


def listed(r):
    name, length, facility, number, _ = r.choices(SITES, [s[-1] for s in SITES])[0]

    def read(f, n):
        return FORMATS[name].put(length, {"facility": [str(f)], "number": [str(n)]})

    return name, length, facility, number, read


def prints(r, facility, number):
    """Ways to print a card, given facility, number, all data bits, and its place among the cards."""
    digits, size, some = len(str((1 << number) - 1)), (facility + number + 7) // 8, r.randrange(1000)
    turned = lambda d: int.from_bytes(d.to_bytes(size, "big"), "little")
    ways = {
        "nothing": lambda f, n, d, i: None,
        "number": lambda f, n, d, i: str(n), "filled": lambda f, n, d, i: str(n).zfill(digits),
        "decimal": lambda f, n, d, i: str(d), "decimal10": lambda f, n, d, i: str(d).zfill(10),
        "hex": lambda f, n, d, i: f"{d:X}", "whole hex": lambda f, n, d, i: f"{d:0{2 * size}X}",
        "asset": lambda f, n, d, i: str(1000 + some + i), "order": lambda f, n, d, i: f"{n}-{some % 90 + 10}",
        "label": lambda f, n, d, i: f"A{n}", "constant": lambda f, n, d, i: str(n + 1000),
        "year": lambda f, n, d, i: f"{15 + some % 12}{n:05}", "last digits": lambda f, n, d, i: str(d)[-4:],
    }
    if (facility + number) % 8 == 0:
        ways["turned"] = lambda f, n, d, i: str(turned(d))
        ways["turned hex"] = lambda f, n, d, i: f"{turned(d):0{2 * size}X}"
    if facility:
        ways |= {
            "pair": lambda f, n, d, i: f"{f},{n}", "filled pair": lambda f, n, d, i: f"{f:03},{n:05}",
            "dash": lambda f, n, d, i: f"{f}-{n}", "joined": lambda f, n, d, i: f"{f}{str(n).zfill(digits)}",
            "pair in hex": lambda f, n, d, i: f"{f:X}-{n:04X}",
        }
    return ways


def spoilt(r, read, fault, rate):
    """What comes of a read over a line with a fault."""
    if fault in ("swapped", "both"):
        read = "".join("10"[int(c)] for c in read)
    if fault in ("reversed", "both"):
        read = read[::-1]
    if fault in ("flips", "lost") and r.random() < rate:
        at = r.randrange(len(read))
        read = read[:at] + ("10"[int(read[at])] if fault == "flips" else "") + read[at + 1:]
    return read


def written(way, read):
    """A read as somebody writes it down."""
    n, v = len(read), int(read, 2)
    full = 2 * ((n + 7) // 8)
    return {
        "bits": "bits:" + read, "bits alone": read, "length and hex": f"{n}:{v:X}", "hex": f"{v:0{(n + 3) // 4}X}",
        "hex in bytes": f"{v:0{full}x}", "hex at the left": f"{v << (4 * full - n):0{full}X}", "short hex": f"0x{v:X}",
        "decimal": str(v), "bytes apart": " ".join(f"{v:0{full}X}"[i:i + 2] for i in range(0, full, 2)),
    }[way]


WRITTEN = ["bits"] * 16 + ["bits alone", "length and hex", "hex", "hex in bytes", "hex at the left", "short hex", "decimal",
                           "bytes apart"]


def site(seed):
    """The format of a site's cards, what it is like in words, and its cards as texts."""
    r = random.Random(seed)
    n = r.choice([1, 1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 30, 50, 200])
    name, length, facility, number, read = (unlisted if r.random() < 0.25 else listed)(r)
    values, way = numbers(r, number, n, is_serial(name))
    facilities = [r.randrange(min(1 << facility, 10 ** r.randint(2, 5)))]
    if facility and r.random() < 0.15:
        facilities.append((facilities[0] + 1) % (1 << facility))
    ways = prints(r, facility, number)
    printed = r.choice(["nothing"] * 12 + ["number", "decimal", "hex"] * 2 + list(ways))
    share, mistyped = r.choice([1, 1, 1, 0.5, 0.2]), r.choice([0, 0, 0, 0.05, 0.1])
    fault, rate = r.choice(["none"] * 10 + ["swapped", "reversed", "both", "flips", "flips", "lost"]), r.choice([0.05, 0.1, 0.2])
    cards, how = [], r.choice(WRITTEN)
    for i, v in enumerate(values):
        f = r.choice(facilities)
        card, text = written(how, spoilt(r, read(f, v), fault, rate)), ways[printed](f, v, f << number | v, i)
        if text is not None and r.random() < share:
            at = r.randrange(len(text))
            if r.random() < mistyped and text[at].isdigit():
                text = text[:at] + r.choice("0123456789") + text[at + 1:]
            card += "=" + text
        cards.append(card)
    words = f"{name}, {length} bits, {facility}+{number}, {n} cards, numbers {way}, {how}, printed {printed}, fault {fault}"
    return name, words, cards


def top(answer):
    """The likeliest statement, and its probability: a format, like FORMAT, or none."""
    all_ = [(c["probability"], c.get("format") or "like " + c["frame"]) for c in answer["candidates"]]
    return max(all_ + [(answer["unknown"], "none")])


def answers(first, last, program, show, site, text, count):
    """Asks about the site of each seed, and yields it with the answer: its words, with all before them, and its cards, of
    which text gives what is asked. With show it prints both and yields nothing."""
    for seed in range(first, last):
        *words, cards = site(seed)
        asked = "".join(text(card) + "\n" for card in cards)
        if show:
            print(f"{seed}: {words[-1]}\n{asked}", flush=True)
            subprocess.run([program, "identify", "--file", "-"], input=asked, text=True)
            continue
        done = subprocess.run([program, "identify", "--json", "--file", "-"], input=asked, text=True, capture_output=True)
        if not done.stdout:
            count["refused"] += 1
            print(f"{seed}: {words[-1]}: {done.stderr.strip()}")
            continue
        yield seed, *words, cards, json.loads(done.stdout)
    if not show:
        print(dict(count))


def of_kind(answer, place):
    """The answer for the kind of a card, and its place in that, where there are several."""
    for kind in answer.get("populations", ()):
        if place + 1 in kind["given"]:
            return kind, kind["given"].index(place + 1)
    return answer, place


def main(first, last, program, show=False):
    count = collections.Counter()
    for seed, name, words, _, answer in answers(first, last, program, show, site, str, count):
        p, stated = top(answer)
        right = stated == name or name == "none" and stated.startswith("like")
        count["sites"] += 1
        for limit in (0.9, 0.99):
            count[f"above {limit}"] += p > limit
            count[f"above {limit} and wrong"] += p > limit and not right
        if p > 0.9 and not right:
            print(f"{seed}: {p:.4f} {stated} for {words}")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3], len(sys.argv) > 4)
