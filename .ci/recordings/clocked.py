#!/usr/bin/env python3
"""Asks capture about recordings of clock and data, and judges each answer by what was really sent.

    go build -o /tmp/cardtell ./cmd/cardtell
    .ci/recordings/clocked.py 0 500 /tmp/cardtell        seeds 0 to 499
    .ci/recordings/clocked.py 17 18 /tmp/cardtell show   one of them: the recording, what was sent and what was answered

As recordings.py, whose recorders and verdicts it uses, but with messages of track 2 (ISO/IEC 7811-2): right is the message that
was sent, WRONG another one said to be healthy or marginal, and no message none, and suspect. DATA is low for a 1 and keeps its level while CLOCK is low.
"""

import random
import sys

sys.dont_write_bytecode = True
import recordings  # noqa: E402

TROUBLES = ["none"] * 8 + ["missing", "extra", "echo", "ringing", "glitches", "data glitches", "crosstalk", "late data", "early data",
                           "flip", "begun", "ended", "swing", "stuck", "half"]
NAMES = [("CLOCK", "DATA"), ("CLK", "DATA"), ("clk", "data"), ("Clock", "Data"), ("CH1", "CH2"), ("strobe", "data"), ("SCLK", "SDATA"),
         ("CLOCK (yellow)", "DATA (white)"), ("C", "D")]


def message(r):
    """A message as text, and its bits without clocking zeros."""
    text = ";" + "".join(r.choice("0123456789") for _ in range(r.choice([4, 5, 8, 10, 13, 16, r.randrange(1, 37)])))
    if r.random() < 0.3 and len(text) < 30:
        text += "=" + "".join(r.choice("0123456789") for _ in range(r.randrange(1, 7)))
    text += "?"
    codes = [ord(c) - 48 for c in text]
    lrc = 0
    for c in codes:
        lrc ^= c
    bits = ""
    for c in codes + [lrc]:
        data = [c >> k & 1 for k in range(4)]
        bits += "".join(map(str, data + [1 - sum(data) % 2]))
    return text, bits


def spoil(r, trouble, clocks, data, pace, width):
    """Spoils the pulses of CLOCK [from, to] and of DATA [from, to]."""
    k = r.randrange(1, len(clocks) - 1)
    if trouble == "missing":
        del clocks[k:k + r.choice([1, 1, 2])]
    elif trouble == "extra":
        at = clocks[k][0] + r.uniform(0.3, 0.7) * pace
        clocks.append([at, at + width * r.choice([1, 0.5])])
    elif trouble == "echo":
        late, share = r.uniform(0.1, 0.6) * pace, r.choice([1, 0.5, 0.1])
        clocks += [[a + late, b + late] for a, b in clocks if r.random() < share]
    elif trouble == "ringing":
        clocks += [[b + i * r.uniform(4, 9) + 2, b + i * 9 + r.uniform(4, 8)] for a, b in clocks for i in range(r.randint(1, 2))]
    elif trouble == "glitches":
        clocks += [[at, at + r.uniform(0.5, r.choice([5, 12, 30]))]
                   for at in (r.uniform(clocks[0][0], clocks[-1][0]) for _ in range(r.randint(1, 6)))]
    elif trouble == "data glitches":
        data += [[at, at + r.uniform(0.5, r.choice([5, 12, 30]))]
                 for at in (r.uniform(clocks[0][0], clocks[-1][0]) for _ in range(r.randint(1, 12)))]
    elif trouble == "crosstalk":  # edges of the data show on the clock
        clocks += [[at, at + r.uniform(1, 12)] for a, b in data for at in (a, b)]
    elif trouble in ("late data", "early data"):  # it does not keep its level while the clock is low
        move = (1 if trouble == "late data" else -1) * r.uniform(0.1, 0.8) * width
        data[:] = [[a + move, b + move] for a, b in data]
    elif trouble == "flip":  # the level of one bit
        data.append([clocks[k][0] - pace * 0.2, clocks[k][1] + pace * 0.1])
    elif trouble == "swing":  # a hand draws the card, slowly or fast
        slow = r.uniform(1.3, 3)
        half = clocks[len(clocks) // 2][0]
        for p in clocks + data:
            p[:] = [x if x < half else half + (x - half) * slow for x in p]
    elif trouble == "stuck":  # DATA stays low from here on
        data.append([clocks[k][0] - pace * 0.3, clocks[-1][1] + pace])
    elif trouble == "half":
        del clocks[k:]


def line(r):
    """Frames [text, from, to], low times of CLOCK and DATA, the end, whether it is sound, and words."""
    pace = 150 * 20 ** r.random()
    width = 40 if r.random() < 0.3 and pace > 90 else r.uniform(0.25, 0.5) * pace
    lead = r.uniform(0.02, 0.45) * (pace - width)  # DATA changes so long before CLOCK falls
    jitter, trouble = r.choice([0, 0, 0.01, 0.05]), r.choice(TROUBLES)
    frames, lows, now = [], [[], []], r.uniform(50e3, 300e3)
    for _ in range(r.choice([1, 1, 2, 3])):
        text, bits = message(r)
        bits = "0" * r.choice([0, 5, 10, 16, 25]) + bits + "0" * r.choice([0, 5, 10, 16])
        if r.random() < 0.1:
            bits = bits[::-1]
        clocks, data, begun = [], [], now
        for bit in bits:
            at = now + r.uniform(-jitter, jitter) / 2 * pace
            clocks.append([at, at + width])
            if bit == "1":
                data.append([at - lead, at - lead + pace])
            now += pace
        if trouble != "none" and r.random() < 0.8:
            spoil(r, trouble, clocks, data, pace, width)
        lows[0] += clocks
        lows[1] += data
        frames.append([text, begun, max(now, max(b for _, b in clocks))])
        now = frames[-1][2] + r.choice([r.uniform(70e3, 150e3), r.uniform(300e3, 900e3)])
    end = now
    if trouble == "begun":
        skip = frames[0][1] + pace * r.uniform(0.5, len(bits) - 0.5)
        lows = [[[max(0, a - skip), b - skip] for a, b in wire if b > skip] for wire in lows]
        end, frames = end - skip, [[t, a - skip, b - skip] for t, a, b in frames]
    elif trouble == "ended":
        end = frames[-1][1] + pace * r.uniform(1.5, len(bits) - 0.5)
        lows = [[[a, min(b, end)] for a, b in wire if a < end] for wire in lows]
    joined = [[], []]
    for wire in (0, 1):
        for a, b in sorted(lows[wire]):
            if joined[wire] and a <= joined[wire][-1][1]:
                joined[wire][-1][1] = max(joined[wire][-1][1], b)
            else:
                joined[wire].append([a, b])
    return frames, joined, end, min(width, pace - width, lead), trouble, \
        f"every {pace:.0f} us, clock {width:.0f}, data {lead:.0f} before, jitter {jitter}, trouble {trouble}"


def recording(seed):
    """Frames, the text of the recording, options for capture, whether the line is sound and shows all, and words."""
    r = random.Random(seed)
    frames, lows, end, least, trouble, words = line(r)
    period, invert, names = r.choice([1, 1, 2, 5, 10, 20]), r.random() < 0.15, r.choice(NAMES)
    if names[0] in ("CH1", "C") and r.random() < 0.5:
        lows, names = lows[::-1], names[::-1]
    changes = recordings.sampled(lows, period, end)
    if invert:
        changes = {t: [1 - v for v in levels] for t, levels in changes.items()}
    if r.random() < 0.4:
        text, options, shape = recordings.vcd(r, changes, period, end, names)
    else:
        text, options, shape = recordings.csv(r, lows, changes, period, end, names, invert)
    if options:
        options = ["--clock", "bus[0]", "--data", "bus[1]"]
        if names[0] in ("CH2", "D"):
            options[1], options[3] = options[3], options[1]
    elif names[0] in ("CH1", "C", "CH2", "D") and r.random() < 0.5:  # else they are to be found
        swapped = names[0] in ("CH2", "D")
        options = ["--clock", names[swapped], "--data", names[1 - swapped]]
    return frames, text, options, trouble == "none" and least >= 3 * period and least > 12, \
        f"{words}; sampled {period} us, inverted {invert}, {names}, {shape}"


def judge(frames, reads):
    """What became of each frame, and of the reads that are none."""
    left, verdicts = list(reads), []
    for text, begun, ended in frames:
        mine = [x for x in left if begun - 3000 <= x["time_s"] * 1e6 <= ended]
        left = [x for x in left if x not in mine]
        good = [x for x in mine if x["verdict"] != "suspect"]
        if not mine:
            verdicts.append("missed")
        elif not good:
            verdicts.append("doubtful" if any(x.get("track2") == text for x in mine) else "no message")
        elif [x.get("track2") for x in good] == [text]:
            verdicts.append("right")
        else:
            verdicts.append("marginal" if any(x["verdict"] == "marginal" for x in good) else "WRONG")
    return verdicts + ["made up" for x in left if x["verdict"] != "suspect"]


def main(first, last, program, show=False):
    recordings.ask(first, last, program, show, recording, judge)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3], len(sys.argv) > 4)
