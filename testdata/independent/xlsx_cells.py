"""Reads and writes the first sheet of a workbook with zipfile and xml.etree, by ECMA-376 part 1, clause 18, as far as a list
needs it: texts (shared or in the cell) and numbers.

A question is {"path": FILE}, answered by {"rows": [[CELL...]...]}; or {"path": FILE, "rows": [[CELL...]...]}, which writes
the file: a cell that begins with # as the number behind it, any other as text, by turns shared and in the cell.
"""

import json
import re
import sys
import zipfile
from xml.etree import ElementTree
from xml.sax.saxutils import escape

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006/"
M = "{" + MAIN + "}"


ESCAPED = re.compile("_x([0-9A-F]{4})_")  # a character by its number, clause 22.9.2.19


def text(e):
    """The runs of a text, one after the other; not the readings printed above it."""
    runs = "".join(t.text or "" for t in e.findall(f"{M}t") + e.findall(f"{M}r/{M}t"))
    return ESCAPED.sub(lambda m: chr(int(m.group(1), 16)), runs)


def element(s):
    s = ESCAPED.sub(r"_x005F_x\1_", s).replace("\t", "_x0009_")
    return f'<t xml:space="preserve">{escape(s)}</t>'


def column(reference):
    n = 0
    for c in re.match("[A-Z]+", reference).group():
        n = 26 * n + ord(c) - ord("A") + 1
    return n


def read(path):
    with zipfile.ZipFile(path) as z:
        parts = set(z.namelist())
        book = ElementTree.fromstring(z.read("xl/workbook.xml"))
        relations = ElementTree.fromstring(z.read("xl/_rels/workbook.xml.rels"))
        target = {r.get("Id"): r.get("Target") for r in relations}[book.find(f"{M}sheets/{M}sheet").get(f"{{{OFFICE}}}id")]
        shared = []
        if "xl/sharedStrings.xml" in parts:
            shared = [text(si) for si in ElementTree.fromstring(z.read("xl/sharedStrings.xml")).findall(f"{M}si")]
        sheet = ElementTree.fromstring(z.read(target.lstrip("/") if target.startswith("/") else "xl/" + target))
    rows = []
    for row in sheet.find(f"{M}sheetData"):
        while len(rows) < int(row.get("r")) - 1:
            rows.append([])
        cells = []
        for c in row:
            cells += [""] * (column(c.get("r")) - 1 - len(cells))
            kind, value = c.get("t", "n"), c.findtext(f"{M}v") or ""
            cells.append(shared[int(value)] if kind == "s" else text(c.find(f"{M}is")) if kind == "inlineStr" else value)
        rows.append(cells)
    return {"rows": rows}


def write(path, rows):
    shared, lines, n = [], [], 0
    for i, row in enumerate(rows, 1):
        cells = ""
        for k, cell in enumerate(row):
            at = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[k] + str(i)
            if cell.startswith("#"):
                cells += f'<c r="{at}"><v>{cell[1:]}</v></c>'
            elif cell and n % 2:
                cells += f'<c r="{at}" t="s"><v>{len(shared)}</v></c>'
                shared.append(f'<si>{element(cell)}</si>')
            elif cell:
                cells += f'<c r="{at}" t="inlineStr"><is>{element(cell)}</is></c>'
            n += 1
        lines.append(f'<row r="{i}">{cells}</row>')
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as z:
        sheet = "application/vnd.openxmlformats-officedocument.spreadsheetml."
        z.writestr("[Content_Types].xml", f'<Types xmlns="{PACKAGE}content-types">'
                   '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
                   '<Default Extension="xml" ContentType="application/xml"/>'
                   f'<Override PartName="/xl/workbook.xml" ContentType="{sheet}sheet.main+xml"/>'
                   f'<Override PartName="/xl/sharedStrings.xml" ContentType="{sheet}sharedStrings+xml"/>'
                   f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{sheet}worksheet+xml"/></Types>')
        z.writestr("_rels/.rels", f'<Relationships xmlns="{PACKAGE}relationships">'
                   f'<Relationship Id="rId1" Type="{OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>')
        z.writestr("xl/workbook.xml", f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}">'
                   '<sheets><sheet name="Cards" sheetId="1" r:id="rId1"/></sheets></workbook>')
        z.writestr("xl/_rels/workbook.xml.rels", f'<Relationships xmlns="{PACKAGE}relationships">'
                   f'<Relationship Id="rId1" Type="{OFFICE}/worksheet" Target="worksheets/sheet1.xml"/>'
                   f'<Relationship Id="rId2" Type="{OFFICE}/sharedStrings" Target="sharedStrings.xml"/></Relationships>')
        z.writestr("xl/sharedStrings.xml", f'<sst xmlns="{MAIN}">{"".join(shared)}</sst>')
        z.writestr("xl/worksheets/sheet1.xml", f'<worksheet xmlns="{MAIN}"><sheetData>{"".join(lines)}</sheetData></worksheet>')
    return {"rows": rows}


for line in sys.stdin:
    q = json.loads(line)
    print(json.dumps(write(q["path"], q["rows"]) if "rows" in q else read(q["path"])))
