#!/usr/bin/env python3
"""Lists of cards as offices of small sites keep them, and what batch, check, match and site make of them.

    .ci/lists/offices.py [-v] [--first 1] [--lists 60] [--cardtell PROGRAM] [--keep FOLDER]

Each seed makes one site: one to three kinds of card, what is printed on them, what the office typed, what happened to
the file, and what the site file says of it. Every card is known, and every form is worked out here, by arithmetic of
its own on the widths of the fields: nothing is taken from the program. Counted are numbers that batch writes for a card
that is another one, by what the row was; good rows that it converts; what check, match and site state above 0.9 and
0.99, and is not so. Formats and forms are common practice and public notes as testdata/README.md names them; how usual
each is, is from memory. -v prints each wrong answer. Python alone is needed.
"""
import argparse
import collections
import csv
import json
import os
import random
import re
import subprocess
import sys
import tempfile
import zipfile
from xml.sax.saxutils import escape

# The widths of facility and number, and all bits of a read; how usual a kind is.
FORMATS = {
    "26-8-16": (8, 16, 26, 48), "34-16-16": (16, 16, 34, 7), "34-0-32": (0, 32, 34, 12), "32-0-32": (0, 32, 32, 6),
    "37-16-19": (16, 19, 37, 5), "37-0-35": (0, 35, 37, 4), "35-12-20": (12, 20, 35, 5), "56-0-56": (0, 56, 56, 4),
    "58-0-56": (0, 56, 58, 2), "26-0-24": (0, 24, 26, 4),
}
# No list tells these apart.
TWINS = {"34-0-32": "32-0-32", "32-0-32": "34-0-32", "56-0-56": "58-0-56", "58-0-56": "56-0-56",
         "26-8-16": "26-0-24", "26-0-24": "26-8-16", "56-0-56-reversed": "56-0-56"}
SERIALS = ("34-0-32", "32-0-32", "56-0-56", "58-0-56")

# How the cards of a format are in lists; what stands with a * is no form of the program's.
PRINTS = {
    "26-8-16": {"pair": 34, "number": 22, "joined": 8, "decimal10": 11, "decimal": 4, "hex": 5, "words": 4,
                "number10": 6, "fc*": 3, "bits-hex": 1, "hexpair*": 1},
    "34-16-16": {"pair": 45, "number": 20, "joined": 10, "decimal10": 15, "hex": 5, "words": 5},
    "35-12-20": {"pair": 50, "number": 30, "joined": 15, "decimal10": 5},
    "37-16-19": {"pair": 50, "number": 30, "joined": 15, "hex": 5},
    "37-0-35": {"number": 80, "hex": 10, "pair24": 10},
    "serial4": {"number10": 25, "uid": 25, "hex": 15, "number": 8, "pair24": 7, "joined24": 3, "uid-reversed": 6,
                "uid-reversed-decimal": 4, "low16*": 4, "number24": 3},
    "serial7": {"uid": 50, "hex": 30, "number": 10, "uid-reversed": 8, "low16*": 2},
    "26-0-24": {"number10": 35, "pair24": 35, "number": 15, "longer10*": 15},
}
HEADINGS = ["Card no", "Card", "Card number", "Badge", "Fob", "Number", "Key card"]
FIRST = ("Ada Ben Cleo Dan Eva Finn Gita Hal Ines Jon Kira Leo Mia Ned Olga Pia Quin Rita Sam Tess Udo Vera Wim "
         "Xenia Yara Zeb").split()
LAST = ("Abbot Brook Crane Dale Elm Field Grove Heath Ivers Jarvis Knoll Lane Marsh North Orchard Pond Quay Ridge "
        "Stone Thorn Vale Wells Yardley").split()


def pick(r, weights):
    return r.choices(list(weights), [w for w in weights.values()])[0]


def prints_of(fmt):
    return PRINTS.get(fmt) or PRINTS["serial4" if "32" in fmt else "serial7"]


class Card:
    """One card: format, facility and number."""

    def __init__(self, fmt, facility, number, extra=0):
        self.fmt, self.facility, self.number, self.extra = fmt, facility, number, extra

    def as_of(self, fmt):
        """The card of another format that has the same data bits; the card itself where that has other fields."""
        if fmt not in FORMATS or sum(FORMATS[fmt][:2]) != sum(FORMATS[self.fmt][:2]):
            return self
        n = FORMATS[fmt][1]
        return Card(fmt, self.data() >> n, self.data() & (1 << n) - 1, self.extra)

    def key(self):
        return self.fmt, self.facility, self.number

    def data(self):
        return self.facility << FORMATS[self.fmt][1] | self.number


def even(bits):
    return bits.count("1") % 2


def whole_read(card):
    """The read with its parities: first half even, second half odd, where the format has them."""
    f, n, total, _ = FORMATS[card.fmt]
    d = format(card.data(), f"0{f + n}b")
    if total == f + n:
        return d
    if total == 35:
        # from memory: the second bit is even over two of three, the last one odd over two of three, the first one odd
        body = [None, None] + list(d) + [None]  # places 0..34; bit k of people is place k-1
        over = lambda places: "".join(body[p] for p in places)
        body[1] = str(even(over([p for p in range(2, 34) if (p - 2) % 3 != 2])))
        body[34] = str(1 - even(over([p for p in range(1, 34) if (p - 1) % 3 != 2])))
        body[0] = str(1 - even("".join(body[1:])))
        return "".join(body)
    half = (f + n + 1) // 2
    return str(even(d[:half])) + d + str(1 - even(d[-half:]))


def write(card, form):
    """A card in a form; None where the form has no such card."""
    f, n, total, _ = FORMATS[card.fmt]
    d, wf, wn = card.data(), len(str(2**f - 1)), len(str(2**n - 1))
    bare, low = form.rstrip("*"), card.number & 0xFFFFFF
    octets = ["%02X" % b for b in d.to_bytes((f + n + 7) // 8, "big")]
    if bare in ("pair", "joined", "fc", "hexpair") and f == 0:
        return None
    if bare in ("pair24", "joined24", "number24") and (f or n < 24):
        return None
    if bare.startswith("uid") and card.fmt not in SERIALS or bare == "words" and f + n > 32:
        return None
    if bare == "words" and f + n < 24:
        return None
    return {
        "pair": lambda: f"{card.facility:0{wf}},{card.number:0{wn}}",
        "joined": lambda: f"{card.facility:0{wf}}{card.number:0{wn}}",
        "number": lambda: str(card.number), "number10": lambda: f"{card.number:010}",
        "decimal": lambda: str(d), "decimal10": lambda: f"{d:010}", "hex": lambda: "".join(octets),
        "words": lambda: f"{d >> 16:05},{d & 0xFFFF:05}",
        "pair24": lambda: f"{low >> 16:03},{low & 0xFFFF:05}", "joined24": lambda: f"{low >> 16:03}{low & 0xFFFF:05}",
        "number24": lambda: str(low), "low16": lambda: str(card.number & 0xFFFF),
        "longer10": lambda: f"{card.extra << 24 | card.number:010}",
        "uid": lambda: ":".join(octets), "uid-reversed": lambda: ":".join(octets[::-1]),
        "uid-decimal": lambda: str(d), "uid-reversed-decimal": lambda: str(int("".join(octets[::-1]), 16)),
        "fc": lambda: f"FC {card.facility} ID {card.number}",
        "hexpair": lambda: f"{card.facility:02X}-{card.number:04X}",
        "bits-hex": lambda: f"{total}:{int(whole_read(card), 2):0{(total + 3) // 4}X}",
    }[bare]()


class Kind:
    """Cards that were bought for one purpose: their format, facilities, numbers, and how the list has them."""

    def __init__(self, r, count, fmt=None):
        self.fmt = fmt or pick(r, {k: v[3] for k, v in FORMATS.items()})
        f, n, _, _ = FORMATS[self.fmt]
        self.count, self.serial = count, self.fmt in SERIALS
        top = r.choice([2**f - 1] * 3 + [99]) if f else 0
        self.facilities = r.sample(range(1, min(top, 2**f - 1) + 1), 2 if r.random() < 0.08 else 1) if f else [0]
        self.form = pick(r, prints_of(self.fmt))
        self.bought = None
        if self.serial and (n > 32 or r.random() < 0.9):
            draw = (lambda: r.getrandbits(32)) if n == 32 else (lambda: 4 << 48 | r.getrandbits(48))
            numbers = [draw() for _ in range(count)]
        else:
            self.bought, numbers = self.orders(r, count, n)
        extra = r.choice([0, r.randrange(256)])
        self.cards = [Card(self.fmt, r.choice(self.facilities), x, extra) for x in numbers]

    def orders(self, r, count, n):
        """Blocks of numbers that were bought, and those that are in use."""
        if r.random() < 0.08:
            return None, r.sample(range(1, 2**n), count)  # anyhow
        blocks, numbers, left = [], [], count
        for part in range(r.choice([1, 1, 1, 2, 3])):
            take = left if part == 0 and r.random() < 0.5 else max(1, left // 2)
            size = int(take * r.choice([1, 1.2, 1.5, 2, 4])) + r.choice([0, 1, 10])
            top = r.choice([2**n - 1] * 3 + [min(2**n - 1, 20000), min(2**n - 1, 1000000)])
            first = r.randrange(1, max(2, top - size))
            if r.random() < 0.3:
                first = first // 100 * 100 + 1
            last = min(first + size - 1, 2**n - 1)
            blocks.append((first, last))
            numbers += r.sample(range(first, last + 1), min(take, last - first + 1))
            left -= take
            if left <= 0:
                break
        return sorted(blocks), list(dict.fromkeys(numbers))


class Row:
    """One row: the name, what is in its cell or cells, what the card is, and what kind of row it is."""

    def __init__(self, name, text, card, what, kind=None):
        self.name, self.text, self.card, self.what, self.kind = name, text, card, what, kind
        self.form = kind.form if kind else ""


def slip(r, text):
    """A number typed wrong."""
    places = [i for i, c in enumerate(text) if c.isdigit()]
    if len(places) < 2:
        return None
    i, how = r.choice(places), r.random()
    if how < 0.4:
        out = text[:i] + r.choice("0123456789".replace(text[i], "")) + text[i + 1:]
    elif how < 0.6 and i + 1 < len(text):
        out = text[:i] + text[i + 1] + text[i] + text[i + 2:]
    elif how < 0.85:
        out = text[:i] + text[i + 1:]
    else:
        out = text[:i] + text[i] + text[i:]
    return out if out != text else None


class Site:
    """One site, its list and its site file."""

    def __init__(self, seed):
        r = self.r = random.Random(f"offices {seed}")
        self.seed, total = seed, int(20 * 15 ** r.random())
        parts = r.choices([1, 2, 3], [50, 37, 13])[0]
        cuts = sorted(r.uniform(0.1, 0.9) for _ in range(parts - 1))
        shares = [b - a for a, b in zip([0] + cuts, cuts + [1])]
        self.kinds = [Kind(r, max(3, int(total * s))) for s in shares]
        while len({k.fmt for k in self.kinds}) < len(self.kinds):
            self.kinds = [Kind(r, k.count) for k in self.kinds]
        self.with_site = parts > 1 or r.random() < 0.75
        self.doors = self.make_doors()
        self.from_door = self.with_site and r.random() < 0.12
        if self.from_door:
            for k in self.kinds:
                k.form = self.doors[0]
        names = [f"{a} {b}" for a in FIRST for b in LAST]
        r.shuffle(names)
        self.names, self.labels = iter(names), {}
        self.make_habits()
        self.rows = []
        self.make_rows()
        self.site = self.make_site()

    def make_doors(self):
        """The forms that the doors want; the first one is that of which a list may be a back-up: it has all cards."""
        r = self.r
        forms = {"decimal10": 30, "hex": 20, "number10": 12, "pair": 15, "number": 8, "joined": 6, "words": 5,
                 "bits-hex": 4, "decimal": 5, "uid": 3}
        able = {f: w for f, w in forms.items() if all(write(k.cards[0], f) for k in self.kinds)}
        lossy = any(FORMATS[k.fmt][0] for k in self.kinds)
        if lossy:
            able = {f: w for f, w in able.items() if not f.startswith("number")} or able
        doors = [pick(r, able)]
        for _ in range(r.choice([1, 1, 2])):
            form = pick(r, forms)
            if form not in doors and any(write(k.cards[0], form) for k in self.kinds) and (
                    form != "uid" or all(k.serial for k in self.kinds)):
                doors.append(form)
        return doors

    def make_habits(self):
        r = self.r
        self.lost_zeros = r.random() < 0.15
        self.mixed = r.random() < 0.2
        for k in self.kinds:
            if r.random() < 0.08 and k.form.split("*")[0] in ("pair", "number", "joined", "number10", "decimal10"):
                self.labels[k] = r.choice(["N-", "No. ", "Card ", "K", "#", "M ", "S/N ", "A"])
        self.two_columns = (not self.from_door and r.random() < 0.12 and
                            all(k.form == "pair" for k in self.kinds) and not self.labels)
        self.heading = r.choice(HEADINGS)

    def text(self, card, k):
        """A card as the list has it, and whether it is as its form writes it."""
        r, text, good = self.r, write(card, k.form), True
        if self.lost_zeros and k.form in ("joined", "number10", "decimal10", "joined24", "decimal", "longer10*"):
            text = text.lstrip("0") or "0"
        if k in self.labels:
            text = self.labels[k] + text
        if self.mixed and r.random() < 0.3:
            good = False
            if k.form in ("pair", "words", "pair24") and k not in self.labels:
                a, b = text.split(",")
                text = r.choice([f"{a}-{b}", f"{a}/{b}", f"{a} {b}", f"{a}:{b}", f"{a}, {b}", f"{int(a)},{int(b)}",
                                 f" {text}"])
            elif k.form in ("uid", "uid-reversed"):
                text = r.choice([text.replace(":", "-"), text.lower(), text.replace(":", " "), text.replace(":", "")])
            elif k.form == "hex":
                text = r.choice([text.lower(), "0x" + text])
            else:
                text = r.choice([f" {text}", f"{text} ", f"{text}.", "\u00a0" + text])
        return text, good

    def add(self, card, k, what="good"):
        text, good = self.text(card, k)
        if what == "good" and not good:
            what = "mended"
        self.rows.append(Row(next(self.names), text, card, what, k))
        return self.rows[-1]

    def make_rows(self):
        r = self.r
        slips = r.choice([0, 0, 0.003, 0.01, 0.03])
        for k in self.kinds:
            for card in k.cards:
                row = self.add(card, k)
                if r.random() < slips and (t := slip(r, row.text)):
                    row.text, row.what = t, "slip"
        r.shuffle(self.rows)
        if r.random() < 0.5:  # by kind, or by number
            self.rows.sort(key=lambda row: (self.kinds.index(row.kind), row.card.data()))
        for _ in range(r.choice([0, 0, 1, 2])):  # a number that is there twice
            row = r.choice(self.rows)
            self.rows.insert(r.randrange(len(self.rows)), Row(next(self.names), row.text, row.card, row.what, row.kind))
        self.make_odd()
        if r.random() < 0.15:  # strangers
            k = Kind(r, r.choice([1, 1, 2, 5, 12]))
            for card in k.cards:
                row = self.add(card, k, "stranger")
                if any(card.fmt == o.fmt and card.facility in o.facilities and o.form == k.form for o in self.kinds):
                    row.what = "good"
        if r.random() < 0.12:  # visitors' cards, numbered by hand
            style = r.choice(["{}", "V{}", "{:03}", "Visitor {}", "V-{:02}"])
            for i in range(1, r.choice([3, 5, 10])):
                self.rows.append(Row(next(self.names), style.format(i), None, "by hand"))

    def make_odd(self):
        """Rows with more in their cell than a card, or another card's number."""
        r = self.r
        for _ in range(r.choice([0, 0, 0, 1, 2])):
            row, how = r.choice(self.rows), r.random()
            if row.what != "good" or self.two_columns:
                continue
            other = row.kind.cards[0]
            if how < 0.35:
                row.text, row.what = r.choice(["{} / {}", "{}; {}", "{}\n{}", "{} -> {}"]).format(
                    row.text, write(other, row.form)), "several"
            elif how < 0.6:
                behind = r.choice(["(lost)", "old", "Workshop", "returned"])
                row.text, row.what = f"{row.text} {behind}", "joined"
            elif how < 0.8:
                row.text, row.card, row.what = r.choice(["-", "none", "?", "lost", "see office"]), None, "no card"
            elif row.text.isdigit() and len(row.text) > 6:
                row.text, row.what = f"{int(row.text):.5E}", "damaged"

    def make_site(self):
        r, out = self.r, ['name = "Offices"', ""]
        self.told = []
        for k in self.kinds:
            if len(self.kinds) > 1 and len(self.told) and r.random() < 0.12:
                for row in self.rows:
                    if row.kind is k and row.what in ("good", "mended"):
                        row.what = "unlisted"
                continue
            self.told.append(k)
            out += ["[[cards]]", f'format = "{k.fmt}"']
            f = FORMATS[k.fmt][0]
            if f and (k.form.rstrip("*") in ("number", "number10") or r.random() < 0.65):
                out.append(f"facility = {k.facilities[0] if len(k.facilities) == 1 else k.facilities}")
            if k.bought and r.random() < 0.35:
                out.append('numbers = "%s"' % ", ".join(f"{a}-{b}" for a, b in merge(k.bought)))
            form = {"fc*": "pair", "hexpair*": "", "low16*": r.choice(["", "number24", "number"]),
                    "longer10*": r.choice(["", "number10"])}.get(k.form, k.form)
            if self.from_door:
                form = pick(r, {a: w for a, w in prints_of(k.fmt).items() if "*" not in a})
            if form and r.random() < 0.8:
                out.append(f'printed = "{form}"')
        for i, d in enumerate(self.doors):
            out += ["", "[[doors]]", f'name = "Door {i + 1}"', f'enter = "{d}"']
        return "\n".join(out) + "\n"

    def cells(self):
        """The list as rows of cells."""
        r = self.r
        head = ["Name", self.heading, "Dept"]
        if self.two_columns:
            head = ["Name", "Facility", self.heading, "Dept"]
        out, width = [], len(head)
        for _ in range(r.choice([0, 0, 0, 1, 2])):
            out.append(([r.choice(["Cardholders", "Key list 2024", "Issued cards", ""])] + [""] * width)[:width])
        out.append(head)
        for row in self.rows:
            text = [row.text]
            if self.two_columns:
                parts = re.split(r"[,\-/: ]+", row.text.strip())
                text = parts if len(parts) == 2 else ["", row.text]
            out.append([row.name] + text + [r.choice(["Office", "Workshop", "Yard"])])
            if r.random() < 0.005:
                out.append([""] * width)
        if r.random() < 0.2:
            n = len(self.rows)
            total = r.choice([["Total", str(n)], ["Sum", str(n)], ["", f"{n} cards"], [f"Total: {n}", ""]])
            out.append(total + [""] * (width - 2))
        return out


def merge(blocks):
    out = []
    for a, b in sorted(blocks):
        if out and a <= out[-1][1] + 1:
            out[-1] = (out[-1][0], max(b, out[-1][1]))
        else:
            out.append((a, b))
    return out


def write_csv(path, rows, r):
    sep = r.choice(",;;\t")
    with open(path, "w", newline="", encoding=r.choice(["utf-8", "utf-8-sig"])) as f:
        csv.writer(f, delimiter=sep, lineterminator=r.choice(["\n", "\r\n"])).writerows(rows)


def write_xlsx(path, rows, r):
    """A workbook with one sheet; digits are numbers in half of the files, with a format that shows their zeros."""
    numbers = r.random() < 0.5
    body = []
    for i, row in enumerate(rows, 1):
        cells = []
        for j, v in enumerate(row):
            at = chr(65 + j) + str(i)
            if numbers and v.isdigit() and v.isascii() and len(v) < 15 and i > 1:
                zeros = len(v) if v[0] == "0" and 5 <= len(v) <= 10 else 0
                style = f' s="{zeros - 4}"' if zeros else ""
                if v[0] != "0" or zeros:
                    cells.append(f'<c r="{at}"{style}><v>{int(v)}</v></c>')
                    continue
            if v:
                cells.append(f'<c r="{at}" t="inlineStr"><is><t xml:space="preserve">{escape(v)}</t></is></c>')
        body.append(f'<row r="{i}">{"".join(cells)}</row>')
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    rel = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    pack = "http://schemas.openxmlformats.org/package/2006/"
    sheetml = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    fmts = "".join(f'<numFmt numFmtId="{170 + i}" formatCode="{"0" * (4 + i)}"/>' for i in range(1, 7))
    xfs = '<xf numFmtId="0" fontId="0" fillId="0" borderId="0"/>' + "".join(
        f'<xf numFmtId="{170 + i}" fontId="0" fillId="0" borderId="0" applyNumberFormat="1"/>' for i in range(1, 7))
    head = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>'
    files = {
        "[Content_Types].xml": f'<Types xmlns="{pack}content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Default Extension="xml" ContentType="application/xml"/>' + "".join(
            f'<Override PartName="/xl/{p}.xml" ContentType="{sheetml}.{t}+xml"/>' for p, t in (
                ("workbook", "sheet.main"), ("worksheets/sheet1", "worksheet"), ("styles", "styles"))) + "</Types>",
        "_rels/.rels": f'<Relationships xmlns="{pack}relationships"><Relationship Id="rId1" '
        f'Type="{rel}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{main}" xmlns:r="{rel}"><sheets>'
        '<sheet name="Cards" sheetId="1" r:id="rId1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{pack}relationships"><Relationship Id="rId1" '
        f'Type="{rel}/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="rId2" Type="{rel}/styles" '
        'Target="styles.xml"/></Relationships>',
        "xl/styles.xml": f'<styleSheet xmlns="{main}"><numFmts count="6">{fmts}</numFmts>'
        '<fonts count="1"><font/></fonts><fills count="1"><fill/></fills><borders count="1"><border/></borders>'
        '<cellStyleXfs count="1">'
        f'<xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs><cellXfs count="7">{xfs}</cellXfs>'
        "</styleSheet>",
        "xl/worksheets/sheet1.xml": f'<worksheet xmlns="{main}"><sheetData>{"".join(body)}</sheetData></worksheet>',
    }
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as z:
        for name, text in files.items():
            z.writestr(name, head + text)


class Judge:
    def __init__(self, program, folder, verbose):
        self.program, self.folder, self.verbose = program, folder, verbose
        self.n, self.stated = collections.Counter(), collections.defaultdict(list)

    def say(self, site, text):
        if self.verbose:
            print(f"seed {site.seed}: {text}", flush=True)

    def run(self, *args):
        p = subprocess.run([self.program, *args], capture_output=True, text=True, cwd=self.folder, timeout=300)
        return p.returncode, p.stdout, p.stderr

    def one(self, seed):
        site = Site(seed)
        r, rows = site.r, site.cells()
        name = "list." + r.choice(["csv", "csv", "xlsx"])
        path = os.path.join(self.folder, name)
        (write_xlsx if name.endswith("x") else write_csv)(path, rows, r)
        with open(os.path.join(self.folder, "site.toml"), "w") as f:
            f.write(site.site)
        columns = ["-c", site.heading]
        if site.two_columns:
            columns = ["-c", "Facility"] + columns
        self.n["lists"] += 1
        self.batch(site, name, columns)
        if site.with_site:
            self.check(site, name, columns)
        self.match(site, name, columns)
        self.site(site, name, columns)

    def told(self, site):
        """The options that say what the numbers are."""
        if site.with_site:
            return ["--site", "site.toml"] + (["--from-door", "Door 1"] if site.from_door else [])
        k = site.kinds[0]
        form = {"fc*": "pair", "longer10*": "number10", "low16*": "number", "hexpair*": "pair"}.get(k.form, k.form)
        opt = ["--format", k.fmt, "--from", form]
        if FORMATS[k.fmt][0] and form.startswith("number"):
            opt += ["--facility", str(k.facilities[0])]
        return opt

    def batch(self, site, name, columns):
        doors = list(enumerate(site.doors, 1))[1:] if site.from_door else list(enumerate(site.doors, 1))
        opt = self.told(site)
        for i, form in doors if site.with_site else doors[:1]:
            if not site.with_site and write(site.kinds[0].cards[0], form) is None:
                continue
            to = ["--door", f"Door {i}"] if site.with_site else ["--to", form]
            rejects = os.path.join(self.folder, "out.csv.rejects.csv")
            for old in ("out.csv", rejects):
                if os.path.exists(os.path.join(self.folder, old)):
                    os.remove(os.path.join(self.folder, old))
            args = ["batch", name, *columns, *opt, *to, "-o", "out.csv", "--name", "New", "--out-delimiter", "comma",
                    "--json"]
            code, out, err = self.run(*args)
            if code > 1 or not out:
                self.n["batch refused"] += 1
                self.say(site, f"batch refuses: {err.strip()[:150]} [{' '.join(args)}]")
                continue
            self.judge_batch(site, form, json.loads(out))

    def judge_batch(self, site, form, answer):
        path, got = os.path.join(self.folder, "out.csv"), {}
        if os.path.exists(path):
            with open(path, newline="", encoding="utf-8-sig") as f:
                for row in csv.reader(f):
                    if not row:
                        continue
                    got.setdefault(row[0], row[-1])
                    if row[0] == "" and row[-1] and any(c.isdigit() for c in row[-1]):
                        self.n["wrong: total"] += 1
                        self.say(site, f"batch writes {row[-1]} for a row of no card: {row}")
        for row in site.rows:
            right = write(row.card, form) if row.card and row.what not in ("several", "no card") else None
            what = row.what + ("" if site.with_site else ", told")
            if what in ("good", "mended", "good, told"):
                self.n["rows " + what] += right is not None
                self.n["converted " + what] += right is not None and got.get(row.name) == right
            wrote = got.get(row.name)
            if wrote and wrote != right:
                self.n["wrong: " + what] += 1
                if what in ("good", "mended", "unlisted"):
                    self.n["wrong form: " + row.form] += 1
                self.say(site, f"batch writes {wrote} for {row.text!r}, which is {right} ({what}, "
                         f"{row.kind and row.kind.fmt} as {row.form}, to {form}); "
                         f"{[(k.fmt, k.form, k.count) for k in site.kinds]}")
        if not answer.get("rejected"):
            return
        good = [row for row in site.rows if row.what == "good" and site.with_site and write(row.card, form)]
        lost = [row for row in good if row.name not in got]
        if len(lost) > len(good) / 20 and self.verbose:
            line = answer.get("problems", [{}])
            self.say(site, f"batch rejects {len(lost)} of {len(good)} good rows to {form}, as {lost[0].text!r}: "
                     f"{line[0].get('message', '')[:170]}")

    def state(self, site, what, share, right, text):
        self.stated[what].append((share, right))
        if share > 0.9 and not right:
            self.say(site, f"{what} states {share:.4f}: {text}")

    def check(self, site, name, columns):
        opt = [o for o in self.told(site) if site.with_site]
        if "--from-door" in opt:
            return
        code, out, err = self.run("check", name, *columns, *opt, "--json", "--all", "--next", "5")
        if code > 1 or not out:
            self.n["check refused"] += 1
            self.say(site, f"check refuses: {err.strip()[:150]}")
            return
        answer = json.loads(out)
        by_name = {row.name: row for row in site.rows}
        in_use = {row.card.key() for row in site.rows if row.card}
        plain = ("good", "mended", "unlisted", "stranger")
        seen = {row.card.key() for row in site.rows if row.card and row.what in plain}
        for run in answer.get("next") or []:
            for number in range(int(run["first"]), int(run["last"]) + 1):
                key = (run["format"], int(run.get("facility") or 0), number)
                self.n["proposed"] += 1
                if key in in_use:
                    self.n["proposed in use" + ("" if key in seen else ", which its row hides")] += 1
                    self.say(site, f"check --next offers {key}, in use ({'seen' if key in seen else 'hidden'})")
        for p in answer.get("problems", []):
            self.problem(site, p, by_name)

    def problem(self, site, p, by_name):
        """A problem that check names: what was probably meant, or twice the same card."""
        text = p["message"]
        row = next((by_name[n] for n in by_name if text.startswith(n + " with ") or text.startswith(n + ": ")), None)
        m = re.search(r"probably (\S+) \((>?[\d.]+) %", text)
        if p["kind"] == "typing" and m and row:
            share = float(m[2].lstrip(">")) / 100
            meant = {write(row.card, row.form.rstrip("*"))} if row.card and row.card.fmt else set()
            forms = ("pair", "number", "number10", "decimal10", "hex", "uid", row.form)
            shown = {write(row.card, f) for f in forms} if row.card else set()
            self.state(site, "check: meant", share, m[1] in shown | meant, text)
        m = re.search(r"the same card as line \d+, ([^,]+),", text)
        if p["kind"] == "duplicate" and m and row and m[1] in by_name:
            other = by_name[m[1]]
            same = bool(row.card and other.card and row.card.key() == other.card.key() or row.text == other.text)
            self.n["duplicates named"] += 1
            self.n["duplicates wrong"] += not same
            if not same:
                self.say(site, f"check: {text}; {row.what} {row.text!r}, {other.what} {other.text!r}")

    def match(self, site, name, columns):
        r = random.Random(f"match {site.seed}")
        door = r.randrange(len(site.doors))
        form = site.doors[door]
        if not site.with_site:
            return
        some = ("good", "mended", "slip", "several", "joined", "unlisted")
        known = [row for row in site.rows if row.card and row.what in some]
        asked = [row.card for row in r.sample(known, min(6, len(known)))]
        for k in site.kinds:
            new = Kind(r, 1, k.fmt).cards[0]
            if r.random() < 0.5:
                new.facility = k.facilities[0]
                if k.bought and r.random() < 0.5:
                    new.number = max(1, k.cards[0].number + r.randrange(-50, 50)) % 2 ** FORMATS[k.fmt][1]
            asked.append(new)
        texts = {}
        for card in asked:
            text = write(card, form)
            if text:
                texts.setdefault(text, card)
        if not texts:
            return
        columns = [c if c != "-c" else "--list-column" for c in columns]
        opt = [] if not site.from_door else ["--from", site.doors[0]]
        code, out, err = self.run("match", *texts, "--list", name, *columns, "--site", "site.toml", "--door",
                                  f"Door {door + 1}", "--json", "--all", *opt)
        if code > 1 or not out:
            self.n["match refused"] += 1
            self.say(site, f"match refuses: {err.strip()[:150]}")
            return
        answer, holders = json.loads(out), collections.defaultdict(set)
        for row in site.rows:
            if row.card and row.what != "no card":
                holders[write(row.card, form)].add(row.name)
        for a in answer.get("known") or []:
            right = not holders[a["card"]].isdisjoint(a.get("holder", "").split(" or "))
            self.state(site, "match: known", 1.0, right, f"{a} is {holders[a['card']] or 'nobody'}; "
                       f"{[(row.name, row.text, row.what) for row in site.rows if row.name == a.get('holder')]}")
        for a in answer.get("unknown") or []:
            if a["card"] not in texts:
                continue
            if a.get("holder"):
                right = not holders[a["card"]].isdisjoint(a["holder"].split(" or "))
            elif a["rule"] == "not on the list":
                right = not holders[a["card"]]
            else:
                continue
            who = [(row.name, row.text, row.what) for row in site.rows if row.name in holders[a["card"]]]
            what = "match: holder" if a.get("holder") else "match: not on the list"
            self.state(site, what, a["probability"], right, f"{a['card']}: {a.get('holder', 'nobody')} ({a['rule']}), "
                       f"and is {who}; {[(k.fmt, k.form, k.count) for k in site.kinds]} at {form}")

    def site(self, site, name, columns):
        code, out, err = self.run("site", name, *columns, "--json")
        if code > 1 or not out:
            self.n["site refused"] += 1
            self.say(site, f"site refuses: {err.strip()[:150]}")
            return
        toml = json.loads(out)["toml"]
        kinds = list(site.kinds) + list({row.kind: 1 for row in site.rows if row.kind and row.kind not in site.kinds})
        found = set()
        for m in re.finditer(r"# Format (\S+) \(([<>]?)([\d.]+) % sure\), written as (\S+): (\d+) of", toml):
            share = float(m[3]) / 100
            share = 0.9995 if m[2] == ">" else share
            k = next((k for k in kinds if k.fmt == m[1] and self.same_form(k, m[4])), None)
            found.add(k)
            twin = next((k for k in kinds if k.fmt == TWINS.get(m[1]) and self.same_form(k, m[4], m[1])), None)
            if twin and not k:
                self.n["site: twins"] += share > 0.9
                found.add(twin)
                continue
            texts = [row.text for row in site.rows[:2] + site.rows[-1:]]
            self.state(site, "site: kind", share, k is not None,
                       f"{m[0]}; is {[(k.fmt, k.form, k.count) for k in kinds]}, as {texts}"
                       f"{' zeros lost' if site.lost_zeros else ''}")
        for k in site.kinds:
            self.n["site: kinds"] += 1
            self.n["site: kinds found"] += k in found

    @staticmethod
    def same_form(k, form, fmt=""):
        """Whether a form writes the cards of a kind as the list does, but for zeros."""
        if k.form == form or k.form == "fc*" and form == "pair":
            return True
        plain = lambda t: t and re.sub(r"\b0+(?=\d)", "", t.replace(":", ""))
        try:
            return all(plain(write(c.as_of(fmt), form)) == plain(write(c, k.form)) for c in k.cards[:10])
        except KeyError:
            return False

    def report(self):
        n = self.n
        print(f"{n['lists']} lists; refused: batch {n['batch refused']}, check {n['check refused']}, "
              f"match {n['match refused']}, site {n['site refused']}")
        for what in ("good", "mended", "good, told"):
            rows = n["rows " + what]
            done = n["converted " + what]
            print(f"batch: {done} of {rows} rows {what} converted ({100 * done / max(1, rows):.2f} %)")
        wrong = {k[7:]: v for k, v in sorted(n.items()) if k.startswith("wrong: ")}
        print("batch: wrong numbers written, by what the row is:", wrong or "none")
        forms = {k[12:]: v for k, v in n.items() if k.startswith("wrong form: ")}
        print("       of good rows and unlisted kinds, by form:", forms or "none")
        print(f"check: {n['proposed']} numbers proposed, {n['proposed in use']} in use, "
              f"{n['proposed in use, which its row hides']} more that their row hides; "
              f"{n['duplicates named']} duplicates named, {n['duplicates wrong']} wrong")
        print(f"site: {n['site: kinds found']} of {n['site: kinds']} kinds named; {n['site: twins']} stated above 0.9 "
              "are another format that shows the same numbers")
        for what, all_of in sorted(self.stated.items()):
            line = []
            for low, high in ((0, 0.5), (0.5, 0.75), (0.75, 0.9), (0.9, 0.99), (0.99, 2)):
                band = [right for share, right in all_of if low < share <= high]
                line.append(f"{min(high, 1)}: {len(band) - sum(band)}/{len(band)}")
            print(f"{what}: wrong of stated up to", ", ".join(line))


def main():
    a = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    a.add_argument("--first", type=int, default=1)
    a.add_argument("--lists", type=int, default=60)
    a.add_argument("--cardtell", default="")
    a.add_argument("--keep", default="", help="folder in which the last list stays")
    a.add_argument("-v", action="store_true")
    a = a.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        folder = a.keep or folder
        program = os.path.abspath(a.cardtell) if a.cardtell else os.path.join(folder, "cardtell")
        os.makedirs(folder, exist_ok=True)
        if not a.cardtell:
            root = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")
            subprocess.run(["go", "build", "-C", root, "-o", program, "./cmd/cardtell"], check=True)
        judge = Judge(program, folder, a.v)
        for seed in range(a.first, a.first + a.lists):
            judge.one(seed)
        judge.report()


if __name__ == "__main__":
    sys.stdout.reconfigure(line_buffering=True)
    main()
