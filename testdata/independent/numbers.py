"""Writes card numbers as they are printed, from the values of binary fields; after public questions and answers on the numbers
that stand on tags, and ISO/IEC 14443-3 on the two byte orders of a serial.

A question is {"fields": [[NAME, BITS, VALUE]...]}, most significant field first; the answer has a text for each form that such a
card can have.
"""

import json
import sys


def digits(bits):
    """How many decimal digits a field of so many bits can need."""
    return len(str(2 ** bits - 1))


def forms(fields):
    values = {name: value for name, _, value in fields}
    sizes = {name: bits for name, bits, _ in fields}
    width, data = 0, 0
    for _, bits, value in fields:
        width, data = width + bits, data * 2 ** bits + value
    texts = {
        "decimal": f"{data}", "decimal10": f"{data:010d}",
        "hex": data.to_bytes((width + 7) // 8, "big").hex().upper(),
    }
    if width <= 32:
        texts["words"] = f"{data // 65536:05d},{data % 65536:05d}"
    if "number" in values:
        number, size = values["number"], sizes["number"]
        texts["number"], texts["number10"] = f"{number}", f"{number:010d}"
        if size >= 24:  # the 24 low bits: one byte and two
            low = number % 2 ** 24
            texts["pair24"] = f"{low // 65536:03d},{low % 65536:05d}"
            texts["joined24"] = texts["pair24"].replace(",", "")
        if size > 24:
            texts["number24"] = f"{low}"
        if size in (32, 40, 56, 64, 80):
            serial = number.to_bytes(size // 8, "big")
            texts["uid"], texts["uid-reversed"] = serial.hex(":").upper(), serial[::-1].hex(":").upper()
            texts["uid-decimal"], texts["uid-reversed-decimal"] = f"{number}", f"{int.from_bytes(serial, 'little')}"
        if "facility" in values:
            facility = str(values["facility"]).rjust(digits(sizes["facility"]), "0")
            texts["pair"] = facility + "," + str(number).rjust(digits(size), "0")
            texts["joined"] = texts["pair"].replace(",", "")
    return texts


for line in sys.stdin:
    print(json.dumps(forms(json.loads(line)["fields"])))
