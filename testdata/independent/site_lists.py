"""Makes lists of a site's cards as offices keep them, and judges what batch made of each: by arithmetic of its own, in which a card is a kind, a
facility and a number, its data bits are facility and number side by side, first bit first, and each form is as the trade writes it. So the
cards are known here, and not read from the list.

A question is {"seed", "list", "dir"}, which writes DIR/LIST.csv and DIR/LIST.toml and is answered by {"args": the arguments for batch}; or the
same with {"out", "rejects": FILE or "", "report": what batch printed as JSON}, answered by {"wrong": [what is wrong], "good": rows that nothing is
wrong with, "converted": how many of them were converted, "way": how the list was made}.
"""

import csv
import io
import json
import os
import random
import sys

# kind: bits of the facility, bits of the number. Data bits are all between the checks: (published 26-bit standard; the others are
# common practice, no source)
KINDS = {"26-8-16": (8, 16), "34-16-16": (16, 16), "34-0-32": (0, 32), "37-16-19": (16, 19), "37-0-35": (0, 35), "35-12-20": (12, 20)}
NAMES = ["Ann Okafor", "Zoë Lindqvist", "Ana Ruiz", "O'Brien, Pat", "Total Fitness Ltd", "Mara; Tom", "Count Otto", "Li | Wei", "Sum Lee", "Page Turner"]


def digits(bits):
    return len(str((1 << bits) - 1))


def write(form, kind, facility, number):
    """A card in a form; None where the kind has no such form."""
    fb, nb = KINDS[kind]
    data = facility << nb | number
    match form:
        case "pair":
            return f"{facility:0{digits(fb)}},{number:0{digits(nb)}}" if fb else None
        case "joined":
            return f"{facility:0{digits(fb)}}{number:0{digits(nb)}}" if fb else None
        case "number":
            return str(number)
        case "number10":
            return f"{number:010}" if not fb else None
        case "decimal":
            return str(data)
        case "decimal10":
            return f"{data:010}"
        case "hex":
            return f"{data:0{2 * ((fb + nb + 7) // 8)}X}"
        case "words":
            return f"{data >> 16:05},{data & 0xFFFF:05}" if fb + nb <= 32 else None


PRINTS = {True: ["pair", "pair", "joined", "decimal10", "number"], False: ["number10", "number", "hex"]}
DOORS = ["pair", "decimal", "decimal10", "hex", "words", "joined"]


class List:
    def __init__(self, q):
        self.rnd = rnd = random.Random(f"{q['seed']} {q['list']}")
        self.base = os.path.join(q["dir"], str(q["list"]))
        kinds = rnd.sample(list(KINDS), rnd.choice([1, 1, 2, 2, 3]))
        self.pops = [self.population(k) for k in kinds]
        self.door = rnd.choice([d for d in DOORS if all(write(d, k, 0, 1) for k in kinds)])
        self.back = rnd.choice([d for d in DOORS if all(write(d, k, 0, 1) for k in kinds)])
        ways = ["printed"] * 4 + ["backup"] * 3 + ["untold"]
        if all(KINDS[k][0] for k in kinds):
            ways += ["columns"] * 2
        if len(kinds) == 1:
            ways += ["format"]
        self.way = rnd.choice(ways)
        self.rows = []  # (cells, card or None, good)
        self.delimiter = rnd.choice([",", ";", "\t"])
        self.fill()

    def population(self, kind):
        rnd = self.rnd
        fb, nb = KINDS[kind]
        p = {"kind": kind, "facilities": [rnd.randrange(1, 1 << fb)] if fb else []}
        if fb and rnd.random() < 0.2:
            p["facilities"].append(min(p["facilities"][0] + rnd.choice([1, 7]), (1 << fb) - 1))
        p["facilities"] = sorted(set(p["facilities"]))
        size, top = rnd.choice([50, 300, 2000]), 1 << nb
        start = rnd.choice([1, rnd.randrange(1, min(top, 60000) - 2000), rnd.randrange(1, top - 2000)])
        p["block"] = (start, start + size)
        p["blocks known"] = rnd.random() < 0.7
        p["print"] = rnd.choice(PRINTS[fb > 0])
        if p["print"] == "number" and len(p["facilities"]) > 1:
            p["print"] = "pair"
        p["weight"] = rnd.choice([1, 1, 4])
        return p

    def card(self):
        p = self.rnd.choices(self.pops, [p["weight"] for p in self.pops])[0]
        return p["kind"], self.rnd.choice(p["facilities"] or [0]), self.rnd.randrange(p["block"][0], p["block"][1] + 1), p

    def damage(self, text, form):
        """A damaged cell, and whether it is still good: what was done takes nothing away. A digit is lost only where the form has a
        fixed number of them: elsewhere what is left is another card's number, and nobody can see that."""
        rnd = self.rnd
        fixed = form == "joined" or form in ("number10", "decimal10") and len(text) == 10
        ways = [(lambda: f" {text} ", True), (lambda: text + "\u00a0", True), (lambda: f'="{text}"', True), (lambda: "'" + text, True),
                (lambda: "", False), (lambda: rnd.choice(["lost", "?", "#REF!", "none", "see Ann"]), False), (lambda: text + " and " + text, False)]
        if "," in text:
            ways += [(lambda: text.replace(",", rnd.choice("-/ ")), False), (lambda: text.rstrip("0") if text[-1] == "0" else text, text[-1] != "0"),
                     (lambda: ",".join(str(int(x)) for x in text.split(",")), False), (lambda: text.replace(",", "."), False),
                     (lambda: text + ";" + text, False)]
        elif text.isdigit():
            ways += [(lambda: str(int(text)), False), (lambda: f"{int(text):.4E}", False), (lambda: f"{int(text):,}", False),
                     (lambda: str(int(text)) + ".0", False), (lambda: text[:-1] if fixed else "", False), (lambda: text + ".", True), (lambda: "12-May", False)]
        else:
            ways += [(lambda: text.lower(), True), (lambda: text.lstrip("0"), False)]
        make, good = rnd.choice(ways)
        return make(), good

    def fill(self):
        rnd = self.rnd
        two = self.way == "columns"
        self.head = ["Name", "Facility", "Card", "Hall"] if two else ["Name", "Card", "Hall"]
        for _ in range(rnd.randrange(4)):
            title = rnd.choice([["Cardholders"], [f"As of {rnd.randrange(1, 28)}.11.2026"], [], ["Harbour Row Workshops"]])
            self.rows.append((title + [""] * (len(self.head) - len(title)), None, False))
        self.rows.append((self.head, None, False))
        rate = rnd.choice([0, 0.03, 0.03, 0.1, 0.3])
        for i in range(rnd.choice([8, 20, 60, 190, 400])):
            kind, facility, number, p = self.card()
            name, hall = f"{rnd.choice(NAMES)} {i}", rnd.choice(["East", "West", "7", ""])
            if rnd.random() < 0.02:
                self.rows.append((rnd.choice([[""] * len(self.head), ["Sum", *[""] * (len(self.head) - 3), str(rnd.randrange(400)), ""], self.head]), None, False))
            card = (kind, facility, number)
            if two:
                cells, good = [str(facility), str(number)], True
                if rnd.random() < rate:
                    at = rnd.randrange(2)
                    cells[at], good = self.damage(cells[at], "number")
                self.rows.append(([name, *cells, hall], card, good))
                continue
            form = {"printed": p["print"], "format": p["print"]}.get(self.way, self.back)
            text, good = write(form, *card), True
            if rnd.random() < rate:
                text, good = self.damage(text, form)
            self.rows.append(([name, text, hall], card, good))
        if rnd.random() < 0.5:
            self.rows.append((["Total", *[""] * (len(self.head) - 3), str(rnd.randrange(400)), ""], None, False))

    def make(self):
        with open(self.base + ".csv", "w", encoding="utf-8", newline="") as f:
            csv.writer(f, delimiter=self.delimiter, lineterminator="\n").writerows(row for row, _, _ in self.rows)
        toml = 'name = "Harbour Row Workshops"\n'
        for p in self.pops:
            toml += f'[[cards]]\nformat = "{p["kind"]}"\nprinted = "{p["print"]}"\n'
            if p["facilities"]:
                toml += f'facility = {p["facilities"]}\n'
            if p["blocks known"]:
                toml += f'numbers = "{p["block"][0]}-{p["block"][1]}"\n'
        for name, form in ("Yard gate", self.door), ("North stair", self.back):
            toml += f'[[doors]]\nname = "{name}"\nenter = "{form}"\n'
        with open(self.base + ".toml", "w", encoding="utf-8") as f:
            f.write(toml)
        args = ["batch", self.base + ".csv", "--json", "--name", "New"]
        if self.way == "format":
            p = self.pops[0]
            args += ["-c", "Card", "--format", p["kind"], "--from", p["print"], "--to", self.door]
            if p["print"] == "number" and p["facilities"]:
                args += ["--facility", str(p["facilities"][0])]
            return args
        args += ["--site", self.base + ".toml", "--door", "Yard gate"]
        if self.way == "columns":
            return args + ["-c", "Facility", "-c", "Card"]
        return args + ["-c", "Card"] + (["--from-door", "North stair"] if self.way == "backup" else [])

    def judge(self, q):
        report, wrong = q["report"], []
        if report["rows"] != report["converted"] + report["rejected"] + report["other"]:
            wrong.append("the counts do not add up")
        if report["rows"] != len(self.rows) - 1:
            wrong.append(f"{report['rows']} rows of {len(self.rows) - 1} are counted")
        rejected = {int(r[0]) for r in read(q["rejects"], self.delimiter)[1:]} if q.get("rejects") else set()
        other = {o["line"]: o.get("left_out", False) for o in report.get("others", [])}
        left = [(i + 1, *r) for i, r in enumerate(self.rows) if i + 1 not in rejected and not other.get(i + 1)]
        out = read(q["out"], self.delimiter)
        if len(out) != len(left):
            wrong.append(f"{len(out)} rows in the output, where {len(left)} are neither rejected nor left out")
            left = []
        good, converted = sum(r[2] for r in self.rows), 0
        for (line, cells, card, fine), now in zip(left, out):
            if line in other or cells == self.head:
                continue
            if now[: len(cells)] != cells and now[: len(cells)] != ["'" + c if c[:1] in "=+-@" and c else c for c in cells]:
                wrong.append(f"line {line}: {cells} has become {now}")
            elif card is None:
                wrong.append(f"line {line}: {cells} is nobody, and has become {now[-1]}")
            elif now[-1] != write(self.door, *card):
                wrong.append(f"line {line}: {cells} is {card} and has become {now[-1]}, not {write(self.door, *card)} ({self.way})")
            converted += fine
        return {"wrong": wrong, "good": good, "converted": converted, "way": self.way}


def read(path, delimiter):
    with open(path, encoding="utf-8", newline="") as f:
        return list(csv.reader(io.StringIO(f.read()), delimiter=delimiter))


for line in sys.stdin:
    question = json.loads(line)
    one = List(question)
    print(json.dumps(one.judge(question) if "report" in question else {"args": one.make()}))
