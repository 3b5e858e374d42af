"""Makes lists of cardholders as small sites have them, and judges what batch made of them, by arithmetic of its own: 26 bits are
facility * 65536 + number, 34 bits two halves of 16, or one number of 32.

    lists.py make FOLDER SEED COUNT     writes N.csv and N.toml, and prints for each how batch is to be asked, a line of JSON
    lists.py judge FOLDER SEED COUNT    reads the same on standard input with "report", what batch printed as JSON, and prints what is wrong

A row is good where nothing is wrong with its number, or only what can be taken back for certain.
"""

import csv
import io
import json
import os
import random
import sys

LETTERS = ["Ada", "Ben", "Cleo", "Dan", "Eve", "Fay", "Gus", "Hal", "Ivy", "Jon", "Kim", "Lou", "Max", "Nell", "Oda", "Pia"]
FAMILY = ["Dale", "Sum", "Voss", "West", "Total", "Park", "Hill", "Moss", "Reed", "Page"]


class Kind:
    """Cards of one format at the site: facility and number, or a number alone."""

    def __init__(self, rnd, name):
        self.name = name
        self.facility = None
        if name == "26-8-16":
            self.facility = rnd.randint(1, 255)
            self.top = 65535
        elif name == "34-16-16":
            self.facility = rnd.randint(256, 65535)
            self.top = 65535
        else:
            self.top = 2**32 - 1
        if self.facility is None:  # serials lie anywhere
            self.block = None
            self.numbers = iter(rnd.sample(range(2**25, 2**32), 300))
        else:
            size = rnd.choice([50, 100, 200, 500])
            first = rnd.randint(1, self.top - size)
            self.block = (first, first + size - 1)
            self.numbers = iter(rnd.sample(range(first, first + size), min(size, 200)))
        self.listed = self.block is not None and rnd.random() < 0.7
        self.named = self.facility is not None and rnd.random() < 0.85  # its facility is in the site file
        self.printed = rnd.choice(["pair", "joined"]) if self.facility is not None else "number10"

    def write(self, number, form):
        """A card in a form, as the published tables have it."""
        width = 3 if self.name == "26-8-16" else 5
        if self.facility is None:
            whole = number
        else:
            whole = self.facility * 65536 + number
        if form == "pair":
            return f"{self.facility:0{width}d},{number:05d}"
        if form == "joined":
            return f"{self.facility:0{width}d}{number:05d}"
        if form == "number10":
            return f"{number:010d}"
        if form == "decimal10":
            return f"{whole:010d}"
        if form == "hex":
            return f"{whole:0{6 if self.name == '26-8-16' else 8}X}"
        raise ValueError(form)

    def toml(self):
        lines = ["[[cards]]", f'format = "{self.name}"']
        if self.named:
            lines.append(f"facility = {self.facility}")
        if self.listed:
            lines.append(f'numbers = "{self.block[0]}-{self.block[1]}"')
        lines.append(f'printed = "{self.printed}"')
        return "\n".join(lines) + "\n"


def damage(rnd, text, kind, form):
    """A damaged number, and whether what it was can be taken back for certain."""
    how = rnd.choice(["blank", "spaces", "nbsp", "dot", "date", "science", "lost", "facility", "words", "stop"])
    if how == "blank":
        return "", False
    if how == "spaces":
        return "  " + text + " ", True
    if how == "nbsp":
        return "\u00a0" + text, True
    if how == "stop":
        return text + ".", False
    if how == "dot" and "," in text:
        return text.replace(",", "."), False
    if how == "date":
        return "12.05.2024", False
    if how == "science":
        return "7.93E+06", False
    if how == "lost" and text.startswith("0") and "," not in text:
        return text.lstrip("0"), False
    if how == "facility" and form == "pair" and kind.facility is not None:
        other = kind.facility % 200 + 1
        text = text.replace(text.split(",")[0], f"{other:0{len(text.split(',')[0])}d}", 1)
        return (text, other == kind.facility) if kind.named else ("lost", False)
    return "lost", False


def plan(seed, i):
    """Everything of one list: the site, the rows, what is asked, and for each name the truth."""
    rnd = random.Random(f"{seed}/{i}")
    names = rnd.sample(["26-8-16", "34-0-32", "34-16-16"], rnd.choice([1, 2, 2, 3]))
    kinds = [Kind(rnd, n) for n in names]
    restore = rnd.random() < 0.4
    forms = ["decimal10", "hex"]
    shown, wanted = rnd.sample(forms, 2)
    separate = not restore and all(k.facility is not None and k.printed == "pair" for k in kinds) and rnd.random() < 0.7
    head = ["Name", "Card no"] if not separate else ["Name", "Facility", "Card no"]
    rows, truth, lines = [], {}, []
    if rnd.random() < 0.3:
        lines += ["Cardholders of the yard", ""][: rnd.randint(1, 2)]
    for r in range(rnd.randint(20, 190)):
        kind = rnd.choice(kinds)
        number = next(kind.numbers, None)
        if number is None:
            continue
        name = f"{rnd.choice(LETTERS)} {rnd.choice(FAMILY)} {r}"
        form = shown if restore else kind.printed
        text, good = kind.write(number, form), True
        if rnd.random() < 0.06 and not separate:
            text, good = damage(rnd, text, kind, form)
        truth[name] = (kind.write(number, wanted), good)
        if separate:
            rows.append([name, str(kind.facility), str(number)])
        else:
            rows.append([name, text])
        if rnd.random() < 0.02:
            rows.append([""] * len(head))
    if rnd.random() < 0.3:
        rows.append(["Total", str(len(truth))] if not separate else ["Total", "", str(len(truth))])
    out = io.StringIO()
    writer = csv.writer(out, delimiter=rnd.choice([",", ";"]), lineterminator="\r\n")
    for line in lines:
        writer.writerow([line] + [""] * (len(head) - 1))
    writer.writerow(head)
    writer.writerows(rows)
    site = 'name = "A yard"\n\n' + "\n".join(k.toml() for k in kinds)
    site += f'\n[[doors]]\nname = "Old"\nenter = "{shown}"\n\n[[doors]]\nname = "New"\nenter = "{wanted}"\n'
    args = ["--door", "New"]
    if restore:
        args += ["--from-door", "Old"]
    args += ["--column", "Facility", "--column", "Card no"] if separate else ["--column", "Card no"]
    return out.getvalue(), site, args, truth, wanted, len(rows) + len(lines)


def paths(folder, i):
    return os.path.join(folder, f"{i}.csv"), os.path.join(folder, f"{i}.toml"), os.path.join(folder, f"{i}.out.csv")


def make(folder, seed, count):
    for i in range(count):
        text, site, args, *_ = plan(seed, i)
        given, toml, out = paths(folder, i)
        with open(given, "w", encoding="utf-8", newline="") as f:
            f.write(text)
        with open(toml, "w", encoding="utf-8") as f:
            f.write(site)
        print(json.dumps({"args": ["batch", given, "--site", toml, "-o", out, "--json", *args]}))


def table(path):
    with open(path, encoding="utf-8-sig", newline="") as f:
        text = f.read()
    delimiter = ";" if text.count(";") > text.count(",") / 2 else ","
    return list(csv.reader(io.StringIO(text), delimiter=delimiter))


def judge_one(folder, seed, i, report):
    """What is wrong with one list, how many good rows it has, and how many of them were converted."""
    _, _, _, truth, wanted, rows = plan(seed, i)
    good = sum(1 for _, ok in truth.values() if ok)
    if report is None:
        return "", good, 0
    if report["rows"] != report["converted"] + report["rejected"] + report["other"]:
        return "the counts do not add up", good, 0
    out = paths(folder, i)[2]
    written = table(out) if os.path.exists(out) else []
    right, converted = 0, 0
    for row in written:
        if row[0] not in truth:
            if row[0] not in ("Name",) and any(c and c == row[-1] for c in row[-1:]) and row[0] in ("Total", ""):
                return f"{row} is no card", good, right
            continue
        want, ok = truth[row[0]]
        converted += 1
        if row[-1] != want:
            return f"{row} should be {want}", good, right
        right += ok
    if converted != report["converted"]:
        return f"{converted} numbers written, {report['converted']} reported", good, right
    return "", good, right


def judge(folder, seed, count):
    for i, line in zip(range(count), sys.stdin):
        wrong, good, right = judge_one(folder, seed, i, json.loads(line)["report"])
        print(json.dumps({"wrong": wrong, "good": good, "right": right}))


if __name__ == "__main__":
    what, folder, seed, count = sys.argv[1:5]
    {"make": make, "judge": judge}[what](folder, seed, int(count))
