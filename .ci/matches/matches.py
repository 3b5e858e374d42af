#!/usr/bin/env python3
"""Asks match about the event logs of doors with odd habits, and prints what it states above 0.9 and is wrong.

    go build -o /tmp/cardtell ./cmd/cardtell
    .ci/matches/matches.py 0 150 /tmp/cardtell        seeds 0 to 149
    .ci/matches/matches.py 17 18 /tmp/cardtell show   one of them, with what was asked and answered

A site has cards of one format, a list with some rows typed wrong and two holders left out, and a door that shows some or all
cards otherwise: bytes or bits turned round, lines swapped, cut short, in another form, one bit wrong, a digit twice. What the
door shows is worked out here, by arithmetic that shares nothing with the program. Look at seeds that are not looked at while
mending for a figure.
"""

import collections
import json
import pathlib
import random
import subprocess
import sys
import tempfile

# Formats by name: the bits of facility and number.
FORMATS = {"26-8-16": (8, 16), "34-16-16": (16, 16), "34-0-32": (0, 32), "37-16-19": (16, 19), "26-0-24": (0, 24)}


def forms(name):
    """Ways to write a card of a format, given facility and number."""
    facility, number = FORMATS[name]
    width = facility + number
    digits = lambda bits: len(str((1 << bits) - 1))
    ways = {"decimal": lambda f, n: str(f << number | n), "decimal10": lambda f, n: str(f << number | n).zfill(10),
            "hex": lambda f, n: f"{f << number | n:0{(width + 3) // 4}X}", "number": lambda f, n: str(n)}
    if facility:
        ways["pair"] = lambda f, n: f"{f:0{digits(facility)}},{n:0{digits(number)}}"
    else:
        ways["number10"] = lambda f, n: str(n).zfill(10)
    return ways


def habits(r, width, number):
    """What a door can do to the data bits of a card, by name."""
    ones = (1 << width) - 1
    ways = {
        "none": lambda v: v, "bits turned": lambda v: int(format(v, f"0{width}b")[::-1], 2), "swapped": lambda v: v ^ ones,
        "low 24": lambda v: v & 0xFFFFFF, "low 16": lambda v: v & 0xFFFF, "no facility": lambda v: v & ((1 << number) - 1),
        "bit wrong": lambda v: v ^ 1 << r.randrange(number),
    }
    if width % 8 == 0:
        ways["bytes turned"] = lambda v: int.from_bytes(v.to_bytes(width // 8, "big"), "little")
    return ways


class Site:
    """A site, its list, and the events of a door."""

    def __init__(self, seed):
        r = random.Random(seed)
        self.name = r.choice(list(FORMATS))
        facility, self.number = FORMATS[self.name]
        self.facilities = [r.randrange(1, 1 << facility) if facility else 0]
        if facility and r.random() < 0.3:
            self.facilities.append(r.randrange(1, 1 << facility))
        n = r.choice([10, 30, 60, 150])
        if self.name == "34-0-32":
            numbers = r.sample(range(1 << 32), n)
        else:
            first = r.randrange(1, min(1 << self.number, 1 << 20) - 5000)
            numbers = [first + i for i in sorted(r.sample(range(4 * n), n))]
        cards = [(r.choice(self.facilities), v) for v in numbers]
        self.ways = forms(self.name)
        usable = [w for w in self.ways if w != "number" or len(self.facilities) == 1]
        self.printed, self.shown, self.other = r.choice(usable), r.choice(usable), r.choice(usable)
        self.holder = {c: f"Ada {i:03} Lund" for i, c in enumerate(cards[:-2])}
        self.rows = [(who, self.typed(r, self.ways[self.printed](*c))) for c, who in self.holder.items()]
        strangers = cards[-2:] + [(r.choice(self.facilities), r.randrange(1 << self.number)) for _ in range(3)]
        self.events(r, facility + self.number, strangers)
        self.how = r.choice(["site", "site", "options", "log"])

    def typed(self, r, text):
        at = r.randrange(len(text))
        if r.random() > 0.03 or not text[at].isdigit():
            return text
        return text[:at] + r.choice("0123456789") + text[at + 1:]

    def events(self, r, width, strangers):
        habit = habits(r, width, self.number)
        self.habit = r.choice(list(habit) + ["another form", "digit twice"])
        share = 0.04 if self.habit in ("bit wrong", "digit twice") else r.choice([1, 0.5, 0.1, 0.03])
        self.seen, self.truth = [], collections.defaultdict(set)
        for _ in range(r.choice([40, 150, 400])):
            card, odd = r.choice(list(self.holder)), r.random() < share
            if r.random() < 0.06:
                card, odd = r.choice(strangers), False
            v = card[0] << self.number | card[1]
            if odd and self.habit in habit:
                v = habit[self.habit](v)
            way = self.other if odd and self.habit == "another form" else self.shown
            text = self.ways[way](v >> self.number, v & ((1 << self.number) - 1))
            if odd and self.habit == "digit twice":
                text += text[-1]
            self.seen.append(text)
            self.truth[text].add(self.holder.get(card))

    def command(self, folder, program):
        cell = lambda text: f'"{text}"' if "," in text else text
        day = lambda i: f"2025-03-{1 + i % 28:02} 10:{i % 60:02}:07"
        (folder / "list.csv").write_text("Name,Card no\n" + "".join(f"{who},{cell(t)}\n" for who, t in self.rows))
        (folder / "events.csv").write_text("Time,Card\n" + "".join(f"{day(i)},{cell(t)}\n" for i, t in enumerate(self.seen)))
        (folder / "events.log").write_text("".join(f"{day(i)} door 2 card {t} refused\n" for i, t in enumerate(self.seen)))
        facility = f"facility = {self.facilities}\n" if self.facilities != [0] else ""
        (folder / "site.toml").write_text(f'[[cards]]\nformat = "{self.name}"\nprinted = "{self.printed}"\n{facility}'
                                          f'[[doors]]\nname = "New"\nenter = "{self.shown}"\n')
        events = ["events.log"] if self.how == "log" else ["events.csv", "-c", "Card"]
        known = ["--site", "site.toml", "--door", "New"]
        if self.how == "options":
            known = ["--format", self.name, "--from", self.printed, "--shown", self.shown]
            if self.printed == "number" and facility:
                known += ["--facility", str(self.facilities[0])]
        return [program, "match", *events, "--list", "list.csv", "--list-column", "Card no", "--names", "Name", "--all", *known]


def main(first, last, program, show=False):
    count = collections.Counter()
    for seed in range(first, last):
        site = Site(seed)
        words = f"{site.name}, list {site.printed}, door {site.shown}, {site.habit}, by {site.how}"
        with tempfile.TemporaryDirectory() as folder:
            command = site.command(pathlib.Path(folder), str(pathlib.Path(program).resolve()))
            if show:
                print(f"{seed}: {words}", flush=True)
                subprocess.run(command, cwd=folder)
                continue
            done = subprocess.run(command + ["--json"], cwd=folder, text=True, capture_output=True)
        if not done.stdout:
            count["refused"] += 1
            print(f"{seed}: {words}: {done.stderr.strip()}")
            continue
        count["sites"] += 1
        for u in json.loads(done.stdout)["unknown"] or []:
            if u["card"] not in site.truth:
                continue
            holders, p = site.truth[u["card"]], u["probability"]
            right = bool(holders & set((u.get("holder") or "").split(" or "))) or not u.get("holder") and None in holders
            count["cards"] += 1
            for limit in (0.9, 0.99):
                count[f"above {limit}"] += p > limit
                count[f"above {limit} and wrong"] += p > limit and not right
            if p > 0.9 and not right:
                print(f"{seed}: {p:.4f} {u['card']} is {u.get('holder')} ({u['rule']}), it is {holders}: {words}")
    if not show:
        print(dict(count))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3], len(sys.argv) > 4)
