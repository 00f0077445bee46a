"""Reads a record's PDF with pypdf and looks for what PDF/UA-1 (ISO 14289-1) asks and a program can see.

usage: record_tags.py RECORD.pdf

Marked as tagged and as PDF/UA in its metadata, a language, a title that is shown, every figure with words in its stead,
headings that skip no level, tables of rows of cells, nothing on a page that is neither tagged nor marked as an
artifact, and every font embedded with a way back to Unicode. Prints what is wrong, a line each; exit code 0 when nothing is.
"""

import re
import sys
from collections import Counter

from pypdf import PdfReader
from pypdf.generic import ArrayObject, ContentStream, DictionaryObject

PAINTS = {b"Tj", b"TJ", b"'", b'"', b"S", b"s", b"f", b"F", b"f*", b"B", b"B*", b"b", b"b*", b"sh", b"Do"}
INSIDE = {"/Table": {"/TR", "/THead", "/TBody", "/Caption"}, "/TR": {"/TH", "/TD"}, "/L": {"/LI", "/Caption"}}


def elements(node, parent):
    """Every structure element with the kind of its parent."""
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, ArrayObject):
        for child in node:
            yield from elements(child, parent)
    elif isinstance(node, DictionaryObject) and "/S" in node:
        yield node, parent
        if "/K" in node:
            yield from elements(node["/K"], node["/S"])


def structure(root):
    kinds = Counter()
    level = 0
    for element, parent in elements(root["/StructTreeRoot"]["/K"], None):
        kind = element["/S"]
        kinds[kind] += 1
        if kind == "/Figure" and not str(element.get("/Alt", "")).strip():
            yield "a figure has no words in its stead"
        if parent in INSIDE and kind not in INSIDE[parent]:
            yield f"{kind} stands in {parent}"
        if found := re.fullmatch(r"/H(\d)", kind):
            now = int(found[1])
            if now > level + 1:
                yield f"a heading of level {now} follows one of level {level}"
            level = now
    for kind in ("/Document", "/H1", "/Figure", "/Table", "/TH", "/L", "/P"):
        if not kinds[kind]:
            yield f"there is no {kind}"


def catalogue(reader):
    root = reader.trailer["/Root"]
    if not root.get("/MarkInfo", {}).get("/Marked"):
        yield "it is not marked as tagged"
    if not root.get("/Lang"):
        yield "it names no language"
    if not root.get("/ViewerPreferences", {}).get("/DisplayDocTitle"):
        yield "its title is not shown"
    metadata = root["/Metadata"].get_data().decode()
    if not re.search(r"pdfuaid:part(=\"1\"|>1<)", metadata):
        yield "its metadata do not say PDF/UA-1"
    if "dc:title" not in metadata:
        yield "its metadata have no title"


def page(number, page, reader):
    if page.get("/Tabs") != "/S":
        yield f"page {number}: the order of tabs is not that of the structure"
    if "/StructParents" not in page:
        yield f"page {number}: its content leads to no structure"
    depth = 0
    for operands, operator in ContentStream(page.get_contents(), reader).operations:
        if operator in (b"BDC", b"BMC"):
            depth += 1
        elif operator == b"EMC":
            depth -= 1
        elif operator in PAINTS and depth == 0:
            yield f"page {number}: {operator.decode()} paints what is neither tagged nor an artifact"
            break
    for name, font in page["/Resources"].get("/Font", {}).items():
        font = font.get_object()
        inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
        described = inner["/FontDescriptor"]
        if not any(key in described for key in ("/FontFile", "/FontFile2", "/FontFile3")):
            yield f"page {number}: font {name} is not embedded"
        if "/ToUnicode" not in font:
            yield f"page {number}: font {name} has no way back to Unicode"


def main():
    reader = PdfReader(sys.argv[1], strict=True)
    wrong = list(catalogue(reader)) + list(structure(reader.trailer["/Root"]))
    for number, one in enumerate(reader.pages, 1):
        wrong += page(number, one, reader)
    for line in wrong:
        print(line)
    return 1 if wrong else 0


sys.exit(main())
