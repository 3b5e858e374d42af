"""Reads value change dumps, IEEE 1364 clause 18, all in memory, and counts the falls of two lines.

A question is {"path": FILE, "ones": NAME, "zeros": NAME}, or with "clock" and "data" instead: whole names or their last
parts. A fall of the line for ones is a 1; 50 ms without any fall end a read. The answer is {"edges": [[NANOSECONDS, LINE,
LEVEL]...], "reads": ["0101..."...]}: LINE is 0 for zeros or the clock, else 1.
"""

import json
import re
import sys
from fractions import Fraction

SECONDS = {"s": 0, "ms": 3, "us": 6, "ns": 9, "ps": 12, "fs": 15}
GAP = 50_000_000


def bits(name, width, written):
    """The names of a net's bits, the leftmost first, by the range that is written behind its name."""
    if width == 1:
        return [name + written]
    left, right = map(int, re.fullmatch(r"\[(-?\d+):(-?\d+)\]", written or f"[{width - 1}:0]").groups())
    return [f"{name}[{i}]" for i in range(left, right + (1 if right > left else -1), 1 if right > left else -1)]


def changes(text):
    """Every change of every net: nanoseconds, bits by name."""
    header, body = re.split(r"\$enddefinitions\s+\$end", text, maxsplit=1)
    number, unit = re.search(r"\$timescale\s+(10{0,2})\s*([munpf]?s)\s+\$end", header).groups()
    step = Fraction(int(number) * 10 ** 9, 10 ** SECONDS[unit])
    nets, scopes = {}, []
    for kind, rest in re.findall(r"\$(scope|upscope|var)\s+(.*?)\s*\$end", header, re.S):
        words = rest.split()
        if kind == "scope":
            scopes.append(words[1])
        elif kind == "upscope":
            scopes.pop()
        else:
            nets.setdefault(words[2], []).append(bits(".".join(scopes + words[3:4]), int(words[1]), "".join(words[4:])))
    now, words = None, iter(re.sub(r"\$comment.*?\$end", "", body, flags=re.S).split())
    for w in words:
        if w[0] == "#":
            now = int(int(w[1:]) * step)
        elif w[0] == "$":
            continue
        elif w[0] in "bB":
            value, net = w[1:], next(words)
            for names in nets[net]:
                fill = "0" if value[0] in "01" else value[0]
                yield now, dict(zip(names, value.rjust(len(names), fill)))
        elif w[0] in "rR":
            next(words)
        else:
            for names in nets[w[1:]]:
                yield now, {names[-1]: w[0]}


def answer(q):
    lines = [q.get("zeros") or q["clock"], q.get("ones") or q["data"]]
    levels, edges, reads, last = ["x", "x"], [], [], None
    with open(q["path"], encoding="ascii") as f:
        text = f.read()
    for now, names in changes(text):
        for name, level in names.items():
            for i, line in enumerate(lines):
                if not (name == line or name.endswith("." + line)) or levels[i] == level:
                    continue
                fell, levels[i] = levels[i] == "1" and level == "0", level
                edges.append([now, i, level])
                if not fell or "clock" in q and i == 1:
                    continue
                if last is None or now - last > GAP:
                    reads.append("")
                last = now
                reads[-1] += str(i) if "zeros" in q else {"0": "1", "1": "0"}[levels[1]]
    return {"edges": edges, "reads": reads}


for line in sys.stdin:
    print(json.dumps(answer(json.loads(line))))
