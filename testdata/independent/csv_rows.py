"""Reads and writes CSV with Python's csv module.

A question is {"text": TEXT} or {"rows": [[CELL...]...]}, with the dialect: "delimiter", "quote", "escape" (a backslash before
a quote instead of two quotes), "quoting" (minimal, all, text) and "end" (of lines). The answer is {"rows": ...} or {"wrong":
WHY}, or {"text": ...}.
"""

import csv
import io
import json
import sys

QUOTING = {"minimal": csv.QUOTE_MINIMAL, "all": csv.QUOTE_ALL, "text": csv.QUOTE_NONNUMERIC}


def answer(q):
    dialect = {"delimiter": q["delimiter"], "quotechar": q["quote"], "doublequote": not q["escape"],
               "escapechar": "\\" if q["escape"] else None, "strict": True}
    if "text" in q:
        try:
            return {"rows": list(csv.reader(io.StringIO(q["text"], newline=""), **dialect))}
        except csv.Error as e:
            return {"wrong": str(e)}
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=QUOTING[q["quoting"]], lineterminator=q["end"], **dialect)
    for row in q["rows"]:
        # The module takes a number for one only where it is one, and not a text of digits.
        writer.writerow([int(c) if q["quoting"] == "text" and c.isdecimal() and str(int(c)) == c else c for c in row])
    return {"text": out.getvalue()}


for line in sys.stdin:
    print(json.dumps(answer(json.loads(line))))
