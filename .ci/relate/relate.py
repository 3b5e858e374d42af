#!/usr/bin/env python3
"""Asks relate for the rule between two numberings of the same cards, and prints rules above 0.9 that are wrong.

    go build -o /tmp/cardtell ./cmd/cardtell
    .ci/relate/relate.py 0 300 /tmp/cardtell        seeds 0 to 299
    .ci/relate/relate.py 17 18 /tmp/cardtell show   one of them, with what was asked and answered

Cards are of one format, of one facility or two, and written in two of many ways; some numbers are mistyped. The likeliest rule
is applied by batch to six cards more. It is wrong where one of them becomes another number; zeros before a number are not
counted. Whole reads come from testdata/independent/layouts.py, all else is worked out here. Look at seeds that are not looked
at while mending for a figure.
"""

import collections
import csv
import json
import pathlib
import random
import re
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True
sys.path.insert(0, str(pathlib.Path(__file__).parents[2] / "testdata" / "independent"))
from layouts import FORMATS  # noqa: E402

# Formats, the bits of their facility and number, and how usual they are here.
LAYOUTS = [("26-8-16", 8, 16, 6), ("26-0-24", 0, 24, 2), ("34-16-16", 16, 16, 2), ("34-0-32", 0, 32, 5), ("37-16-19", 16, 19, 2),
           ("37-0-35", 0, 35, 2), ("35-12-20", 12, 20, 2), ("30-8-20", 8, 20, 1), ("58-0-56", 0, 56, 1), ("32-15-15", 15, 15, 1)]
MORE = 6  # cards that the rule is tried on


def ways(r, name, facility, number):
    """Ways to write a card, given its facility and number."""
    length, size = int(name.split("-")[0]), (facility + number + 7) // 8
    digits, first = len(str((1 << number) - 1)), len(str((1 << facility) - 1))
    constant, year = r.randrange(1, 9000) * r.choice([1, 1, 10]), r.randrange(14, 27)
    data = lambda f, n: f << number | n
    read = lambda f, n: int(FORMATS[name].put(length, {"facility": [str(f)], "number": [str(n)]}), 2)
    turned = lambda f, n: int.from_bytes(data(f, n).to_bytes(size, "big"), "little")
    all_ = {
        "number": lambda f, n: str(n), "number10": lambda f, n: f"{n:010}",
        "decimal": lambda f, n: str(data(f, n)), "decimal10": lambda f, n: f"{data(f, n):010}",
        "hex": lambda f, n: f"{data(f, n):0{2 * size}X}", "small hex": lambda f, n: f"{data(f, n):x}",
        "read decimal": lambda f, n: str(read(f, n)), "read hex": lambda f, n: f"{read(f, n):0{(length + 3) // 4}X}",
        "length and hex": lambda f, n: f"{length}:{read(f, n):0{(length + 3) // 4}X}",
        "constant": lambda f, n: str(n + constant), "year": lambda f, n: f"{year}{n:0{digits}}",
        "last digits": lambda f, n: f"{n % 100000:05}",
    }
    if facility:
        all_ |= {
            "filled pair": lambda f, n: f"{f:0{first}},{n:0{digits}}", "pair": lambda f, n: f"{f},{n}",
            "joined": lambda f, n: f"{f:0{first}}{n:0{digits}}",
            "dash": lambda f, n: f"{f}-{n}", "behind": lambda f, n: f"{n}/{f}",
        }
    if facility + number in (24, 32, 56):
        all_ |= {"turned": lambda f, n: str(turned(f, n)), "turned hex": lambda f, n: f"{turned(f, n):0{2 * size}X}"}
    if facility + number == 32:
        low = lambda f, n: data(f, n) & 0xFFFFFF
        all_ |= {
            "bytes": lambda f, n: data(f, n).to_bytes(4, "big").hex(":").upper(),
            "words": lambda f, n: f"{data(f, n) >> 16:05},{data(f, n) & 0xFFFF:05}",
            "low 24": lambda f, n: str(low(f, n)), "high 24": lambda f, n: str(data(f, n) >> 8),
            "low pair": lambda f, n: f"{low(f, n) >> 16:03},{low(f, n) & 0xFFFF:05}",
            "inverse": lambda f, n: str(data(f, n) ^ 0xFFFFFFFF),
            "bits turned": lambda f, n: str(int(f"{data(f, n):032b}"[::-1], 2)),
        }
    return all_


def mistyped(r, text):
    """A text with a digit changed, left out, typed twice, or swapped with the next."""
    at, way = r.choice([i for i, c in enumerate(text) if c.isdigit()]), r.random()
    if way < 0.6:
        return text[:at] + r.choice([c for c in "0123456789" if c != text[at]]) + text[at + 1:]
    if way < 0.75 and at + 1 < len(text) and text[at] != text[at + 1]:
        return text[:at] + text[at + 1] + text[at] + text[at + 2:]
    return text[:at] + text[at] * 2 * (way > 0.9) + text[at + 1:]


def question(seed):
    """The pairs that are given, the cards that the rule is tried on, both ways, and all of it in words."""
    r = random.Random(seed)
    name, facility, number, _ = r.choices(LAYOUTS, [s[-1] for s in LAYOUTS])[0]
    facilities = [r.randrange(1, 1 << facility) if facility else 0]
    if facility and r.random() < 0.3:
        facilities.append(r.randrange(1 << facility))
    all_ = ways(r, name, facility, number)
    first, second = r.sample(list(all_), 2)
    n, top = r.choice([1, 2, 2, 3, 3, 4, 5, 6, 8, 12]), 1 << number
    if name in ("34-0-32", "58-0-56"):
        numbers = [r.randrange(top) for _ in range(n + MORE)]
    else:
        start, way = r.randrange(1, min(top, 10 ** r.randint(3, 6))), r.choice(["run", "near", "even"])
        numbers = {
            "run": lambda i: (start + i) % top, "near": lambda i: (start + r.randrange(500)) % top,
            "even": lambda i: r.randrange(min(top, 10 ** r.randint(4, 7))),
        }
        numbers = [numbers[way](i) for i in range(n + MORE)]
        r.shuffle(numbers)
    cards = [(r.choice(facilities), v) for v in numbers]
    pairs = [(all_[first](*card), all_[second](*card)) for card in cards]
    rate, given, wrong = r.choice([0, 0, 0, 0.1, 0.25]), [], 0
    for a, b in pairs[:n]:
        if r.random() < rate:
            wrong += 1
            a, b = (mistyped(r, a), b) if r.random() < 0.5 else (a, mistyped(r, b))
        given.append(f"{a}={b}")
    return given, pairs[n:], f"{name}, facilities {facilities}, {first} to {second}, {n} pairs, {wrong} mistyped"


def loose(text):
    """A number as far as zeros before it, and what stands between digits, make no difference."""
    return re.sub(r"[0-9A-F]+", lambda m: m.group().lstrip("0") or "0", text.upper()).replace("-", ",").replace(":", "")


def converted(program, folder, rule, texts):
    """What batch makes of each text by a rule, of those that it takes."""
    (folder / "list.csv").write_text("Card,Name\n" + "".join(f'"{text}",x\n' for text in texts))
    out = folder / "new.csv"
    subprocess.run([program, "batch", folder / "list.csv", "--rule", rule, "--column", "Card", "-o", out], capture_output=True)
    if not out.exists():
        return {}
    with out.open(newline="") as rows:
        return {row["Card"].lstrip("'"): row["converted"] for row in csv.DictReader(rows)}


def ask(seed, program, count):
    given, more, words = question(seed)
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        rule = folder / "rule.toml"
        done = subprocess.run([program, "relate", "--json", "-o", rule, *given], text=True, capture_output=True)
        count["questions"] += 1
        if not done.stdout:
            count["refused"] += 1
            print(f"{seed}: {words}: {done.stderr.strip()}")
            return
        rules = json.loads(done.stdout)["rules"]
        if not rules or (p := rules[0]["probability"]) <= 0.9:
            return
        got = converted(program, folder, rule, [a for a, _ in more])
    wrong = [(a, got[a], b) for a, b in more if a in got and loose(got[a]) != loose(b)]
    for limit in (0.9, 0.99):
        count[f"above {limit}"] += p > limit
        count[f"above {limit} and wrong"] += p > limit and wrong != []
    if wrong:
        print(f"{seed}: {p:.4f} {rules[0]['rule']}: {wrong[0][0]} becomes {wrong[0][1]}, not {wrong[0][2]}, for {words}")


def main(first, last, program, show=False):
    count = collections.Counter()
    for seed in range(first, last):
        if show:
            given, _, words = question(seed)
            print(f"{seed}: {words}\n{' '.join(given)}", flush=True)
            subprocess.run([program, "relate", *given])
        else:
            ask(seed, program, count)
    print(dict(count))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3], len(sys.argv) > 4)
