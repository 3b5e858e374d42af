"""Reads TOML with Python's tomllib. A question is {"text": TEXT}; the answer {"value": VALUE} or {"wrong": WHY}.

Integers become {"int": DIGITS}, since a reader of JSON may round them, and tell 1 from 1.0.
"""

import json
import sys

try:
    import tomllib
except ModuleNotFoundError:
    print("this python3 is older than 3.11 and has no tomllib", file=sys.stderr)
    sys.exit(3)


def plain(v):
    if isinstance(v, dict):
        return {k: plain(x) for k, x in v.items()}
    if isinstance(v, list):
        return [plain(x) for x in v]
    if isinstance(v, int) and not isinstance(v, bool):
        return {"int": str(v)}
    return v


for line in sys.stdin:
    try:
        print(json.dumps({"value": plain(tomllib.loads(json.loads(line)["text"]))}))
    except tomllib.TOMLDecodeError as e:
        print(json.dumps({"wrong": str(e)}))
