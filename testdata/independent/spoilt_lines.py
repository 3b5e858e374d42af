"""Simulates two wires of readers and what cables, contacts and recorders do to them.

A question is {"seed": N}. A bit is a low pulse, of DATA0 for 0 and of DATA1 for 1 (the two-wire signal standard, SIA
AC-01-1996.10). The answer is {"what": NAME, "vcd": TEXT, "frames": [{"bits", "from", "to", "state", "lost"}...]}: times
in microseconds; state is "whole" where what was sent can be read, "lost" where the pulses at the places in lost are
missing and the pace says where, "turned" where a bit came on the other wire in time, which nothing shows, and else
"spoilt".
"""

import json
import random
import sys

WAYS = ["clean", "lost", "bounce", "spikes", "near", "slow", "turned", "double", "between", "begun", "held"]
CLOCKS = [("10 us", 10, 1), ("1 us", 1, 1), ("100 ns", 0.5, 5), ("1 ns", 0.125, 125), ("1 ns", 1 / 24, 1000 / 24)]


def frame(rnd, shortest):
    n = rnd.choice([n for n in (4, 8, 26, 26, 32, 34, 37, 56) if n >= shortest])
    while True:
        bits = "".join(rnd.choice("01") for _ in range(n))
        if "0" in bits and "1" in bits:
            return bits


def spoil(rnd, way, sent, pace, wide, bits):
    """Spoils the pulses [at, width, wire] of a frame and says what is left of it."""
    k = rnd.randrange(1, len(sent) - 1)
    if way == "bounce":
        sent += [[at + width + 5, 4, wire] for at, width, wire in sent]
    elif way == "spikes":
        sent += [[rnd.uniform(sent[0][0], sent[-1][0]), rnd.uniform(0.3, 2), rnd.randrange(2)] for _ in range(4)]
    elif way in ("clean", "near", "slow", "begun") or rnd.random() < 0.4:
        return "whole", []
    elif way == "lost":
        lost = sorted(rnd.sample(range(1, len(sent) - 1), rnd.choice([1, 1, 2])))
        sent[:] = [p for i, p in enumerate(sent) if i not in lost]
        return "lost", lost
    elif way == "turned":
        sent[k][2] ^= 1
        return "turned", []
    elif way == "double":
        sent.append([sent[k][0] + 0.02 * pace, wide, 1 - sent[k][2]])
        return "spoilt", []
    elif way == "between":
        sent.append([sent[k][0] + rnd.uniform(0.3, 0.7) * pace, wide, rnd.randrange(2)])
        return "spoilt", []
    elif way == "held":
        sent[k][1] = pace * rnd.uniform(1.2, 2.5)
        return "spoilt", []
    return "whole", []


def recorded(pulses, end, clock):
    """A recording with a clock: what is low at a tick is low until the next one."""
    scale, tick, times = clock
    changes = []
    for wire, name in enumerate("ab"):
        runs = []
        for at, width, _ in sorted(p for p in pulses if p[2] == wire):
            if runs and at <= runs[-1][1]:
                runs[-1][1] = max(runs[-1][1], at + width)
            else:
                runs.append([at, at + width])
        for run in runs:
            low, high = (max(0, -int(-t / tick // 1)) for t in run)
            changes += [(low, f"0{name}"), (high, f"1{name}")] if low < high else []
    text = f"$timescale {scale} $end\n$var wire 1 a DATA0 $end\n$var wire 1 b DATA1 $end\n$enddefinitions $end\n#0\n1a\n1b\n"
    last = 0
    for at, change in sorted(changes):
        text += (f"#{round(at * times)}\n" if at != last else "") + change + "\n"
        last = at
    return text + f"#{round(end / tick * times)}\n"


def answer(q):
    rnd = random.Random(q["seed"])
    way = rnd.choice(WAYS)
    pace = rnd.choice([rnd.uniform(250, 400), rnd.uniform(700, 2200), rnd.uniform(3000, 6000)])
    jitter, wide, clock = rnd.choice([0, 0.01, 0.05]), rnd.uniform(45, 100), rnd.choice(CLOCKS)
    if way == "slow":
        pace = rnd.uniform(9000, 18000)
    if way == "near":
        pace = min(pace, 2200)
    pulses, frames, now = [], [], 60000
    for _ in range(rnd.randrange(2, 5)):
        bits, begun = frame(rnd, 26 if way in ("lost", "double", "between", "held") else 4), now
        sent = []
        for bit in bits:
            sent.append([now, wide, int(bit)])
            now += pace * (1 + rnd.uniform(-jitter, jitter) / 2)
        state, lost = spoil(rnd, way, sent, pace, wide, bits)
        pulses += sent
        frames.append({"bits": bits, "from": begun, "to": now, "state": state, "lost": lost})
        now += rnd.uniform(25000, 50000) if way == "near" else rnd.uniform(300000, 900000)
    if way == "begun":  # the recording begins within the first frame
        skip = pace * rnd.uniform(2, len(frames[0]["bits"]) - 1)
        pulses = [[p[0] - skip - 60000, *p[1:]] for p in pulses if p[0] > skip + 60000]
        for f in frames:
            f["from"], f["to"] = f["from"] - skip - 60000, f["to"] - skip - 60000
        frames[0]["state"], now = "spoilt", now - skip - 60000
    return {"what": way, "vcd": recorded(pulses, now + 100000, clock), "frames": frames}


for line in sys.stdin:
    print(json.dumps(answer(json.loads(line))))
