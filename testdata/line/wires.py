"""Writes the recordings of spoilt lines in this folder: what cables, contacts and readers do to a frame.

Run it here: python3 wires.py. The same files come out each time. It knows nothing of the program: a frame is a list of
falls (microsecond, wire, width), spoilt by hand. The card is the published 26-bit example, facility 212 and number 7041.
"""

import random

CARD = "11101010000011011100000010"
SECOND = "10111100100000000000100011"  # facility 121, number 17
random.seed(26)


def frame(bits, at=100000, pace=2000, wide=50):
    return [(at + i * pace, int(b), wide) for i, b in enumerate(bits)]


def changes(falls):
    """(microsecond, wire, level), in order of time; a wire is low while any fall holds it."""
    steps = sorted([(at, w, 1) for at, w, _ in falls] + [(at + wide, w, -1) for at, w, wide in falls])
    held, out = {}, []
    for at, wire, pull in steps:
        before = held.get(wire, 0)
        held[wire] = before + pull
        if (before > 0) != (held[wire] > 0):
            out.append((at, wire, 0 if held[wire] else 1))
    return out


def vcd(name, falls, names=("D0", "D1"), end=400000):
    with open(name, "w", encoding="ascii") as f:
        f.write("$timescale 1 us $end\n")
        for i, n in enumerate(names):
            f.write(f"$var wire 1 {chr(33 + i)} {n} $end\n")
        f.write("$enddefinitions $end\n#0\n" + "".join(f"1{chr(33 + i)}\n" for i in range(len(names))))
        for at, wire, level in changes(falls):
            f.write(f"#{at}\n{level}{chr(33 + wire)}\n")
        f.write(f"#{end}\n")


def scope(name, falls, step=40):
    """Volts of an open-collector line, sampled every few microseconds near its changes: down at once, slowly up, noise."""
    level, volts, rows, at, todo = [1, 1], [5.0, 5.0], [], 95000, changes(falls)
    while at < 157000:
        while todo and todo[0][0] <= at:
            _, wire, level[wire] = todo.pop(0)
        for w in (0, 1):
            volts[w] = 0.1 if not level[w] else volts[w] + (5 - volts[w]) * 0.8
        if not level[0] or not level[1] or at % 200 == 0 or min(volts) < 4.9:
            rows.append("%.6f,%.2f,%.2f" % (at / 1e6, *(v + random.gauss(0, 0.03) for v in volts)))
        at += step // 4
    with open(name, "w", encoding="ascii") as f:
        f.write("Time (s),CH1 (V),CH2 (V)\n" + "\n".join(rows) + "\n")


def samples(name, falls, step=50):
    """Levels alone, a sample a row; the rate stands in a remark."""
    level, todo = [1, 1], changes(falls)
    with open(name, "w", encoding="ascii") as f:
        f.write(f"# Sample rate: {1000 // step} kHz\nD0,D1\n")
        for at in range(95000, 157000, step):
            while todo and todo[0][0] <= at:
                _, wire, level[wire] = todo.pop(0)
            f.write("%d,%d\n" % tuple(level))


card = frame(CARD)
vcd("near.vcd", card + frame(SECOND, card[-1][0] + 30000))
vcd("bounce.vcd", card + [(at + 50 + random.randint(15, 30), w, 30) for at, w, _ in card])
vcd("cut.vcd", [f for f in card if f[1] == 0])
vcd("lost.vcd", [f for i, f in enumerate(card) if i != 6])
vcd("short.vcd", frame(CARD, wide=5))
vcd("readers.vcd", card + [(at + 77, w + 2, wide) for at, w, wide in frame(SECOND, 250000, 1500)],
    ("gate_d0", "gate_d1", "door_d0", "door_d1", "lock"))
vcd("channels.vcd", [(at, w + 2, wide) for at, w, wide in card], ("ch1", "ch2", "ch3", "ch4"))
scope("scope.csv", card)
samples("samples.csv", card)
