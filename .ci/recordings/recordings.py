#!/usr/bin/env python3
"""Asks capture about recordings of two wires, and judges each answer by what was really sent.

    go build -o /tmp/cardtell ./cmd/cardtell
    .ci/recordings/recordings.py 0 500 /tmp/cardtell        seeds 0 to 499
    .ci/recordings/recordings.py 17 18 /tmp/cardtell show   one of them: the recording, what was sent and what was answered

A line is drawn in microseconds, spoilt as cables, contacts and interference do, sampled as a recorder does, and written in one
of many shapes. The program and testdata/independent/layouts.py, which puts the cards together, share nothing. A frame that was
sent is then

    right      read, and said to be healthy or marginal
    doubtful   read wrong, or right, and said to be suspect
    marginal   read wrong, and said to be marginal: all bits as far as can be seen
    WRONG      read wrong, and said to be healthy
    missed     not read, in a recording that was read
    refused    in a recording that was not

and made up is what was read as healthy or marginal where nothing was sent. Those of a sound line, whose every pulse lasts three
samples or more, are counted apart. Look at seeds that are not looked at while mending for a figure.
"""

import bisect
import collections
import json
import math
import pathlib
import random
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True
sys.path.insert(0, str(pathlib.Path(__file__).parents[2] / "testdata" / "independent"))
from layouts import FORMATS  # noqa: E402

CARDS = [("26-8-16", 26, 8, 16), ("34-16-16", 34, 16, 16), ("37-16-19", 37, 16, 19), ("32-0-32", 32, 0, 32), ("35-12-20", 35, 12, 20),
         ("26-8-16", 26, 8, 16), ("58-0-56", 58, 0, 56)]
TROUBLES = ["none"] * 8 + ["missing", "echo", "ringing", "glitches", "crosstalk", "bounce", "turned", "extra", "begun", "ended",
                           "stretch", "half", "two readers", "dead"]


def frame(r):
    """The bits of a card or of a key."""
    if r.random() < 0.3:
        return FORMATS[r.choice(["keypad-4", "keypad-8"])].put(0, {"number": [str(r.randrange(12))]})
    name, length, facility, number = r.choice(CARDS)
    return FORMATS[name].put(length, {"facility": [str(r.randrange(1 << facility))], "number": [str(r.randrange(1 << number))]})


def spoil(r, trouble, pulses, pace, width):
    """Spoils the pulses (at, width, wire) of a frame."""
    k = r.randrange(1, len(pulses) - 1)
    if trouble == "missing":  # the last one would leave no trace
        del pulses[k:min(k + r.choice([1, 1, 2]), len(pulses) - 1)]
    elif trouble == "echo":
        late, other, share = r.uniform(0.1, 0.55) * pace, r.random() < 0.3, r.choice([1, 1, 0.5, 0.2])
        pulses += [(at + late, w * 0.8, wire ^ other) for at, w, wire in pulses if r.random() < share]
    elif trouble == "ringing":  # of a pull-up with a long cable, behind each pulse
        n, period, high = r.randint(1, 3), r.uniform(2, 9), r.uniform(1.5, 6)
        pulses += [(at + w + high + i * (period + high), period, wire) for at, w, wire in pulses for i in range(n)]
    elif trouble == "glitches":
        first, last = pulses[0][0], pulses[-1][0]
        pulses += [(r.uniform(first, last), r.uniform(0.5, r.choice([5, 12, 30])), r.randrange(2)) for _ in range(r.randint(1, 6))]
    elif trouble == "crosstalk":  # on the other wire, while or just before this one is low
        late, share = r.uniform(-5, 5), r.choice([1, 0.3])
        pulses += [(at + late, r.uniform(0.1, 0.6) * w, 1 - wire) for at, w, wire in pulses if r.random() < share]
    elif trouble == "bounce":
        pulses += [(at + w + r.uniform(10, 30), r.uniform(5, 30), wire) for at, w, wire in pulses if r.random() < 0.8]
    elif trouble == "turned":  # a bit that comes on the other wire leaves no trace: it is what was sent
        at, w, wire = pulses[k]
        pulses[k] = at, w, 1 - wire
    elif trouble == "stretch":  # what is left looks like two keys
        a, z = r.choice([4, 6, 8]), r.choice([4, 6, 8])
        del pulses[a:max(a, len(pulses) - z)]
    elif trouble == "half":  # echoes half a beat late, as wide as what they echo
        late, other = r.uniform(0.46, 0.54) * pace, r.random() < 0.4
        pulses += [(at + late, w, wire ^ other) for at, w, wire in pulses]
    elif trouble == "two readers":  # the second one begins before the first has ended
        at, beat = r.uniform(pulses[0][0], pulses[-1][0]), pace * r.choice([1, 1, r.uniform(0.7, 1.4)])
        pulses += [(at + beat * i, width, int(bit)) for i, bit in enumerate(frame(r))]
    elif trouble == "dead":  # a wire, for this frame alone; four of a key in a row leave no trace
        dead = 1 - pulses[k][2]
        pulses[:] = [p for p in pulses if p[2] != dead]
    elif trouble == "extra":
        pulses.append((pulses[k][0] + r.uniform(0.3, 0.7) * pace, width, r.randrange(2)))


def line(r):
    """Frames [bits, from, to], low times by wire, the end, and words on what the line is like."""
    pace = 200 * 100 ** r.random()
    width = min(r.choice([20, 30, 40, 50, 50, 80, 100, 200]) * r.uniform(0.95, 1.05), pace / 2)
    jitter, trouble = r.choice([0, 0, 0.002, 0.02, 0.1]), r.choice(TROUBLES)
    frames, all_, now = [], [], r.uniform(50e3, 300e3)
    for _ in range(r.choice([1, 1, 2, 3, 5])):
        bits, pulses, begun = frame(r), [], now
        for bit in bits:
            pulses.append((now + r.uniform(-jitter, jitter) / 2 * pace, width, int(bit)))
            now += pace
        if r.random() < 0.8:
            spoil(r, trouble, pulses, pace, width)
            if trouble == "turned":
                bits = "".join(str(p[2]) for p in pulses)
        frames.append([bits, begun, now])
        all_ += pulses
        now = max(now, max(pulses)[0] + pace)
        now += r.choice([r.uniform(6 * pace + 25e3, 150e3 + 6 * pace), r.uniform(300e3, 900e3)])
    end = now
    if trouble == "begun":
        skip = frames[0][1] + pace * r.uniform(0.5, len(frames[0][0]) - 0.5)
        all_, end = [(at - skip, w, wire) for at, w, wire in all_ if at > skip], end - skip
        frames = [[b, f - skip, t - skip] for b, f, t in frames]
    elif trouble == "ended":
        end = frames[-1][1] + pace * r.uniform(1.5, len(frames[-1][0]) - 0.5)
        all_ = [p for p in all_ if p[0] < end]
    lows = [[], []]
    for at, w, wire in sorted(all_):
        if lows[wire] and at <= lows[wire][-1][1]:
            lows[wire][-1][1] = max(lows[wire][-1][1], at + w)
        else:
            lows[wire].append([at, at + w])
    return frames, lows, end, width, trouble, f"every {pace:.0f} us, {width:.0f} wide, jitter {jitter}, trouble {trouble}"


def sampled(lows, period, end):
    """Changes {time: [level, level]} of what a recorder sees that looks once a period."""
    steps = {0.0: {0: 1, 1: 1}}
    for wire in (0, 1):
        for a, b in lows[wire]:
            a, b = max(0, math.ceil(a / period)), math.ceil(b / period)
            if a < b and a * period < end:
                steps.setdefault(a * period, {})[wire] = 0
                steps.setdefault(b * period, {})[wire] = 1
    levels, out = [1, 1], {}
    for t in sorted(steps):
        for wire, level in steps[t].items():
            levels[wire] = level
        out[t] = list(levels)
    return out


def rows_of(changes, period, end):
    """A row for each sample."""
    level, rows = changes[0.0], []
    for n in range(math.ceil(end / period)):
        level = changes.get(n * period, level)
        rows.append((n * period, level))
    return rows


def volts(lows, times, rise, high, noise, r):
    """What an oscilloscope sees of the wires: down at once, slowly up, and noise."""
    out = []
    for t in times:
        row = []
        for wire in lows:
            k = bisect.bisect_right(wire, [t, math.inf]) - 1
            v = 1 if k < 0 else 0.03 if t < wire[k][1] else 1 - 0.97 * math.exp(-(t - wire[k][1]) / rise)
            row.append(high * (v + r.gauss(0, noise)))
        out.append((t, row))
    return out


NAMES = [("D0", "D1"), ("DATA0", "DATA1"), ("d0", "d1"), ("W0", "W1"), ("Data 0", "Data 1"), ("CH1", "CH2"), ("ch 3", "ch 4"),
         ("green", "white"), ("Channel 0", "Channel 1"), ("D0 (green)", "D1 (white)")]
SCALES = [("1 us", 1), ("1us", 1), ("10 us", 10), ("100 ns", 0.1), ("1 ns", 1e-3), ("1ps", 1e-6), ("2us", 2), ("100 us", 100),
          ("1\n  us", 1), ("5 ns", 5e-3), ("1 US", 1)]
BUS = ["--d0", "bus[0]", "--d1", "bus[1]"]


def vcd(r, changes, period, end, names):
    """A value change dump (IEEE 1364 clause 18), with the liberties that writers take."""
    scale, tick = r.choice([s for s in SCALES if s[1] <= period])
    kind, high, lamp = r.choice(["wire 1"] * 4 + ["reg 1", "vector", "port 1", "real 64"]), r.choice([5, 5, 3.3]), r.random() < 0.2
    ids = {"port 1": ["<0", "<1"], "vector": "##"}.get(kind, ["!", '"'])
    head = f"$date today $end\n$timescale {scale} $end\n$scope module top $end\n"
    if kind == "vector":
        head += "$var wire 8 # bus [7:0] $end\n"
    else:
        head += "".join(f"$var {kind} {i} {n.replace(' ', '_')} $end\n" for i, n in zip(ids, names))
        head += "$var wire 1 % lamp $end\n" * lamp
    out, held, last, stops = [head + "$upscope $end\n$enddefinitions $end"], [None, None], 0, kind[:4] == "wire" and r.random() < 0.2
    for t, levels in sorted(changes.items()):
        if stops and t - last > 150e3:  # the recorder does for a while between the reads, and then writes what it stopped with
            off, on = ["".join(v + i for v, i in zip(now, ids)) for now in ("xx", map(str, held))]
            out += [f"#{round((last + 0.35 * (t - last)) / tick)} $dumpoff {off[:2]} {off[2:]} $end",
                    f"#{round((last + 0.7 * (t - last)) / tick)} $dumpon {on[:2]} {on[2:]} $end"]
        last = t
        out.append(f"#{round(t / tick)}")
        for wire, v in enumerate(levels):
            if v != held[wire]:
                out.append({"port 1": f"p{'DU'[v]} {6 - 6 * v} {6 * v} <{wire}", "vector": f"b{levels[1]}{levels[0]} #",
                            "real 64": f"r{high * v + r.uniform(-0.02, 0.02):.3f} {ids[wire]}"}.get(kind, f"{v}{ids[wire]}"))
        if lamp and kind != "vector" and r.random() < 2 / len(changes):
            out.append(f"{r.randrange(2)}%")
        held = levels
    return "\n".join(out + [f"#{round(end / tick)}"]) + "\n", BUS if kind == "vector" else [], f"VCD {scale!r} {kind}"


def level_rows(r, kind, rows, time, head, names):
    """Rows of a time and levels: apart, or all as one number; with or without the number of the row, or another column."""
    packed = r.choice(["0x{:02X}", "{:02X}h", "0b{:08b}", "{:08b}"]) if kind == "packed" else None
    counter, lamp = r.random() < 0.3, packed is None and names[0] in ("D0", "DATA0", "W0") and r.random() < 0.2
    yield ["Sample"] * counter + [head] * (kind != "rate") + (["bus"] if packed else [*names] + ["lamp"] * lamp)
    for n, (t, levels) in enumerate(rows):
        cells = [packed.format(levels[0] | levels[1] << 1)] if packed else [str(v) for v in levels] + ["0"] * lamp
        yield [str(n)] * counter + [time(t)] * (kind != "rate") + cells


def event_rows(r, kind, changes, time, head, word, names):
    """Rows of one change, or of one pulse, which have no other wire in them."""
    listed = list(changes.items())
    moves = [(t, w, now[w]) for (t, now), (_, was) in zip(listed[1:], listed) for w in (0, 1) if now[w] != was[w]]
    if kind in ("width", "end"):
        idle = listed[0][1][0]
        yield ["start_" + word, f"{kind}_{word}", "wire"]
        starts, ends = ([[t for t, wire, v in moves if wire == w and (v == idle) == back] for w in (0, 1)] for back in (False, True))
        for a, b, w in sorted((a, b, w) for w in (0, 1) for a, b in zip(starts[w], ends[w])):
            yield [time(a), time(b - a if kind == "width" else b), names[w]]
        return
    say = r.choice([("0", "1"), ("low", "high"), ("falling", "rising"), ("fall", "rise")])
    yield [head, "wire", "level"] if kind == "list" else [head, "event"]
    for t, w, v in moves:
        yield [time(t), names[w], say[v]] if kind == "list" else [time(t), f"{names[w]} {say[v]}"]


def csv(r, lows, changes, period, end, names, invert):
    """A recording as text in columns."""
    delim, point, group = r.choice([(",", ".", "")] * 4 + [(";", ".", ""), (";", ",", ""), ("\t", ".", ""), ("\t", ",", ""),
                                    (";", ",", " "), (";", ",", "."), ("\t", ".", "'"), (";", ",", "\u202f")])
    unit, digits, word = r.choice([(1e6, 6, "s"), (1e3, 3, "ms"), (1, 1, "us"), (1, 1, "µs")])
    head = r.choice(["Time [{}]", "time_{}", "Time ({})", "t/{}"]).format(word)
    plain = lambda x, n: f"{x:,.{n}f}".translate({ord("."): point, ord(","): group})
    time = lambda t: plain(t / unit, digits)
    kinds = ["changes", "changes", "list", "event", "width", "end", "log"]
    kind = r.choice(["samples", "rate", "volts", "packed", "packed"] * (end / period <= 60e3) + kinds)
    if kind == "log":
        rows = list(event_rows(r, "list", changes, lambda t: f"{t / unit:.6f} {word}:", head, word, names))[1:]
        rows, delim = [[c.replace(" ", "") if i == 1 else c for i, c in enumerate(row)] for row in rows], " "
    elif kind == "volts":
        high, noise, rise = r.choice([5, 5, 3.3, 12]), r.uniform(0, 0.02), r.choice([1, 3, 10, 25])
        seen = volts(lows, [n * period for n in range(int(end / period))], rise, high, noise, r)
        rows = [[head] + [n + r.choice([" (V)", "", "_V"]) for n in names]]
        rows += [[time(t)] + [plain(high - x if invert else x, 3) for x in v] for t, v in seen]
    elif kind in kinds[2:]:
        rows = event_rows(r, kind, changes, time, head, word, names)
    else:
        at = sorted(changes.items()) + [(end, changes[0.0])] if kind == "changes" else rows_of(changes, period, end)
        rows = level_rows(r, kind, at, time, head, names)
    rate = f"Sample rate: {1e3 / period:g} kHz\n" if kind == "rate" else ""
    text = r.choice(["", "", "\ufeff"]) + rate + "".join(delim.join(row) + "\n" for row in rows)
    words = f"CSV {kind} delimiter {delim!r} point {point} groups {group!r} head {head!r}"
    return text.replace("\n", r.choice(["\n", "\n", "\r\n"])), BUS if kind == "packed" else [], words


def recording(seed):
    """Frames, the text of the recording, options for capture, whether the line is sound and shows all, and words."""
    r = random.Random(seed)
    frames, lows, end, width, trouble, words = line(r)
    period, invert, names = r.choice([1, 1, 2, 5, 10, 20, 50, 100]), r.random() < 0.15, r.choice(NAMES)
    changes = sampled(lows, period, end)
    if invert:
        changes = {t: [1 - v for v in levels] for t, levels in changes.items()}
    if r.random() < 0.4:
        text, options, shape = vcd(r, changes, period, end, names)
    else:
        text, options, shape = csv(r, lows, changes, period, end, names, invert)
    sound = trouble == "none" and width >= 3 * period and 20 <= width <= 220
    return frames, text, options, sound, f"{words}; sampled {period} us, inverted {invert}, {names[0]} {names[1]}, {shape}"


def judge(frames, reads):
    """What became of each frame, and of the reads that are none."""
    left, verdicts = list(reads), []
    for bits, begun, ended in frames:
        mine = [x for x in left if begun - 1500 <= x["time_s"] * 1e6 <= ended]
        left = [x for x in left if x not in mine]
        states = {x["verdict"] for x in mine}
        if not mine:
            verdicts.append("missed")
        elif "suspect" in states:
            verdicts.append("doubtful")
        elif [x["bits"] for x in mine] == [bits]:
            verdicts.append("right")
        else:
            verdicts.append("marginal" if "marginal" in states else "WRONG")
    return verdicts + ["made up" for x in left if x["verdict"] != "suspect"]


def ask(first, last, program, show, recording, judge, *more):
    """Asks about the recordings of some seeds, with more options, and counts and prints what became of their frames."""
    counts = {True: collections.Counter(), False: collections.Counter()}
    for seed in range(first, last):
        frames, text, options, sound, words = recording(seed)
        encoding = "cp1252" if seed % 5 == 0 and "\u202f" not in text and "\ufeff" not in text else "utf-8"
        with tempfile.NamedTemporaryFile("w", encoding=encoding, suffix=".rec", newline="") as f:
            f.write(text)
            f.flush()
            asked = [program, "capture", f.name, *more, *options]
            if show:
                print(f"{seed}: {words}\n{text[:2000]}\n", *frames, sep="\n", flush=True)
                subprocess.run(asked)
                continue
            done = subprocess.run(asked + ["--json"], text=True, capture_output=True)
        reads = [x for x in map(json.loads, done.stdout.splitlines()) if "bits" in x]
        verdicts = judge(frames, reads)
        if done.returncode > 1:
            verdicts = ["refused" if v == "missed" else v for v in verdicts]
        counts[sound].update(verdicts)
        bad = {"WRONG", "made up", "marginal", "refused"} | ({"missed", "doubtful", "no message"} if sound else set())
        if bad & set(verdicts):
            print(f"{seed}: {'sound' if sound else 'spoilt'}, {' '.join(verdicts)}: {words}")
            if "refused" in verdicts:
                print("   ", done.stderr.strip()[:300])
    for sound, count in counts.items():
        print("sound:" if sound else "spoilt:", dict(sorted(count.items())))


def main(first, last, program, show=False):
    ask(first, last, program, show, recording, judge, "--show-pins")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3], len(sys.argv) > 4)
