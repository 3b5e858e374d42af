#!/usr/bin/env python3
"""Asks batch, check, convert, site and match about lists of card numbers as offices keep them, and prints what is wrong.

    go build -o /tmp/cardtell ./cmd/cardtell
    .ci/lists/lists.py 0 300 /tmp/cardtell        seeds 0 to 299
    .ci/lists/lists.py 17 18 /tmp/cardtell show   one of them, with its list, its site file and what is answered

Lists are drawn here, so that the card of each row is known, and numbers are worked out here: the data of a card are facility and
number side by side, and whole reads come from testdata/independent/layouts.py. A row is good where nothing is wrong with it, or only
what the whole list shows, or what stands around a number. Where a slip makes another card of the site of it, in a block that the site
file or the list has, nobody can see that, and nothing is said of it. Look at seeds that are not looked at while mending for a figure.
"""

import collections
import csv
import io
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

# Formats, by how many bits they have, and their facility and number; and how usual they are here.
KINDS = {"26-8-16": 6, "26-0-24": 1, "30-8-20": 1, "32-0-32": 2, "32-15-15": 1, "34-16-16": 3, "34-0-32": 4, "35-12-20": 2,
         "36-0-34": 1, "37-16-19": 2, "37-0-35": 2, "58-0-56": 1}
SERIALS = ("32-0-32", "34-0-32", "58-0-56")
PRINTED = {True: ["pair"] * 5 + ["number", "joined", "decimal10", "decimal", "hex", "words", "bits-hex"],
           False: ["number"] * 2 + ["number10", "hex", "uid", "pair24", "decimal", "uid-reversed"]}
DOORS = ["decimal10", "decimal", "hex", "pair", "joined", "words", "number", "bits-hex", "read-decimal", "uid-reversed",
         "number10"]
NAMES = ["Ann Okafor", "Zoë Lindqvist", "Ana Ruiz", "O'Brien, Pat", "Mara Total", "Otto Sum", "Li Wei", "Jo Page", "Rui Card"]


def digits(bits):
    return len(str((1 << bits) - 1))


def sizes(name):
    """How many bits a format has, and its facility and number."""
    return [int(n) for n in name.split("-")[:3]]


def write(form, name, facility, number):
    """A card in a form; None where its format has no such form, or the form leaves a part of it out."""
    length, fb, nb = sizes(name)
    data, size = facility << nb | number, (fb + nb + 7) // 8
    pair = (f"{facility:0{digits(fb)}}", f"{number:0{digits(nb)}}")
    serial = number.to_bytes(nb // 8, "big") if not fb and nb in (32, 56) else None
    read = FORMATS[name].put(length, {"facility": [str(facility)], "number": [str(number)]})
    return {
        "pair": ",".join(pair) if fb else None, "joined": "".join(pair) if fb else None,
        "number": str(number), "number10": f"{number:010}",
        "decimal": str(data), "decimal10": f"{data:010}", "hex": f"{data:0{2 * size}X}",
        "words": f"{data >> 16:05},{data & 0xFFFF:05}" if fb + nb <= 32 else None,
        "pair24": f"{number >> 16:03},{number & 0xFFFF:05}" if not fb and nb == 24 else None,
        "bits-hex": f"{length}:{int(read, 2):0{(length + 3) // 4}X}", "read-decimal": str(int(read, 2)),
        "uid": serial and serial.hex(":").upper(), "uid-reversed": serial and serial[::-1].hex(":").upper(),
        "bits": read, "read-hex": f"{int(read, 2):0{(length + 3) // 4}X}",
    }.get(form)


def said(form, name, text, facilities):
    """The cards that a text says at first sight, in a form; digits alone have lost the zeros before them, if any."""
    length, fb, nb = sizes(name)
    base = 16 if "hex" in form or "uid" in form else 10
    parts = [int(p, base) for p in re.findall(r"[0-9A-Fa-f]+" if base == 16 else r"\d+", text.removesuffix(".0"))]
    value = int("".join(re.findall(r"[0-9A-Fa-f]" if base == 16 else r"\d", text.removesuffix(".0"))) or "0", base)
    data = lambda d: [(name, d >> nb & (1 << fb) - 1, d & (1 << nb) - 1)]
    match form:
        case "number" | "number10" | "uid":
            return [(name, f, value) for f in facilities]
        case "uid-reversed":
            return data(int.from_bytes(value.to_bytes(nb // 8, "big"), "little")) if value < 1 << nb else []
        case "bits-hex" | "read-decimal":
            read = parts[-1] if parts and form == "bits-hex" else value
            fields, checks = FORMATS[name].take(f"{read:0{length}b}") if read < 1 << length else ([], [(0, 0, False)])
            card = {field: int(v) for field, v in fields}
            return [(name, card.get("facility", 0), card["number"])] if all(holds for _, _, holds in checks) else []
        case "decimal" | "decimal10" | "hex":
            return data(value)
        case "joined":
            return [(name, value // 10 ** digits(nb), value % 10 ** digits(nb))]
        case "pair":
            return [(name, *parts)] if len(parts) == 2 else []
    return data(parts[0] << 16 | parts[1]) if len(parts) == 2 else []


class Kind:
    """Cards of one format at a site, and how they are printed."""

    def __init__(self, r):
        self.name = r.choices(list(KINDS), KINDS.values())[0]
        _, fb, nb = sizes(self.name)
        self.facilities = [r.randrange(1, 1 << fb)] if fb else [0]
        if fb and r.random() < 0.15:
            self.facilities.append(self.facilities[0] ^ r.choice([1, 2]))
        self.printed = r.choice([f for f in PRINTED[fb > 0] if write(f, self.name, 0, 1)])
        if self.printed == "number":
            self.facilities = self.facilities[:1]
        self.told = {"facility": fb and (self.printed == "number" or r.random() < 0.85), "printed": r.random() < 0.8}
        size, top = r.choice([60, 200, 1000]), 1 << nb
        first = r.randrange(1, min(top, 10 ** r.randint(3, 6)) - min(size, 900)) if self.name not in SERIALS else 0
        self.block = None if self.name in SERIALS else (first, min(first + size, top - 1))
        self.told["block"] = self.block and r.random() < 0.6
        self.weight = r.choice([1, 1, 3])

    def card(self, r):
        number = r.randint(*self.block) if self.block else r.randrange(1 << 20, 1 << sizes(self.name)[2])
        return self.name, r.choice(self.facilities), number

    def toml(self):
        lines = ["[[cards]]", f'format = "{self.name}"']
        lines += [f"facility = {self.facilities}"] if self.told["facility"] else []
        lines += [f'numbers = "{self.block[0]}-{self.block[1]}"'] if self.told["block"] else []
        return "\n".join(lines + ([f'printed = "{self.printed}"'] if self.told["printed"] else [])) + "\n\n"


# What is done to all numbers of a list: a name, the forms that it is done to, and how. None of it takes anything away.
HABITS = {
    "lost zeros": (("joined", "decimal10", "number10"), lambda t: t.lstrip("0")),
    "no zeros": (("pair", "pair24"), lambda t: ",".join(str(int(x)) for x in t.split(","))),
    "dash": (("pair", "pair24", "words"), lambda t: t.replace(",", "-")),
    "space": (("pair", "pair24", "words"), lambda t: t.replace(",", " ")),
    "dot": (("pair", "pair24", "words"), lambda t: t.replace(",", ".")),
    "colon": (("pair", "pair24"), lambda t: t.replace(",", ":")),
    "brackets": (("pair", "pair24"), lambda t: "({}) {}".format(*t.split(","))),
    "words": (("pair",), lambda t: "FC {} ID {}".format(*t.split(","))),
    "letter": (("pair", "joined", "number", "number10", "decimal10"), lambda t: "N" + t),
    "label": (("pair", "joined", "number", "number10", "decimal10"), lambda t: "Nr. " + t),
    "sharp": (("pair", "joined", "number", "number10", "decimal10"), lambda t: "#" + t),
    "lower": (("hex", "uid", "uid-reversed", "bits-hex"), str.lower),
    "bare bytes": (("uid", "uid-reversed"), lambda t: t.replace(":", "")),
    "filled": (("number", "decimal"), lambda t: t.zfill(8)),
    "point": (("number", "decimal"), lambda t: t + ".0"),
}


def slip(r, t):
    """A text typed wrong: a digit wrong, missing, twice, or two swapped."""
    at = r.choice([i for i, c in enumerate(t) if c.isdigit()] or [0])
    return {"wrong": lambda: t[:at] + r.choice("0123456789") + t[at + 1:], "missing": lambda: t[:at] + t[at + 1:],
            "twice": lambda: t[:at] + t[at:at + 1] + t[at:], "swapped": lambda: t[:at] + t[at + 1:at + 2] + t[at:at + 1] + t[at + 2:],
            }[r.choice(["wrong", "wrong", "missing", "twice", "swapped"])]()


# What is done to single numbers: a name, whether the row is still good, and how.
DAMAGE = {
    "spaces": (True, lambda r, t: f"  {t} "), "no-break space": (True, lambda r, t: "\u00a0" + t),
    "apostrophe": (True, lambda r, t: "'" + t), "formula": (True, lambda r, t: f'="{t}"'),
    "slip": (False, slip), "like slip": (False, lambda r, t: t[:-1]), "other slip": (False, lambda r, t: t[:1] + t),
    "blank": (False, lambda r, t: ""), "words": (False, lambda r, t: r.choice(["lost", "none", "see Ann", "?", "#REF!"])),
    "date": (False, lambda r, t: "12.05.2024"), "science": (False, lambda r, t: f"{int(t):.3E}" if t.isdigit() else "1.2E+07"),
    "zeros lost": (False, lambda r, t: t.lstrip("0")), "dot": (False, lambda r, t: t.replace(",", ".")),
    "other sign": (False, lambda r, t: t.replace(",", r.choice("-/ ;"))), "thousands": (False, lambda r, t: f"{int(t):,}" if t.isdigit() else t),
    "words behind": (False, lambda r, t: t + r.choice([" (old)", " lost", " spare"])), "label": (False, lambda r, t: "No. " + t),
}

Row = collections.namedtuple("Row", "cells card good")


class List:
    """A site, and a list of its cardholders."""

    def __init__(self, seed):
        self.r = r = random.Random(seed)
        self.kinds = [Kind(r) for _ in range(r.choice([1, 1, 1, 2, 2, 3]))]
        self.kinds = list({k.name: k for k in self.kinds}.values())
        fits = [d for d in DOORS if all(write(d, k.name, 0, 1) for k in self.kinds)]
        fits = [d for d in fits if d not in ("number", "number10") or all(k.facilities == [0] for k in self.kinds)]
        self.door, self.old = r.choice(fits), r.choice(fits)
        self.way = r.choice(["printed"] * 6 + ["back-up"] * 2 + ["columns"] * 2 + ["options"])
        if self.way == "columns" and not all(k.facilities[0] and k.printed == "pair" for k in self.kinds):
            self.way = "printed"
        if self.way == "options" and len(self.kinds) > 1:
            self.way = "printed"
        self.told = self.way == "options" or all(k.told["printed"] for k in self.kinds) or self.way == "back-up"
        forms = {k.printed for k in self.kinds} if self.way != "back-up" else {self.old}
        able = [h for h, (of, _) in HABITS.items() if forms <= set(of)] if self.way != "columns" else ["letter", "label", "sharp"]
        self.habit = r.choice(able) if able and r.random() < 0.4 else "plain"
        self.rate, self.damage = r.choice([0, 0.02, 0.05, 0.1, 0.3]), r.sample(list(DAMAGE), r.choice([1, 2, 3, 10]))
        self.head = ["Name", "Facility", "Card no", "Hall"] if self.way == "columns" else ["Name", "Card no", "Hall"]
        self.rows = []
        self.fill(r.choice([20, 30, 50, 90, 200]))

    def form(self, kind):
        return self.old if self.way == "back-up" else "number" if self.way == "columns" else kind.printed

    def fill(self, n):
        r, width = self.r, len(self.head)
        row = lambda *cells: Row(list(cells) + [""] * (width - len(cells)), None, False)
        self.rows += r.choice([[], [], [row("Cardholders, 12.11.2026")], [row("Yard"), row()]]) + [row(*self.head)]
        habit = HABITS.get(self.habit, (0, str))[1]
        for i in range(n):
            kind = r.choices(self.kinds, [k.weight for k in self.kinds])[0]
            card = kind.card(r)
            if r.random() < self.rate / 10 and self.form(kind) != "number":  # a visitor's card, of another facility
                card = card[0], (card[1] + 5) % (1 << sizes(kind.name)[1]), card[2]
            stranger = card[1] not in kind.facilities
            text, good = habit(write(self.form(kind), *card)), not stranger
            if r.random() < self.rate:
                fine, how = DAMAGE[r.choice(self.damage)]
                was, text = text, how(r, text)
                good = good and (fine or was == text)
            cells = [f"{r.choice(NAMES)} {i}", *([str(card[1])] if width == 4 else []), text, r.choice(["East", "", "7"])]
            self.rows.append(Row(cells, card, good))
            if r.random() < 0.02:
                self.rows.append(r.choice([row(), Row(cells, card, good), row("Total", *[""] * (width - 3), str(i))]))
        if r.random() < 0.6:
            label = r.choice(["Total", "Σ", "Anzahl", "Nombre", "Cyfanswm", "Page 1 of 2", "Stand: 12.05.2024", "see Ann, 030 5551234"])
            if label == "Cyfanswm":  # which nobody knows: a count below an empty row is one
                self.rows += [row()] if self.rows[-1].cells[0] else []
            rows = sum(1 for one in self.rows if one.card)
            self.rows.append(row(label, *[""] * (width - 3), str(rows)) if label[-1].isalpha() else row(label))
        for i, one in enumerate(self.rows):  # which can be a card of another of the site's kinds, too, is not good
            if one.good and set(self.unseen(one, self.door)) - {write(self.door, *one.card)}:
                self.rows[i] = one._replace(good=False)

    def site(self):
        doors = "".join(f'[[doors]]\nname = "{n}"\nenter = "{e}"\n\n' for n, e in (("New", self.door), ("Old", self.old)))
        return 'name = "A yard"\n\n' + "".join(k.toml() for k in self.kinds) + doors

    def known(self):
        """What is said of the list."""
        if self.way != "options":
            return ["--site", "site.toml", *(["--from-door", "Old"] if self.way == "back-up" else [])]
        k = self.kinds[0]
        bare = k.printed == "number" and k.facilities[0]
        return ["--format", k.name, "--from", k.printed, *(["--facility", str(k.facilities[0])] if bare else [])]

    def columns(self):
        return ["-c", "Facility", "-c", "Card no"] if self.way == "columns" else ["-c", "Card no"]

    def unseen(self, row, door, alone=False):
        """What the text of a row says at first sight, in the form asked for, where that is a card of the site, or alone may be one."""
        for k in self.kinds:
            _, fb, nb = sizes(k.name)
            facilities = [int(row.cells[1])] if len(self.head) == 4 else k.facilities
            for card in said(self.form(k), k.name, row.cells[-2], facilities):
                first, last = k.block or (0, (1 << nb) - 1)
                near = last - first  # which is as good as in the block
                anywhere = self.way == "options" or alone and not (k.told["block"] and k.told["facility"])
                site = card[1] in k.facilities and first - near <= card[2] <= last + near
                if (site or anywhere) and card[1] < 1 << fb and card[2] < 1 << nb:
                    yield write(door, *card)

    def words(self):
        kinds = "; ".join(f"{k.name} {k.printed} {[w for w, t in k.told.items() if t]}" for k in self.kinds)
        return f"{self.way} {kinds}, {self.habit}, {self.rate} of {self.damage if len(self.damage) < 4 else 'all'}, into {self.door}"


def table(path, delimiter=","):
    text = pathlib.Path(path).read_text(encoding="utf-8-sig") if pathlib.Path(path).exists() else ""
    return list(csv.reader(io.StringIO(text), delimiter=delimiter))


class Judge:
    """Asks a program about one list, in a folder of its own, and notes what is wrong."""

    def __init__(self, program, seed, folder, show):
        self.list, self.folder, self.program, self.seed, self.show = List(seed), pathlib.Path(folder), program, seed, show
        self.count = collections.Counter()
        with open(self.folder / "list.csv", "w", encoding="utf-8", newline="") as f:
            csv.writer(f, lineterminator="\n").writerows(row.cells for row in self.list.rows)
        (self.folder / "site.toml").write_text(self.list.site())
        if show:
            print(self.list.words(), self.list.site(), (self.folder / "list.csv").read_text(), sep="\n")

    def ask(self, *args, text=None):
        done = subprocess.run([self.program, args[0], "--json", *args[1:]], cwd=self.folder, capture_output=True, text=True, input=text)
        if self.show:
            print("$", " ".join(args), done.stdout, done.stderr, sep="\n", flush=True)
        none = args[0] in ("convert", "site") and "no such" not in done.stderr or not self.list.told  # which is an answer
        if done.returncode > 1 and not none or "panic" in done.stderr:
            self.note("refused", args[0] + ": " + done.stderr.strip()[-200:])
        return json.loads(done.stdout) if done.stdout else None

    def note(self, what, text):
        self.count[what] += 1
        print(f"{self.seed}: {what}: {text} ({self.list.words()})", flush=True)

    def batch(self):
        """Judges what batch writes, and returns it by line; None where a row was rejected."""
        asked = ["batch", "list.csv", *self.list.columns(), *self.list.known(), "-o", "out.csv", "--name", "New"]
        report = self.ask(*asked, *(["--to", self.list.door] if self.list.way == "options" else ["--door", "New"]))
        if report is None:
            return {}
        rows = self.list.rows
        if report["rows"] != report["converted"] + report["rejected"] + report["other"] or report["rows"] != len(rows) - 1:
            self.note("lost", f"{len(rows) - 1} rows counted as {report['rows']}, {report['converted']}, {report['rejected']}, {report['other']}")
        rejected = {int(row[0]): None for row in table(self.folder / "out.csv.rejects.csv")[1:]}
        other = {o["line"]: o.get("left_out", False) for o in report.get("others", [])}
        left = [(i + 1, row) for i, row in enumerate(rows) if i + 1 not in rejected and not other.get(i + 1)]
        out = table(self.folder / "out.csv")
        if len(out) != len(left):
            self.note("lost", f"{len(out)} rows written of {len(left)}")
            return {}
        written = {line: now[-1] for (line, row), now in zip(left, out) if line not in other and row.cells != self.list.head}
        for line in other:
            if rows[line - 1].card:
                self.note("lost", f"line {line}: {rows[line - 1].cells} is named as no card")
        for line, number in written.items():
            self.number("batch", line, number)
        good = [i + 1 for i, row in enumerate(rows) if row.good]
        told = "told" if self.list.told else "untold"
        self.count[f"good, {told}"] += len(good)
        self.count[f"good and converted, {told}"] += sum(line in written for line in good)
        bad = [line for line in good if line not in written]
        if len(bad) > 0.05 * len(good) and self.list.told:
            why = [p["message"] for p in report.get("problems", []) if p["line"] == bad[0]]
            self.note("rejected", f"{len(bad)} of {len(good)} good rows, such as line {bad[0]}: {why}")
        return written | rejected

    def number(self, command, line, number):
        """Judges a number that was written for a line."""
        row = self.list.rows[line - 1]
        right = row.card and write(self.list.door, *row.card)
        self.count["numbers"] += 1
        if number == right:
            return
        if number in self.list.unseen(row, self.list.door, command == "convert"):
            self.count["of cards mistyped as others"] += 1
            return
        self.note("wrong", f"{command}: line {line}: {row.cells} is {row.card}, {right}, and has become {number}")

    def check(self, written):
        """What batch rejects check has to name, and what check can't read batch has to reject."""
        known = self.list.known() if self.list.way != "back-up" else []
        report = known and self.ask("check", "list.csv", *self.list.columns(), *known, "--all", "--next", "4")
        if not report:
            return
        have = {row.card: row.cells for row in self.list.rows if row.good and self.list.told}
        for block in report.get("next", []):
            for number in range(int(block["first"]), int(block["last"]) + 1):
                self.count["new numbers"] += 1
                if (card := (block["format"], int(block.get("facility", 0)), number)) in have:
                    self.note("offered", f"{card} is {have[card]}")
        named, unread = {}, {"damaged", "unreadable", "out-of-range", "several", "empty"}
        for p in report.get("problems", []):
            named.setdefault(p.get("line"), []).append(p)
        other = [line for line, number in written.items()
                 if (line not in named if number is None else unread & {p["kind"] for p in named.get(line, [])})]
        if other:
            line = other[0]
            self.note("disagree", f"{len(other)} rows: {self.list.rows[line - 1].cells} is {written[line]}, for check {named.get(line)}")

    def convert(self, written):
        """A few rows by themselves: what is sure has to be right, and what batch has written."""
        if self.list.way in ("columns", "back-up", "options") or self.list.habit not in ("plain", "lower", "dash"):
            return
        rows = [(i + 1, row) for i, row in enumerate(self.list.rows) if row.card and row.cells[-2].strip()]
        for line, row in self.list.r.sample(rows, 3):
            answer = self.ask("convert", "--site", "site.toml", "--door", "New", "--", row.cells[-2])
            for one in (answer or {}).get("results", []):
                if one.get("probability", 0) > 0.99 and "value" in one:
                    self.number("convert", line, one["value"])
                    if written.get(line) not in (None, one["value"]):
                        self.note("disagree", f"line {line}: {row.cells} is {written[line]}, and by itself {one['value']}")

    def survey(self):
        """What site makes of the list: kinds that it states have to be the list's, but for what no list shows."""
        if self.list.way == "columns":
            return
        answer = self.ask("site", "list.csv", "-c", "Card no")
        lines = re.findall(r"# Format (\S+) \(>?([\d.]+) % sure\), written as (\S+): (\d+) of", (answer or {}).get("toml", ""))
        for name, sure, form, rows in lines:
            right = any(self.alike(name, form, k) for k in self.list.kinds)
            self.count["kinds"] += 1
            for limit in (90, 99):
                self.count[f"kinds stated above {limit} %"] += float(sure) > limit
                self.count[f"kinds stated above {limit} % and wrong"] += float(sure) > limit and not right
            if float(sure) > 90 and not right:
                self.note("kind", f"{name} as {form}, {sure} %, {rows} rows")

    def alike(self, name, form, kind):
        """Whether cards of a kind are written the same, field by field, as those of another format in a form."""
        if not re.fullmatch(r"\d+-\d+-\d+(-reversed)?", name) or sizes(name)[1:] != sizes(kind.name)[1:]:
            return False
        rows = [row for row in self.list.rows if row.good and row.card[0] == kind.name]
        return all(write(form, name, *row.card[1:]) in (row.cells[-2].strip(" '=\""), write(self.list.form(kind), *row.card)) for row in rows)

    def match(self):
        """Events of a few cards, and of one that is not on the list: the holder that is named has to be the card's."""
        l = self.list
        if l.way in ("options", "back-up"):
            return
        cards = [row.card for row in l.r.sample([row for row in l.rows if row.card], 6)] + [l.kinds[0].card(l.r)]
        with open(self.folder / "events.csv", "w", newline="") as f:
            csv.writer(f).writerows([["Time", "Card"], *([f"12:0{i}", write(l.door, *card)] for i, card in enumerate(cards))])
        columns = [c.replace("-c", "--list-column") for c in l.columns()]
        answer = self.ask("match", "events.csv", "-c", "Card", "--list", "list.csv", *columns, "--site", "site.toml", "--door", "New",
                          "-o", "named.csv")
        stated = [(text, holder) for _, text, holder, how in table(self.folder / "named.csv")[1:] if how == "on the list"]
        stated += [(u["card"], u["holder"]) for u in (answer or {}).get("unknown", []) if u.get("holder") and u["probability"] > 0.99]
        rows = {row.cells[0]: row for row in l.rows if row.card}
        for text, name in stated:
            self.count["holders"] += 1
            if all(write(l.door, *rows[n].card) != text and text not in l.unseen(rows[n], l.door) for n in name.split(" or ")):
                self.note("holder", f"{text} is stated to be {name}")

    def all(self):
        written = self.batch()
        self.check(written)
        self.convert(written)
        self.survey()
        self.match()
        return self.count


def main(first, last, program, show=False):
    count = collections.Counter()
    for seed in range(first, last):
        with tempfile.TemporaryDirectory(prefix="lists_") as folder:
            count += Judge(program, seed, folder, show).all()
    print(dict(sorted(count.items())))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3], len(sys.argv) > 4)
