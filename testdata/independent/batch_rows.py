"""Judges what batch made of a CSV list of 26-bit cards written as facility and number, by Python's own csv module: that no row is lost, made
up or moved, and that every number that was converted is facility * 65536 + number, the 24 data bits of the published 26-bit standard.

A question is {"in", "out", "rejects": FILE or "", "delimiter", "encoding", "card": COLUMN from 0, "report": what batch printed as JSON};
the answer {"wrong": what is wrong, "" where nothing is}.
"""

import csv
import io
import json
import re
import sys

PAIR = re.compile(r"\s*(\d{1,3})[,/-](\d{1,5})\s*$")


def table(path, delimiter, encoding):
    """The rows of a file with the line in which each begins; a line with nothing on it is a row without cells."""
    with open(path, "rb") as f:
        text = f.read().decode(encoding)
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), delimiter=delimiter, strict=True)
    rows, line = [], 1
    for row in reader:
        rows.append((line, row))
        line = reader.line_num + 1
    return rows


def same(was, now):
    """Whether a cell was passed on: as it was, or with the sign before it that keeps a spreadsheet from running it."""
    return was == now or now == "'" + was


def judge(q):
    rows = table(q["in"], q["delimiter"], q["encoding"])
    report = q["report"]
    if report["rows"] != report["converted"] + report["rejected"] + report["other"]:
        return "the counts do not add up"
    if report["rows"] != len(rows) - 1:
        return f"{report['rows']} rows of {len(rows) - 1} are counted"
    given = dict(rows)
    rejected = table(q["rejects"], q["delimiter"], q["encoding"])[1:] if q["rejects"] else []
    gone = {o["line"] for o in report.get("others", []) if o.get("left_out")}
    for _, (line, reason, *cells) in rejected:
        line = int(line)
        if line in gone or line not in given or not reason:
            return f"reject of line {line}: twice, or not there, or without a reason"
        if len(cells) != len(given[line]) or not all(map(same, given[line], cells)):
            return f"reject of line {line}: other cells than it had"
        gone.add(line)
    left = [(line, row) for line, row in rows if line not in gone]
    out = table(q["out"], q["delimiter"], q["encoding"])
    if len(left) != len(out):
        return f"{len(out)} rows in the output, where {len(left)} are neither rejected nor left out"
    other = {o["line"] for o in report.get("others", [])}
    converted = 0
    for (line, was), (_, now) in zip(left, out):
        if not all(map(same, was, now)):
            return f"line {line}: {was} has become {now}"
        if line in other:
            if len(now) != len(was):
                return f"line {line}: a cell more in a row that is no cardholder"
            continue
        if len(now) != len(was) + 1:
            return f"line {line}: {len(now)} cells of {len(was)}"
        if now[-1] == "decimal":
            continue
        converted += 1
        pair = PAIR.match(was[q["card"]])
        if pair and int(pair[1]) * 65536 + int(pair[2]) != int(now[-1]):
            return f"line {line}: {was[q['card']]} has become {now[-1]}"
        if pair and (int(pair[1]) > 255 or int(pair[2]) > 65535):
            return f"line {line}: {was[q['card']]} is no card of 8 and 16 bits"
    if converted != report["converted"] or len(rejected) != report["rejected"] or len(other) != report["other"]:
        return "the counts are not those of the files"
    return ""


for question in sys.stdin:
    print(json.dumps({"wrong": judge(json.loads(question))}))
