"""Writes a spreadsheet of the OpenDocument form with zipfile, by ISO/IEC 26300-1 clause 9 and 26300-3 clause 3, as far as a list needs it.

A question is {"path": FILE, "rows": [[CELL...]...]}, answered by {}. A cell is a text; or #VALUE|SHOWN, a number and how it is shown;
@DATE|SHOWN, a date; ?true or ?false. Cells and rows that are the same follow as one that is repeated, and a table ends as office programs
end it: with empty cells to its last column, and empty rows to its last row.
"""

import itertools
import json
import sys
import zipfile
from xml.sax.saxutils import escape

KINDS = "urn:oasis:names:tc:opendocument:xmlns:"
HEAD = (f'<?xml version="1.0" encoding="UTF-8"?><office:document-content xmlns:office="{KINDS}office:1.0" xmlns:table="{KINDS}table:1.0" '
        f'xmlns:text="{KINDS}text:1.0" xmlns:dc="http://purl.org/dc/elements/1.1/" office:version="1.2"><office:body><office:spreadsheet>'
        '<table:tracked-changes><table:deletion table:id="c1"><table:cell-content-deletion><table:change-track-table-cell office:value-type="string">'
        '<text:p>gone</text:p></table:change-track-table-cell></table:cell-content-deletion></table:deletion></table:tracked-changes>'
        '<table:table table:name="Staff"><table:table-column table:number-columns-repeated="16384"/>')
TAIL = "</table:table></office:spreadsheet></office:body></office:document-content>"


def paragraphs(s):
    return "".join(f"<text:p>{spaced(line)}</text:p>" for line in s.split("\n"))


def spaced(s):
    out, run = "", 0
    for c in s + "\0":
        if c == " ":
            run += 1
            continue
        if run:  # the first of several spaces is a sign, and so is none at the beginning
            out += f'<text:s text:c="{run}"/>' if run > 1 or not out else " "
            run = 0
        out += "" if c == "\0" else "<text:tab/>" if c == "\t" else escape(c)
    return out


def cell(c, times):
    more = f' table:number-columns-repeated="{times}"' if times > 1 else ""
    note = '<office:annotation><dc:creator>J</dc:creator><text:p>a remark 12345</text:p></office:annotation>' if len(c) % 5 == 4 else ""
    if c == "":
        return f"<table:table-cell{more}/>"
    if c[0] == "#":
        value, shown = c[1:].split("|")
        return f'<table:table-cell office:value-type="float" office:value="{value}"{more}>{note}{paragraphs(shown)}</table:table-cell>'
    if c[0] == "@":
        value, shown = c[1:].split("|")
        return f'<table:table-cell office:value-type="date" office:date-value="{value}"{more}>{note}{paragraphs(shown)}</table:table-cell>'
    if c[0] == "?":
        return f'<table:table-cell office:value-type="boolean" office:boolean-value="{c[1:]}"{more}><text:p>{c[1:].upper()}</text:p></table:table-cell>'
    return f'<table:table-cell office:value-type="string"{more}>{note}{paragraphs(c)}</table:table-cell>'


def write(path, rows):
    body = ""
    for row, same in itertools.groupby(rows):
        times = len(list(same))
        more = f' table:number-rows-repeated="{times}"' if times > 1 else ""
        cells = "".join(cell(c, len(list(run))) for c, run in itertools.groupby(row))
        body += f"<table:table-row{more}>{cells}" + f'<table:table-cell table:number-columns-repeated="{16384 - len(row)}"/></table:table-row>'
    body += '<table:table-row table:number-rows-repeated="1048000"><table:table-cell table:number-columns-repeated="16384"/></table:table-row>'
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as z:
        z.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet", zipfile.ZIP_STORED)
        z.writestr("content.xml", HEAD + body + TAIL)


for line in sys.stdin:
    question = json.loads(line)
    write(question["path"], question["rows"])
    print("{}")
