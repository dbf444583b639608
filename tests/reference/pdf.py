"""Looks through a tagged PDF with pypdf (PyPI) and prints what it found as JSON.

pdf.py FILE: "faults" are breaches of what ISO 14289-1 (PDF/UA-1) asks for and a program can see: content that is
neither tagged nor an artifact, tags that belong to no element or to two, figures without words, headings that leave
a level out, letters that are not embedded or have no Unicode, no title, no language. "elements" are the elements in
the order in which they are read, each with its role, its alternative text, and the language where it is another.
"""

import json
import sys

from pypdf import PdfReader
from pypdf.generic import ContentStream, IndirectObject

# What paints or shows (ISO 32000-1, annex A).
PAINTING = {b"S", b"s", b"f", b"F", b"f*", b"B", b"B*", b"b", b"b*", b"Tj", b"TJ", b"'", b'"', b"Do", b"sh", b"EI"}


def marks(page, reader, faults):
    """The ids of tagged content on a page; tells of content that is neither tagged nor an artifact."""
    found, open_tags = [], []
    for operands, operator in ContentStream(page.get_contents(), reader).operations:
        if operator in (b"BDC", b"BMC"):
            tag = operands[0]
            mcid = None
            if operator == b"BDC" and not isinstance(operands[1], str) and "/MCID" in operands[1]:
                mcid = int(operands[1]["/MCID"])
                found.append(mcid)
            open_tags.append((tag, mcid))
        elif operator == b"EMC":
            open_tags.pop()
        elif operator in PAINTING:
            if not any(tag == "/Artifact" or mcid is not None for tag, mcid in open_tags):
                faults.append(f"content outside of all tags: {operator.decode()}")
    return found


def walk(element, page, elements, content, faults):
    element = element.get_object()
    role = str(element.get("/S", ""))
    of = element.get("/Pg", page)
    if role:
        elements.append([role[1:], str(element.get("/Alt", "")), str(element.get("/Lang", ""))])
        if role == "/Figure" and not element.get("/Alt"):
            faults.append("a figure without words")
    children = element.get("/K", [])
    children = children if isinstance(children, list) else [children]
    for child in children:
        plain = child.get_object() if isinstance(child, IndirectObject) else child
        if isinstance(plain, int):
            content.append((of.get_object().indirect_reference.idnum, int(plain)))
        elif plain.get("/Type") == "/MCR":
            content.append((plain.get("/Pg", of).get_object().indirect_reference.idnum, int(plain["/MCID"])))
        else:
            walk(child, of, elements, content, faults)


def main():
    reader = PdfReader(sys.argv[1], strict=True)
    root, faults = reader.trailer["/Root"], []
    elements, content = [], []
    walk(root["/StructTreeRoot"], None, elements, content, faults)
    tagged = []
    for page in reader.pages:
        tagged += [(page.indirect_reference.idnum, mcid) for mcid in marks(page, reader, faults)]
        if page.get("/Tabs") not in (None, "/S"):
            faults.append("tabs do not follow the structure")
        for name, font in page["/Resources"].get("/Font", {}).items():
            font = font.get_object()
            inner = font["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
            if not {"/FontFile", "/FontFile2", "/FontFile3"} & set(inner):
                faults.append(f"not embedded: {name}")
            if "/ToUnicode" not in font:
                faults.append(f"no Unicode: {name}")
    if sorted(tagged) != sorted(content):
        faults.append("tags and elements are not the same content, each once")
    levels = [int(role[1]) for role, *_ in elements if role[0] == "H" and role[1:].isdigit()]
    if levels[:1] != [1] or any(b > a + 1 for a, b in zip(levels, levels[1:])):
        faults.append(f"headings leave a level out: {levels}")
    if not root.get("/MarkInfo", {}).get("/Marked"):
        faults.append("not marked as tagged")
    if not root.get("/ViewerPreferences", {}).get("/DisplayDocTitle"):
        faults.append("the title is not shown")
    xmp = root["/Metadata"].get_data().decode()
    if "pdfuaid:part" not in xmp:
        faults.append("does not say that it is PDF/UA")
    mm = [[round(float(side) * 25.4 / 72, 1) for side in page.mediabox[2:]] for page in reader.pages]
    print(
        json.dumps(
            {
                "faults": faults,
                "title": reader.metadata.title,
                "lang": root.get("/Lang"),
                "pages": mm,
                "dated": "/CreationDate" in (reader.trailer.get("/Info") or {}),
                "outline": [item.title for item in reader.outline],
                "elements": elements,
            }
        )
    )


main()
