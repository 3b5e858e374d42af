"""Takes card reads apart, and puts them together, on strings of the characters 0 and 1.

An implementation of its own, written from the published descriptions and in no way from the Go code, so that the two can be
compared. It is slow, and nothing is clever. Bits are numbered from 1.

Sources, as in formats/catalogue.toml: SIA AC-01-1996.10 as public drivers apply it (26 bits); public operating-system
drivers (34, 36, 37 bits); TIG SCEPACS v2.2, figures 6 and 7 (FASC-N); ISO/IEC 7811-2 as public texts quote it (track 2);
public notes on the 125 kHz frame (64 bits); ISO/IEC 14443-3 and 15693-3 (chip serials); the rest is common practice without
a source, or from memory, as the catalogue says: agreement shows that the two programs read the words alike, no more.

A question is a line of JSON on standard input:
    {"format": ID, "read": "0101..."}                             take a read apart
    {"format": ID, "length": BITS, "fields": [[NAME, TEXT]...]}   put one together
The answer is a line of JSON on standard output:
    {"fields": [[NAME, TEXT]...], "checks": [[KIND, [BIT...], HOLDS]...]}
    {"read": "0101..."}, or {"read": null} where a value does not fit
"""

import json
import sys


def ones(s):
    return s.count("1")


def run(first, last):
    """The numbers of bits first to last."""
    return list(range(first, last + 1))


# --- Frames: a drawing of the read, and a drawing for each parity ------------------------------------------------------


class Frame:
    """A read drawn with one letter a bit: the bits of a letter are a binary number, p is a parity bit.

    A parity is drawn below it: ^ is the bit that makes the ones among ^ and = even or odd in number. Parities are computed in
    the order given. A letter in always has the same number on every card.
    """

    def __init__(self, drawing, names, parities=(), always=()):
        self.drawing, self.names, self.parities, self.always = drawing, names, parities, dict(always)
        for _, marks in parities:
            assert len(marks) == len(drawing), (drawing, marks)

    def bits(self, letter):
        return [i + 1 for i, c in enumerate(self.drawing) if c == letter]

    def letters(self):
        seen = []
        for c in self.drawing:
            if c != "p" and c not in seen:
                seen.append(c)
        return seen

    def take(self, read):
        fields, checks = [], []
        for letter in self.letters():
            value = "".join(c for c, l in zip(read, self.drawing) if l == letter)
            fields.append([self.names[letter], str(int(value, 2))])
            if letter in self.always:
                checks.append(["fixed", self.bits(letter), int(value, 2) == self.always[letter]])
        for kind, marks in self.parities:
            counted = "".join(c for c, m in zip(read, marks) if m in "^=")
            checks.append([kind, [i + 1 for i, m in enumerate(marks) if m in "^="], ones(counted) % 2 == (kind == "odd")])
        return fields, checks

    def put(self, length, values):
        read = ["0"] * len(self.drawing)
        for letter in self.letters():
            places = self.bits(letter)
            v = self.always[letter] if letter in self.always else int(values[self.names[letter]].pop(0))
            if v >= 2 ** len(places):
                return None
            for place in reversed(places):
                read[place - 1] = str(v % 2)
                v //= 2
        for kind, marks in self.parities:
            i = marks.index("^")
            read[i] = "0"
            counted = "".join(c for c, m in zip(read, marks) if m in "^=")
            if ones(counted) % 2 != (kind == "odd"):
                read[i] = "1"
        return "".join(read)


CARD = {"F": "facility", "N": "number", "u": "unknown", "v": "unknown", "V": "version",
        "A": "agency", "S": "system", "C": "credential", "X": "expiry"}


def halves(data):
    """Two parities around data bits: even over the first half, odd over the second."""
    half = data // 2
    return (("even", "^" + "=" * half + "." * half + "."), ("odd", "." + "." * half + "=" * half + "^"))


def picked(length, parity, over):
    """A drawing from a list of bits."""
    return "".join("^" if i == parity else "=" if i in over else "." for i in run(1, length))


# 37 bits: 18 data bits in each parity, so that the middle one, bit 19, is in both.
BOTH37 = (("even", "^" + "=" * 18 + "." * 18), ("odd", "." * 18 + "=" * 18 + "^"))

# 35 bits, from memory, bit by bit.
PARITY35 = (
    ("even", picked(35, 2, [3, 4, 6, 7, 9, 10, 12, 13, 15, 16, 18, 19, 21, 22, 24, 25, 27, 28, 30, 31, 33, 34])),
    ("odd", picked(35, 35, [2, 3, 5, 6, 8, 9, 11, 12, 14, 15, 17, 18, 20, 21, 23, 24, 26, 27, 29, 30, 32, 33])),
    ("odd", picked(35, 1, run(2, 35))),
)

# One key in 8 bits: each of the first four bits is the opposite of the one four further on, so of the two one is set.
OPPOSITES = tuple(("odd", picked(8, i, [i + 4])) for i in run(1, 4))

FORMATS = {
    "24-8-16": Frame("F" * 8 + "N" * 16, CARD),
    "24-0-24": Frame("N" * 24, CARD),
    "26-8-16": Frame("pFFFFFFFFNNNNNNNNNNNNNNNNp", CARD, halves(24)),
    "26-0-24": Frame("pNNNNNNNNNNNNNNNNNNNNNNNNp", CARD, halves(24)),
    "pin-26": Frame("pFFFFFFFFNNNNNNNNNNNNNNNNp", CARD, halves(24), {"F": 0}),
    "30-8-20": Frame("p" + "F" * 8 + "N" * 20 + "p", CARD, halves(28)),
    "32-0-32": Frame("N" * 32, CARD),
    "32-15-15": Frame("p" + "F" * 15 + "N" * 15 + "p", CARD, halves(30)),
    "32-10-20": Frame("p" + "F" * 10 + "N" * 20 + "p", CARD, halves(30)),
    "32-6-24": Frame("p" + "F" * 6 + "N" * 24 + "p", CARD, halves(30)),
    "34-16-16": Frame("p" + "F" * 16 + "N" * 16 + "p", CARD, halves(32)),
    "34-0-32": Frame("p" + "N" * 32 + "p", CARD, halves(32)),
    "35-12-20": Frame("pp" + "F" * 12 + "N" * 20 + "p", CARD, PARITY35),
    "36-0-34": Frame("p" + "N" * 34 + "p", CARD, halves(34)),
    "37-16-19": Frame("p" + "F" * 16 + "N" * 19 + "p", CARD, BOTH37),
    "37-0-35": Frame("p" + "N" * 35 + "p", CARD, BOTH37),
    "40-8-32": Frame("V" * 8 + "N" * 32, CARD),
    "42-0-40": Frame("p" + "N" * 40 + "p", CARD, halves(40)),
    "48-22-23": Frame("uu" + "F" * 22 + "N" * 23 + "u", CARD),
    "56-0-56": Frame("N" * 56, CARD),
    "58-0-56": Frame("p" + "N" * 56 + "p", CARD, halves(56)),
    "64-0-64": Frame("N" * 64, CARD),
    "66-0-64": Frame("p" + "N" * 64 + "p", CARD, halves(64)),
    "80-0-80": Frame("N" * 80, CARD),
    "82-0-80": Frame("p" + "N" * 80 + "p", CARD, halves(80)),
    "piv-75": Frame("u" + "A" * 14 + "S" * 14 + "C" * 20 + "X" * 25 + "v", CARD),
    "uuid-128": Frame("N" * 128, CARD),
    "keypad-4": Frame("NNNN", CARD),
    "keypad-6": Frame("pNNNNp", CARD, halves(4)),
    "keypad-8": Frame("ppppNNNN", CARD, OPPOSITES),
    "keypad-8-swapped": Frame("NNNNpppp", CARD, tuple(("odd", picked(8, i + 4, [i])) for i in run(1, 4))),
}


# --- Chip serials with the last byte first ----------------------------------------------------------------------------


class Reversed:
    """A serial whose bytes come last byte first, each byte as it is (ISO/IEC 14443-3, 15693-3); with two parities around it, or not."""

    def __init__(self, parity):
        self.parity = parity

    def take(self, read):
        checks = []
        if self.parity:
            half = len(read) // 2
            checks = [["even", run(1, half), ones(read[:half]) % 2 == 0],
                      ["odd", run(half + 1, len(read)), ones(read[half:]) % 2 == 1]]
            read = read[1:-1]
        value = bytes(int(read[i:i + 8], 2) for i in range(0, len(read), 8))
        return [["number", str(int.from_bytes(value, "little"))]], checks

    def put(self, length, values):
        if self.parity:
            length -= 2
        v = int(values["number"].pop(0))
        if v >= 1 << length:
            return None
        data = "".join(format(byte, "08b") for byte in v.to_bytes(length // 8, "little"))
        return framed(data) if self.parity else data


def framed(data):
    """Data bits between two parities: even over the first half, odd over the second."""
    half = len(data) // 2
    return str(ones(data[:half]) % 2) + data + str(1 - ones(data[half:]) % 2)


for bits in (32, 56, 64):
    FORMATS[f"{bits}-0-{bits}-reversed"] = Reversed(parity=False)
for bits in (32, 56):
    FORMATS[f"{bits + 2}-0-{bits}-reversed"] = Reversed(parity=True)


# --- Zeros before what is sent ----------------------------------------------------------------------------------------


class Padded:
    """So many zeros, then a frame."""

    def __init__(self, zeros, frame):
        self.zeros, self.frame = zeros, frame

    def take(self, read):
        fields, checks = self.frame.take(read[self.zeros:])
        moved = [[kind, [bit + self.zeros for bit in over], holds] for kind, over, holds in checks]
        return fields, moved + [["fixed", run(1, self.zeros), read[:self.zeros] == "0" * self.zeros]]

    def put(self, length, values):
        read = self.frame.put(length - self.zeros, values)
        return read and "0" * self.zeros + read


for length in (32, 34, 37, 40):
    FORMATS[f"{length}-8-16"] = Padded(length - 26, FORMATS["26-8-16"])
FORMATS["keypad-8-zeros"] = Padded(4, FORMATS["keypad-4"])


# --- Decimal digits of 4 bits -----------------------------------------------------------------------------------------


class Digits:
    """Fields of decimal digits, four bits each, the highest first; with halves a parity at either end."""

    def __init__(self, fields, parity=False):
        self.fields, self.parity = fields, parity

    def take(self, read):
        fields, checks, at = [], [], 1 if self.parity else 0
        for name, n in self.fields:
            values = [int(read[at + 4 * i:at + 4 * i + 4], 2) for i in range(n)]
            fields.append([name, "".join(chr(0x30 + v) for v in values)])
            checks.append(["digit", run(at + 1, at + 4 * n), all(v < 10 for v in values)])
            at += 4 * n
        if self.parity:
            half = len(read) // 2
            checks.append(["even", run(1, half), ones(read[:half]) % 2 == 0])
            checks.append(["odd", run(half + 1, len(read)), ones(read[half:]) % 2 == 1])
        return fields, checks

    def put(self, length, values):
        data = ""
        for name, n in self.fields:
            text = values[name].pop(0).rjust(n, "0")
            if len(text) > n:
                return None
            data += "".join(format(int(c), "04b") for c in text)
        if self.parity:
            data = framed(data)
        return data


FORMATS["keys-26"] = Digits([("number", 6)], parity=True)
# TIG SCEPACS v2.2, figure 6: the fields of a FASC-N and how many digits each has.
FASC_N = [("agency", 4), ("system", 4), ("credential", 6), ("series", 1), ("issue", 1), ("person", 10), ("category", 1),
          ("organisation", 4), ("association", 1)]
FORMATS["fascn-56"] = Digits(FASC_N[:3])
FORMATS["fascn-64"] = Digits(FASC_N[:5])
FORMATS["fascn-128"] = Digits(FASC_N)


# --- Characters of 5 bits ---------------------------------------------------------------------------------------------

# TIG SCEPACS v2.2, figure 7, and ISO/IEC 7811 track 2: value 0 to 15, written least significant bit first, then odd parity.
CHARACTERS = ("00001 10000 01000 11001 00100 10101 01101 11100 00010 10011 01011 11010 00111 10110 01110 11111").split()
START, SEPARATOR, END = CHARACTERS[11], CHARACTERS[13], CHARACTERS[15]


def sign(character):
    """The sign of a character, which counts by its four data bits alone."""
    return chr(0x30 + int(character[3::-1], 2))


def longitudinal(characters):
    """The check character: an even number of ones in each of the four columns; its fifth bit is its own parity."""
    columns = ["".join(c[i] for c in characters) for i in range(4)]
    value = sum((ones(column) % 2) << i for i, column in enumerate(columns))
    return CHARACTERS[value]


class Characters:
    """A row of characters: a name for each that belongs to a field, or the character that always stands there."""

    def __init__(self, row, digits):
        self.row, self.digits = row, digits

    def take(self, read):
        row = self.row(len(read))
        characters = [read[i:i + 5] for i in range(0, len(read), 5)]
        texts, places, checks, fixed = {}, {}, [], {}
        for i, (what, c) in enumerate(zip(row, characters)):
            bits = run(5 * i + 1, 5 * i + 5)
            if what in CHARACTERS:  # those of one kind are one check
                places_before, holds = fixed.get(what, ([], True))
                fixed[what] = (places_before + bits, holds and c == what)
                continue
            texts[what] = texts.get(what, "") + sign(c)
            places[what] = places.get(what, []) + bits
            checks.append(["odd", bits, ones(c) % 2 == 1])
        if self.digits:
            checks += [["digit", places[name], texts[name].isdigit()] for name in texts]
        checks += [["fixed", bits, holds] for bits, holds in fixed.values()]
        checks.append(["lrc", run(1, len(read)), characters[-1] == longitudinal(characters[:-1])])
        return [[name, text] for name, text in texts.items()], checks

    def put(self, length, values):
        row = self.row(length)
        rest = {}
        for name in dict.fromkeys(what for what in row if what not in CHARACTERS):
            text = values[name].pop(0)
            if self.digits:
                text = text.rjust(row.count(name), "0")
            if len(text) != row.count(name):
                return None
            rest[name] = list(text)
        characters = [what if what in CHARACTERS else CHARACTERS[ord(rest[what].pop(0)) - 0x30] for what in row]
        return "".join(characters) + longitudinal(characters)


def fasc_n_row(length):
    """TIG SCEPACS v2.2, figure 6: separators stand after the first five fields and nowhere else."""
    row = [START]
    for name, n in FASC_N:
        row += [name] * n
        if name in ("agency", "system", "credential", "series", "issue"):
            row.append(SEPARATOR)
    return row + [END]


def track2_row(length):
    return [START] + ["number"] * (length // 5 - 3) + [END]


FORMATS["fascn-200"] = Characters(fasc_n_row, digits=True)
FORMATS["track2"] = Characters(track2_row, digits=False)


# --- The 64-bit frame of a 125 kHz tag --------------------------------------------------------------------------------


class Tag:
    """Nine ones; ten rows of four data bits and even parity; four even parities of the columns; a zero."""

    def take(self, read):
        rows = [read[9 + 5 * i:14 + 5 * i] for i in range(10)]
        data = "".join(row[:4] for row in rows)
        checks = [["fixed", run(1, 9) + [64], read[:9] == "1" * 9 and read[63] == "0"]]
        for i, row in enumerate(rows):
            checks.append(["even", run(10 + 5 * i, 14 + 5 * i), ones(row) % 2 == 0])
        for i in range(4):
            column = "".join(row[i] for row in rows) + read[59 + i]
            checks.append(["even", [10 + 5 * k + i for k in range(10)] + [60 + i], ones(column) % 2 == 0])
        return [["version", str(int(data[:8], 2))], ["number", str(int(data[8:], 2))]], checks

    def put(self, length, values):
        version, number = int(values["version"].pop(0)), int(values["number"].pop(0))
        if version >= 1 << 8 or number >= 1 << 32:
            return None
        data = format(version, "08b") + format(number, "032b")
        rows = [data[i:i + 4] for i in range(0, 40, 4)]
        columns = "".join(str(ones("".join(row[i] for row in rows)) % 2) for i in range(4))
        return "1" * 9 + "".join(row + str(ones(row) % 2) for row in rows) + columns + "0"


FORMATS["64-8-32-rows"] = Tag()


def answer(question):
    layout = FORMATS.get(question["format"])
    if layout is None:
        return {"unknown": question["format"]}
    if "read" in question:
        fields, checks = layout.take(question["read"])
        return {"fields": fields, "checks": checks}
    values = {}
    for name, text in question["fields"]:
        values.setdefault(name, []).append(text)
    return {"read": layout.put(question["length"], values)}


if __name__ == "__main__":
    for line in sys.stdin:
        print(json.dumps(answer(json.loads(line))))
