#!/usr/bin/env python3
"""Asks identify and learn about cards of two or three kinds of one length, and prints where they are wrong or disagree.

    go build -o /tmp/cardtell ./cmd/cardtell
    .ci/sites/mixed.py 0 500 /tmp/cardtell        seeds 0 to 499
    .ci/sites/mixed.py 17 18 /tmp/cardtell show   one of them, with what was asked and answered

Each kind is printed in a way of its own, or not at all. A number of identify is judged as together.py does. A format that learn
names is wrong if no kind has it: of numbers with turned bytes it can name one that is as good. They disagree where one gives a
format above 0.9 to a kind with so many cards and the other 0.1 less; learn counts formats together that say the same of numbers.
"""

import collections
import json
import random
import subprocess
import sys

sys.dont_write_bytecode = True
import sites  # noqa: E402
import together  # noqa: E402

LENGTHS = collections.defaultdict(list)
for one in sites.SITES:
    LENGTHS[one[1]].append(one)


def kind(r, length, n):
    """Cards of one kind in words, and of each its format, data and text."""
    name, _, facility, number, _ = r.choices(LENGTHS[length], [s[-1] for s in LENGTHS[length]])[0]
    values, _ = sites.numbers(r, number, n, sites.is_serial(name))
    f = r.randrange(min(1 << facility, 10 ** r.randint(2, 5))) if facility else 0
    ways = sites.prints(r, facility, number)
    printed, cards = r.choice(list(ways)), []
    for i, v in enumerate(values):
        data = f << number | v
        text = ways[printed](f, v, data, i)
        cards.append((name, data, "bits:" + together.put(name, f, v) + (f"={text}" if text else "")))
    return f"{n} {name} {printed}", cards


def site(seed):
    r = random.Random(seed)
    length = r.choice([26, 26, 26, 32, 32, 34, 34, 24, 56, 35, 37])
    kinds = [kind(r, length, r.choice([3, 4, 6, 8, 12])) for _ in range(r.choice([2, 2, 2, 3]))]
    cards = list({card[2].split("=")[0]: card for _, some in kinds for card in some}.values())
    r.shuffle(cards)
    return "; ".join(words for words, _ in kinds), cards


def asked(program, command, texts):
    done = subprocess.run([program, command, "--json", *texts], capture_output=True, text=True)
    return json.loads(done.stdout) if done.returncode < 2 else None


def main(first, last, program, show=False):
    count = collections.Counter()
    for seed in range(first, last):
        words, cards = site(seed)
        texts = [text for _, _, text in cards]
        if show:
            print(f"{seed}: {words}", *texts, sep="\n", flush=True)
            for command in ("identify", "learn"):
                subprocess.run([program, command, *texts])
            continue
        answer, learned = asked(program, "identify", texts), asked(program, "learn", texts)
        for place, (name, data, text) in enumerate(cards):
            p, stated = together.likeliest(answer, place, name, data)
            for limit in (0.9, 0.99):
                count[f"above {limit}"] += p > limit
                count[f"above {limit} and wrong"] += p > limit and stated != "right"
            if p > 0.9 and stated != "right":
                print(f"{seed}: {p:.4f} {text} is {stated}, not {name} {data}, for {words}")
        if learned is None:  # a number in hex that 64 bits do not hold
            continue
        kinds, layouts = answer.get("populations", [answer]), [learned] + learned.get("others", [])
        for one in layouts:
            known = [k["format"] for k in one.get("known", ())]
            if not known:
                continue
            p, right = one["probability"], bool({name for name, _, _ in cards} & set(known))
            for limit in (0.9, 0.99):
                count[f"learned above {limit}"] += p > limit
                count[f"learned above {limit} and wrong"] += p > limit and not right
            if p > 0.9 and not right:
                print(f"{seed}: {p:.4f} {known[0]} of {one['reads']} cards, for {words}")
            same = [k for k in kinds if len(k.get("given", texts)) == one["reads"]]
            if len(same) == 1 and [o["reads"] for o in layouts].count(one["reads"]) == 1:
                own = sum(c["probability"] for c in same[0]["candidates"] if c.get("format") in known)
                count["compared"] += 1
                if max(p, own) > 0.9 and abs(p - own) > 0.1:
                    count["disagree"] += 1
                    print(f"{seed}: {known[0]} is {p:.4f} to learn and {own:.4f} to identify, for {words}")
    print(dict(sorted(count.items())))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3], len(sys.argv) > 4)
