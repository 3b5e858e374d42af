#!/usr/bin/env python3
"""Exports and event logs as they are handed over, and what batch and match make of them that is wrong.

    .ci/lists/trade.py [-v] [--first 1] [--lists 60] [--cardtell PROGRAM]

A list is an export with first names and surnames in columns of their own; cards that were replaced stand in a second
column, or behind the new one; below it a second list may be pasted, with a heading of its own and its numbers in another
form. The log of a door has its cards among words, spelt otherwise: 12-345, FC 12 ID 345, in lower case, without zeros.
Every card is known, and every form is worked out here, by arithmetic of its own. Counted are numbers for another card,
good rows converted, and what match states above 0.9 and 0.99, and is not so. How usual each habit is, is from memory.
"""
import argparse
import collections
import csv
import json
import os
import random
import subprocess
import tempfile

# By format: bits of facility and number, and how usual it is.
FORMATS = {"26-8-16": (8, 16, 6), "34-16-16": (16, 16, 2), "37-16-19": (16, 19, 2), "35-12-20": (12, 20, 2),
           "34-0-32": (0, 32, 3), "56-0-56": (0, 56, 1)}
LISTED = {True: {"pair": 6, "number": 3, "decimal10": 2, "joined": 1}, False: {"number": 3, "hex": 2, "uid": 3}}
SHOWN = {True: ["dash", "words-fc", "decimal", "hex-lower", "hex", "pair", "slash"],
         False: ["decimal", "hex-lower", "hex", "uid", "0x"]}
FIRST = "Ada Ben Cleo Dan Eva Finn Gita Hal Ines Jon Kira Leo Mia Ned Olga Pia Quin Rita Sam Tess".split()
LAST = "Abbot Brook Crane Dale Elm Field Grove Heath Ivers Jarvis Knoll Lane Marsh North Orchard Pond".split()


def pick(r, weights):
    return r.choices(list(weights), list(weights.values()))[0]


def write(fmt, facility, number, form):
    """A card in a form, or in a spelling of a log."""
    f, n, _ = FORMATS[fmt]
    data, digits = facility << n | number, lambda bits: len(str(2**bits - 1))
    octets = [f"{b:02X}" for b in data.to_bytes((f + n + 7) // 8, "big")]
    two = f"{facility:0{digits(f)}}", f"{number:0{digits(n)}}"
    return {"pair": ",".join(two), "joined": "".join(two), "number": str(number), "decimal": str(data),
            "decimal10": f"{data:010}", "hex": "".join(octets), "uid": ":".join(octets),
            "dash": f"{facility}-{number}", "slash": f"{facility}/{number}", "words-fc": f"FC {facility} ID {number}",
            "hex-lower": "".join(octets).lower(), "0x": f"0x{data:X}"}[form]


class Site:
    def __init__(self, seed):
        r = self.r = random.Random(f"trade {seed}")
        self.seed, self.kinds, self.rows, self.was = seed, [], [], {}
        for fmt in r.sample(list(FORMATS), r.choice([1, 1, 2])):
            f, n, _ = FORMATS[fmt]
            form = pick(r, LISTED[f > 0])
            facility = r.randrange(1, min(2**f, r.choice([100, 2**f]))) if f else 0
            count, first = int(10 * 12 ** r.random()), r.randrange(1, 2**n - 2000)
            numbers = (r.sample(range(first, first + count * r.choice([2, 4])), count + 6) if f else
                       [r.getrandbits(32) if n == 32 else 4 << 48 | r.getrandbits(48) for _ in range(count + 6)])
            self.kinds.append((fmt, form, facility, numbers[:count], numbers[count:]))
        names = [(a, b) for a in FIRST for b in LAST]
        r.shuffle(names)
        self.names = iter(names)
        self.log = r.choice(["csv", "text"])
        self.door = pick(r, {"decimal10": 3, "hex": 3, "decimal": 1})
        self.make_rows()

    def make_rows(self):
        r = self.r
        style = r.choice(["none", "column", "behind", "behind"])
        for kind in self.kinds:
            fmt, form, facility, numbers, spare = kind
            spare = list(spare)
            for number in numbers:
                text, old, note, name = write(fmt, facility, number, form), "", "good", next(self.names)
                if spare and r.random() < 0.1 and style != "none":
                    self.was[fmt, facility, spare[-1]] = name
                    was = write(fmt, facility, spare.pop(), form)
                    if style == "column":
                        old = was
                    else:
                        text, note = text + r.choice([" (was {})", " replaces {}", " formerly {}", ", old {}"]).format(was), "behind"
                self.rows.append([name, text, old, (fmt, facility, number), note, form])
        r.shuffle(self.rows)
        self.pasted = None
        if r.random() < 0.35:  # a second list, of one kind, in another form
            fmt, form, facility, numbers, spare = self.kinds[0]
            other = r.choice([o for o in LISTED[FORMATS[fmt][0] > 0] if o != form])
            self.pasted = len(self.rows)
            top = max(numbers) + 3 if FORMATS[fmt][0] else 0
            for i in range(r.choice([4, 10, 25])):
                number = top + i if top else r.getrandbits(32) if fmt == "34-0-32" else 4 << 48 | r.getrandbits(48)
                if number < 2 ** FORMATS[fmt][1]:
                    card = (fmt, facility, number)
                    self.rows.append([next(self.names), write(*card, other), "", card, "pasted", other])

    def site_file(self):
        out = ['name = "Trade"']
        for fmt, form, facility, _, _ in self.kinds:
            out += ["", "[[cards]]", f'format = "{fmt}"'] + ([f"facility = {facility}"] if facility else [])
            out += [f'printed = "{form}"'] if self.r.random() < 0.7 else []
        return "\n".join(out + ["", "[[doors]]", 'name = "Front"', f'enter = "{self.door}"', ""])

    def cells(self):
        head, out = ["First name", "Surname", "Card no", "Old card", "Dept"], []
        for i, ((first, last), text, old, *_ ) in enumerate(self.rows):
            if i == self.pasted:
                out += [[""] * 5, ["Contractors", "", "", "", ""], head]
            out.append([first, last, text, old, self.r.choice(["Office", "Yard", ""])])
        return [head] + out

    def events(self):
        """Lines of a log, and whose each text is."""
        r, asked, spelt = self.r, [], {}
        for (name, _, _, card, note, _) in r.sample(self.rows, min(12, len(self.rows))):
            asked.append((card, name))
        for fmt, _, facility, numbers, spare in self.kinds:
            spelt[fmt] = r.choice(SHOWN[FORMATS[fmt][0] > 0])
            asked += [(card, self.was.get(card)) for card in ((fmt, facility, number) for number in spare[-2:])]
        r.shuffle(asked)
        return [(write(*card, spelt[card[0]]), card, name) for card, name in asked]


class Judge:
    def __init__(self, program, folder, verbose):
        self.program, self.folder, self.verbose = program, folder, verbose
        self.n, self.stated = collections.Counter(), collections.defaultdict(list)

    def run(self, *args):
        p = subprocess.run([self.program, *args], capture_output=True, text=True, cwd=self.folder, timeout=300)
        return p.returncode, p.stdout, p.stderr

    def say(self, site, text):
        if self.verbose:
            print(f"seed {site.seed}: {text}", flush=True)

    def one(self, seed):
        site = Site(seed)
        for name, text in (("site.toml", site.site_file()), ("list.csv", None)):
            with open(os.path.join(self.folder, name), "w", newline="") as f:
                f.write(text) if text else csv.writer(f).writerows(site.cells())
        self.n["lists"] += 1
        self.batch(site)
        self.match(site)

    def batch(self, site):
        out = os.path.join(self.folder, "out.csv")
        if os.path.exists(out):
            os.remove(out)
        code, _, err = self.run("batch", "list.csv", "-c", "Card no", "--site", "site.toml", "--door", "Front", "-o",
                                "out.csv", "--name", "New")
        if not os.path.exists(out):
            self.n["batch refused"] += 1
            return self.say(site, f"batch refuses: {err.strip()[:200]}")
        with open(out, newline="", encoding="utf-8-sig") as f:
            got = {(row[0], row[1]): row[-1] for row in csv.reader(f) if len(row) > 2}
        for name, text, _, card, note, form in site.rows:
            right, wrote = write(*card, site.door), got.get(name)
            self.n["rows " + note] += 1
            self.n["converted " + note] += wrote == right
            if wrote and wrote != right:
                self.n["wrong " + note] += 1
                self.say(site, f"batch writes {wrote} for {text!r}, which is {right} ({note}, {card[0]} as {form}); "
                         f"{[k[:2] for k in site.kinds]}")

    def match(self, site):
        asked = site.events()
        with open(os.path.join(self.folder, "events.csv"), "w", newline="") as f:
            w = csv.writer(f)
            w.writerow(["Time", "Card", "Event"])
            w.writerows([f"2026-03-01 08:{i:02}", text, "granted"] for i, (text, _, _) in enumerate(asked))
        with open(os.path.join(self.folder, "events.log"), "w") as f:
            f.writelines(f"2026-03-01 08:{i:02}:07 door Front card {text} granted\n"
                         for i, (text, _, _) in enumerate(asked))
        source = ["events.csv", "-c", "Card"] if site.log == "csv" else ["events.log"]
        code, out, err = self.run("match", *source, "--list", "list.csv", "--list-column", "Card no", "--site",
                                  "site.toml", "--json", "--all")
        if code > 1 or not out:
            self.n["match refused"] += 1
            return self.say(site, f"match refuses: {err.strip()[:200]}")
        answer, lines = json.loads(out), {}
        for i, a in enumerate(asked):
            lines.setdefault(i + (2 if site.log == "csv" else 1), a)
        whose = {" ".join(name): card for name, _, _, card, _, _ in site.rows}
        for u in answer.get("unknown") or []:
            text, card, name = lines[u["first_line"]]
            holder = u.get("holder")
            if not holder and u["rule"] != "not on the list":
                continue
            right = (any(whose.get(h) == card or h == " ".join(name or ()) for h in holder.split(" or ")) if holder
                     else name is None or card in site.was)  # a card that was replaced is on no list
            self.stated["holder" if holder else "not on the list"].append((u["probability"], right))
            if u["probability"] > 0.9 and not right:
                row = next((r[1:3] + r[4:] for r in site.rows if r[0] == name), None)
                self.say(site, f"match states {u['probability']:.4f}: {text} is {holder or 'nobody'} ({u['rule']}), and is "
                         f"{name} {row}; {[k[:2] for k in site.kinds]}, {site.log}")
        self.n["asked"] += len(asked)
        self.n["unknown"] += len(answer.get("unknown") or [])
        self.n["known"] += answer.get("cards_seen") or 0

    def report(self):
        print(dict(self.n))
        for what, all_of in sorted(self.stated.items()):
            for low in (0.9, 0.99):
                some = [ok for p, ok in all_of if p > low]
                print(f"match: {what} above {low}: {some.count(False)} wrong of {len(some)}")


def main():
    a = argparse.ArgumentParser()
    a.add_argument("-v", action="store_true")
    a.add_argument("--first", type=int, default=1)
    a.add_argument("--lists", type=int, default=60)
    a.add_argument("--cardtell", default="cardtell")
    args = a.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        judge = Judge(os.path.abspath(args.cardtell), folder, args.v)
        for seed in range(args.first, args.first + args.lists):
            judge.one(seed)
        judge.report()


if __name__ == "__main__":
    main()
