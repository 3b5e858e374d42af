#!/usr/bin/env python3
"""Asks learn and identify about cards of odd layouts, and prints what they state above 0.9 and is wrong.

    go build -o /tmp/cardtell ./cmd/cardtell
    .ci/layouts/layouts.py 0 500 /tmp/cardtell        seeds 0 to 499
    .ci/layouts/layouts.py 17 18 /tmp/cardtell show   one of them, with what was asked and answered

The layouts are in no table, and odder than the model has them: parities over fields alone, sums and CRCs, split and turned
numbers, digits, constant bits anywhere; one in five is a documented format all the same, put together by
testdata/independent/layouts.py. A layout that was learned is judged by reads that it has not seen. Of numbers that differ from
the sample's in bits that vary there it has to make the right read ("made"), find the number ("number"), and keep its checks
("check"); "beyond" is a read it makes wrong of a number that differs in other bits, too, and "shown" a card of the sample whose
number is another one. Look at seeds that are not looked at while mending for a figure.
"""

import collections
import json
import pathlib
import random
import subprocess
import sys
import time

sys.dont_write_bytecode = True
sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "testdata" / "independent"))
from layouts import FORMATS  # noqa: E402

KNOWN = [("26-8-16", 8, 16, 5), ("24-8-16", 8, 16, 1), ("26-0-24", 0, 24, 2), ("30-8-20", 8, 20, 1), ("32-10-20", 10, 20, 1),
         ("32-0-32", 0, 32, 1), ("34-16-16", 16, 16, 2), ("34-0-32", 0, 32, 2), ("35-12-20", 12, 20, 2), ("37-16-19", 16, 19, 2),
         ("37-0-35", 0, 35, 1), ("36-0-34", 0, 34, 1), ("40-8-32", 8, 32, 1), ("42-0-40", 0, 40, 1), ("56-0-56", 0, 56, 1)]


def crc(bits, width, poly):
    v = 0
    for b in bits:
        v = v << 1 ^ (poly if (v >> width - 1 ^ b) & 1 else 0)
        v &= (1 << width) - 1
    return v


def words(bits, width):
    bits = bits + [0] * (-len(bits) % width)
    return [int("".join(map(str, bits[i:i + width])), 2) for i in range(0, len(bits), width)]


def xor(bits, width):
    v = 0
    for w in words(bits, width):
        v ^= w
    return v


SUMS = {"xor4": (4, lambda b: xor(b, 4)), "xor8": (8, lambda b: xor(b, 8)), "sum4": (4, lambda b: sum(words(b, 4)) % 16),
        "sum8": (8, lambda b: sum(words(b, 8)) % 256), "crc4": (4, lambda b: crc(b, 4, 3)),
        "crc8": (8, lambda b: crc(b, 8, 7))}


class Layout:
    """A layout that puts reads together; at has the bits of the number, from the highest on, by place."""

    def __init__(self, r):
        self.name, self.r = "none", r
        self.facility, self.digits = r.choice([0, 0, 3, 5, 6, 8, 8, 10, 12, 16]), r.random() < 0.08
        self.number = 4 * r.randint(4, 8) if self.digits else r.choice([10, 12, 14, 16, 16, 16, 17, 18, 19, 20, 22, 24, 24, 28, 32])
        self.issue = r.choice([0] * 5 + [1, 2, 4])
        turns = ["plain"] * 8 + ["last first"] + (["bytes", "bits in bytes"] if self.number % 8 == 0 and not self.digits else [])
        self.turn = "plain" if self.digits else r.choice(turns)
        parts = [("n", self.number)]
        if self.turn == "plain" and not self.digits and r.random() < 0.08:
            cut = r.randint(4, self.number - 4)
            parts = [("h", cut), ("l", self.number - cut)]
        parts += [("f", self.facility), ("i", self.issue)]
        for _ in range(r.choice([0, 0, 0, 1, 1, 2])):
            n = r.choice([1, 1, 2, 3, 4, 8])
            parts.append(("c", n, [r.randrange(2) for _ in range(n)] if r.random() < 0.6 else [r.randrange(2)] * n))
        usual = r.random() < 0.5  # facility, then the number; else any order
        self.sum = r.choice([None] * 3 + list(SUMS)) if r.random() < 0.5 else None
        front = r.choice([0, 1, 1, 1, 2])
        behind = r.choice([0, 1, 1, 1, 2])
        while True:
            r.shuffle(parts)
            if usual:
                parts.sort(key=lambda p: "cfihln".index(p[0]) if p[0] != "c" else r.choice([-1, 2, 9]))
            self.parts = [p for p in parts if p[1] > 0]
            self.data = sum(p[1] for p in self.parts)
            self.length = self.data + front + behind + (SUMS[self.sum][0] if self.sum else 0)
            if 24 <= self.length <= 80:
                break
            n = max(1, 24 - self.length)
            parts.append(("c", n, [r.randrange(2) for _ in range(n)]))
        self.sum_first, self.front, self.behind = r.random() < 0.15, front, behind
        style = r.choice(["halves", "halves", "alternate", "thirds", "fields", "same half", "all", "mixed", "runs"])
        self.covers = [self.cover(style, k, front + behind, r) for k in range(front + behind)]
        self.odd = [r.randrange(2) if r.random() < 0.3 else int(k >= front) for k in range(front + behind)]
        self.over_sum, self.inverted = r.random() < 0.6, r.random() < 0.05
        self.words = (f"{self.length} bits: {front}p " + " ".join(f"{p[0]}{p[1]}" for p in self.parts) + f" {self.sum}"
                      f"{' first' if self.sum_first else ''} {behind}p {style}{' digits' if self.digits else ''} {self.turn}"
                      f"{' inverted' if self.inverted else ''}")
        self.at = self.places()

    def span(self, letters):
        at, all_ = 0, []
        for p in self.parts:
            if p[0] in letters:
                all_ += range(at, at + p[1])
            at += p[1]
        return all_

    def cover(self, style, k, n, r):
        d = self.data
        if style == "mixed":
            style = r.choice(["halves", "alternate", "thirds", "fields", "all", "runs"])
        if style == "halves":
            return list(range(d // 2)) if k < self.front else list(range(d // 2, d))
        if style == "same half":
            return list(range(d // 2))
        if style == "alternate":
            return list(range(k % 2, d, 2))
        if style == "thirds":
            return list(range(d * (k % 3) // 3, d * (k % 3 + 1) // 3)) if r.random() < 0.5 else list(range(k % 3, d, 3))
        if style == "fields":
            return self.span("f" if self.facility and k < self.front else "nhl")
        if style == "runs":
            a = r.randrange(d - 4)
            return list(range(a, r.randint(a + 4, d)))
        return list(range(d))

    def coded(self, n):
        if self.digits:
            return [int(c) for c in "".join(f"{int(d):04b}" for d in str(n).zfill(self.number // 4))]
        b = [int(c) for c in f"{n:0{self.number}b}"]
        return [b[i] for i in self.order()]

    def order(self):
        """Which bit of the number, counted from the highest, stands where."""
        all_ = list(range(self.number))
        eights = [all_[i:i + 8] for i in range(0, self.number, 8)]
        return {"plain": all_, "last first": all_[::-1], "bytes": sum(eights[::-1], []),
                "bits in bytes": sum((e[::-1] for e in eights), [])}[self.turn]

    def places(self):
        shift = self.front + (SUMS[self.sum][0] if self.sum and self.sum_first else 0)
        at = [shift + i for i in self.span("h") + self.span("l") + self.span("n")]
        order = self.order()
        return [at[order.index(i)] for i in range(self.number)]

    def most(self):
        return 10 ** (self.number // 4) if self.digits else 1 << self.number

    def read(self, f, n, issue):
        code, d = self.coded(n), []
        for p in self.parts:
            if p[0] == "h":
                d += code[:p[1]]
            elif p[0] in "nl":
                d += code[-p[1]:]
            else:
                d += p[2] if p[0] == "c" else [int(c) for c in f"{f if p[0] == 'f' else issue:0{p[1]}b}"]
        s = []
        if self.sum:
            width, of = SUMS[self.sum]
            s = [int(c) for c in f"{of(d):0{width}b}"]
        ps = [(sum(d[i] for i in c) + (sum(s) if self.over_sum and len(c) == self.data else 0) + odd) % 2
              for c, odd in zip(self.covers, self.odd)]
        text = "".join(map(str, ps[:self.front] + (s + d if self.sum_first else d + s) + ps[self.front:]))
        return "".join("10"[int(c)] for c in text) if self.inverted else text


class Listed:
    """A documented format, with what Layout has."""

    digits, issue, inverted, sum = False, 0, False, None

    def __init__(self, r):
        self.name, self.facility, self.number, _ = r.choices(KNOWN, [k[-1] for k in KNOWN])[0]
        self.length = int(self.name.split("-")[0])
        self.words = self.name
        zero = self.read(0, 0, 0)
        self.at = []  # the bit that the number alone changes, and no parity: the one that a run of the number's bits has
        frame = FORMATS[self.name]
        letter = "N"
        self.at = [i for i, c in enumerate(frame.drawing) if c == letter]
        assert len(self.at) == self.number and len(zero) == self.length

    def most(self):
        return 1 << self.number

    def read(self, f, n, issue):
        names = {"facility": [str(f)], "number": [str(n)], "version": [str(f)]}
        return FORMATS[self.name].put(self.length, names)


def numbers(r, top, n):
    way = r.choice(["even", "even", "run", "runs", "low", "blocks"])
    first = lambda: r.randrange(min(top, 10 ** r.randint(2, 7)))
    if way == "even":
        v = [r.randrange(top) for _ in range(n)]
    elif way == "run":
        a = first()
        v = [a + i for i in range(n)]
    elif way == "runs":
        v = []
        while len(v) < n:
            a = first()
            v += [a + i for i in range(r.randint(1, max(2, n // 3)))]
    elif way == "low":
        v = r.sample(range(1, max(4 * n, 300)), n)
    else:
        blocks = [first() for _ in range(r.randint(1, 3))]
        v = [r.choice(blocks) + r.randrange(200) for _ in range(n)]
    return [x % top for x in v[:n]], way


PRINTS = {"nothing": None, "number": lambda f, n, w, k: str(n), "filled": lambda f, n, w, k: str(n).zfill(w),
          "pair": lambda f, n, w, k: f"{f},{n}", "dash": lambda f, n, w, k: f"{f:03}-{n:05}",
          "joined": lambda f, n, w, k: f"{f}{str(n).zfill(w)}", "hex": lambda f, n, w, k: f"hex:{n:X}",
          "last digits": lambda f, n, w, k: str(n)[-4:].zfill(4), "other": lambda f, n, w, k: str(k)}


class Site:
    def __init__(self, seed):
        r = self.r = random.Random(f"odd layouts {seed}")
        self.n = n = r.choice([3, 4, 5, 6, 8, 8, 10, 12, 12, 14, 16, 16, 20, 20, 24, 30, 30, 40, 60])
        l = self.layout = Listed(r) if r.random() < 0.2 else Layout(r)
        values, way = numbers(r, l.most(), n)
        fs = [r.randrange(1 << l.facility)]
        if l.facility and r.random() < 0.2:
            fs.append(r.randrange(1 << l.facility))
        issues = [r.randrange(1 << l.issue)] if r.random() < 0.5 else list(range(1 << l.issue))
        printed = r.choice(["nothing"] * 6 + ["number"] * 4 + ["filled", "hex", "last digits", "other"] +
                           (["pair", "dash", "joined"] if l.facility else []))
        share, mistyped = r.choice([1, 1, 0.5]), r.choice([0, 0, 0, 0.1])
        fault = r.choice(["none"] * 4 + ["flips", "lost"])
        width, start, step = len(str(l.most() - 1)), r.randrange(10 ** r.randint(3, 6)), r.choice([1, 1, 0])
        self.cards, self.truth = [], []
        seen = set()
        for i, v in enumerate(values):
            f, issue = r.choice(fs), r.choice(issues)
            good = l.read(f, v, issue)
            if good in seen:
                continue
            seen.add(good)
            came = good
            if fault != "none" and r.random() < 0.05:
                at = r.randrange(len(came))
                came = came[:at] + ("10"[int(came[at])] if fault == "flips" else "") + came[at + 1:]
            text, wrong = "bits:" + came, False
            if printed != "nothing" and r.random() < share:
                p = PRINTS[printed](f, v, width, start + i if step else r.randrange(10 ** 6))
                at = r.randrange(len(p))
                if r.random() < mistyped and p[at].isdigit():
                    q = p[:at] + r.choice("0123456789") + p[at + 1:]
                    wrong, p = q != p, q
                text += "=" + p
            self.cards.append(text)
            self.truth.append((f, v, issue, good, came, wrong))
        self.printed, self.facilities = printed, len(fs)
        self.words = (f"{l.words}; {len(self.cards)} cards, {way}, printed {printed}"
                      f"{' in part' if share < 1 else ''}{' mistyped' if mistyped else ''}"
                      f"{', 2 facilities' if len(fs) > 1 else ''}{', issues' if len(issues) > 1 else ''}, {fault}")


def bits(text):
    """The places of spans such as 2-9, 12, 3-20/3."""
    all_ = []
    for s in text.replace(" ", "").split(","):
        s, _, step = s.partition("/")
        a, _, b = s.partition("-")
        all_ += range(int(a) - 1, int(b or a), int(step or 1))
    return all_


class Learned:
    def __init__(self, j):
        self.j, self.flip = j, j.get("swapped", False)
        self.field = next((f for f in j["fields"] if f["name"] == "number"), None)
        self.checks = [(c["kind"] == "odd", c["bit"] - 1, bits(c["over"])) for c in j["checks"]]
        if self.field:
            self.at = bits(self.field["bits"])
            if self.field["order"] == "lsb":
                self.at.reverse()
        self.open = {b for s in j["open"] for b in bits(s)}

    def straight(self, read):
        return "".join("10"[int(c)] for c in read) if self.flip else read

    def number(self, read):
        s = "".join(self.straight(read)[i] for i in self.at)
        if self.field["coding"] == "bcd":
            v = [int(s[i:i + 4], 2) for i in range(0, len(s), 4)]
            return int("".join(map(str, v))) if max(v) < 10 else -1
        return int(s, 2) if self.field["coding"] == "binary" else -1

    def broken(self, read):
        s = self.straight(read)
        return [c for c in self.checks if (int(s[c[1]]) + sum(int(s[i]) for i in c[2] if i != c[1])) % 2 != c[0]]

    def made(self, base, want):
        """The read that it makes of the number in another read, if all else is as on a card."""
        b, w = list(self.straight(base)), self.straight(want)
        for i in self.at:
            b[i] = w[i]
        for odd, at, over in self.checks:  # those outside cover the others, which come first
            b[at] = str((sum(int(b[i]) for i in over if i != at) + odd) % 2)
        return self.straight("".join(b))


def faults(site, j):
    """What is wrong in a layout that was learned: kinds of faults."""
    t, l = site.layout, Learned(j)
    good = [c for c in site.truth if c[3] == c[4]]
    if j["length"] != t.length:
        return {"length"}
    if not l.field:
        return {"nothing"}
    all_, r = set(), random.Random(1)
    mask = (1 << min(len(l.at), t.number)) - 1 if l.field["coding"] == "binary" and not t.digits else -1
    plain = site.printed in ("number", "filled", "hex", "pair", "dash", "joined") and j.get("printed")
    for f, v, issue, read, _, _ in good:
        got = l.number(read)
        if got & mask != v & mask or plain and got != v:
            all_.add("shown")
    ref = [c[3] for c in site.truth if c[3] == c[4]] or [c[3] for c in site.truth]
    varies = {i for i in range(t.length) if len({x[i] for x in ref}) > 1}
    for f in {c[0] for c in good}:
        base = next(c for c in good if c[0] == f)
        for within in (True, False):
            for _ in range(60):
                if t.digits:
                    old = str(base[1]).zfill(t.number // 4)
                    n = int("".join(str(r.randrange(10)) if any(i in varies for i in t.at[4 * k:4 * k + 4]) or not within else c
                                    for k, c in enumerate(old)))
                    if within:
                        x = t.read(f, n, base[2])
                        if any(x[i] != base[3][i] and i not in varies for i in t.at):
                            continue
                else:
                    n, leading = base[1], True
                    for k, i in enumerate(t.at):
                        bit = t.number - 1 - k
                        leading = leading and i not in l.at and all(c[1] >> bit & 1 == 0 for c in good)
                        if i in varies or not within and not leading and i not in l.open:
                            n = n & ~(1 << bit) | r.randrange(2) << bit
                want = t.read(f, n, base[2])
                where = "" if within else "beyond "
                if l.broken(want):
                    all_.add(where + "check")
                if l.made(base[3], want) != want:
                    all_.add(where + "made")
                if l.number(want) & mask != n & mask:
                    all_.add(where + "number")
            if all_ - {"shown"}:
                break
    return all_


def cards_of(site, given):
    """The numbers of the sample's good cards that an answer of identify gives, and how many of them are wrong."""
    wrong, claims = [], 0
    for i, c in enumerate(given):
        f, v, _, good, came, _ = site.truth[i]
        if good != came or c.get("chance", 1) < 0.95 or "number" not in c:
            continue
        claims += 1
        if c["number"] != str(v) or site.layout.facility and c.get("facility", str(f)) != str(f):
            wrong.append(i)
    return claims, wrong


class Program:
    def __init__(self, path):
        self.p = subprocess.Popen([path, "serve", "--stdio"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def ask(self, **request):
        began = time.time()
        self.p.stdin.write(json.dumps({"id": 1, **request}) + "\n")
        self.p.stdin.flush()
        answer = json.loads(self.p.stdout.readline())
        return answer.get("result"), answer.get("error"), time.time() - began


def statements(site, learned, answer):
    """What both commands state: kind, probability, and what is wrong, empty where nothing is."""
    name, out = site.layout.name, []
    if learned:
        for j in [learned] + learned.get("others", []):
            if j["probability"] > 0.5:
                out.append(("learn", j["probability"], faults(site, j), [k["format"] for k in j.get("known", [])], j))
        out.append(("learn several", learned.get("several", 0), {"several"}, [], learned))
    if answer:
        out.append(("identify several", answer.get("several", 0), {"several"}, [], answer))
        out.append(("identify none", answer["unknown"], {"none"} if name != "none" else set(), [], answer))
        top = max(answer["candidates"], key=lambda c: c["probability"], default=None)
        if top and "format" in top:
            claims, wrong = cards_of(site, top["cards"])
            bad = {"cards"} if wrong else {"format"} if not claims and top["format"] != name else set()
            out.append(("identify format", top["probability"], bad, [top["format"]], top))
        elif top:
            bad = {"like"} if name != "none" else set()
            out.append(("identify like", top["probability"], bad, [top["frame"]], top))
    return out


def disagree(said):
    sure = {s[0]: s for s in said if s[1] > 0.9}
    l, f = sure.get("learn"), sure.get("identify format")
    if l and "identify none" in sure and l[3]:
        return f"learn {l[3]}, identify none"
    if l and f and f[3][0] not in l[3]:
        a, mask = Learned(l[4]), 0
        for c, text in zip(f[4]["cards"], [c for c in l[4]["cards_"]]):
            if a.field and len(text) == l[4]["length"] and "number" in c and c.get("chance", 1) > 0.9 and c["number"].isdigit():
                mask = (1 << min(len(a.at), int(c["number"]).bit_length() or 1)) - 1
                if a.number(text) & mask != int(c["number"]) & mask:
                    return f"learn {l[3]} {a.number(text)}, identify {f[3][0]} {c['number']}"
    return ""


def main(first, last, path, show=False):
    program, count, slow = Program(path), collections.Counter(), 0
    for seed in range(first, last):
        site = Site(seed)
        if show:
            print(f"{seed}: {site.words}\n" + "\n".join(site.cards), flush=True)
            for c in ["learn", "-"], ["identify", "--file", "-"]:
                subprocess.run([path] + c, input="\n".join(site.cards) + "\n", text=True)
            print([s[:4] for s in statements(site, program.ask(do="learn", cards=site.cards)[0], None)])
            continue
        learned, failed, took = program.ask(do="learn", cards=site.cards)
        answer, failed2, took2 = program.ask(do="identify", cards=site.cards)
        slow = max(slow, took, took2)
        if max(took, took2) > 1 or failed or failed2:
            print(f"{seed}: {took:.1f} s, {took2:.1f} s {failed or ''} {failed2 or ''}: {site.words}")
        said = statements(site, learned, answer)
        for s in said:
            s[4]["cards_"] = [c[4] for c in site.truth]
        if no := disagree(said):
            count["contradictions"] += 1
            print(f"{seed}: CONTRADICTION {no}: {site.words}")
        for what, p, wrong, formats, _ in said:
            beyond = wrong and all(w.startswith("beyond") for w in wrong)
            what += " of a format" * (what == "learn" and bool(formats))
            for limit in (0.9, 0.99):
                count[what, limit, "all"] += p > limit
                count[what, limit, "beyond" if beyond else "wrong"] += p > limit and bool(wrong)
            if p > 0.9 and wrong:
                print(f"{seed}: {p:.4f} {what} {','.join(formats)} {sorted(wrong)}: {site.words}")
    if not show:
        for what in sorted({k[0] for k in count if isinstance(k, tuple)}):
            print(f"{what:18}", "; ".join(f"above {x}: {count[what, x, 'wrong']} wrong, {count[what, x, 'beyond']} beyond, of "
                                        f"{count[what, x, 'all']}" for x in (0.9, 0.99)))
        print(f"contradictions {count['contradictions']}; the slowest question took {slow:.2f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3], len(sys.argv) > 4)
