"""Takes packets of the open supervised device protocol apart, byte by byte, after the public documentation of SIA OSDP 2.2.

The CRC is binascii.crc_hqx: polynomial 0x1021, from 0x1D0F as SIA OSDP annex C has it. A question is {"bytes": HEX}; the
answer says what the packet holds, or {"wrong": WHY}.
"""

import binascii
import json
import sys


def take(p):
    if len(p) < 7 or p[0] != 0x53:
        return {"wrong": "no packet"}
    length = p[2] + 256 * p[3]
    control = p[4]
    crc = control & 4 != 0
    if length != len(p):
        return {"wrong": "length"}
    if crc:
        body, end = p[:-2], p[-2] + 256 * p[-1]
        if binascii.crc_hqx(body, 0x1D0F) != end:
            return {"wrong": "check"}
    else:
        body = p[:-1]
        if sum(p) % 256 != 0:
            return {"wrong": "check"}
    body = body[5:]
    security, block = 0, b""
    if control & 8:
        security, block, body = body[1], body[2:body[0]], body[body[0]:]
        body = body[:-4] if security >= 0x15 else body  # the message authentication code
    return {"address": p[1] & 0x7F, "reply": p[1] >= 0x80, "sequence": control & 3, "crc": crc, "security": security,
            "block": block.hex(), "code": body[0], "data": body[1:].hex()}


for line in sys.stdin:
    print(json.dumps(take(bytes.fromhex(json.loads(line)["bytes"]))))
