"""Reads a page with html5lib, which must find no error in it, and prints its headings and links."""

import json
import sys

import html5lib

with open(sys.argv[1], "rb") as file:
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    page = parser.parse(file)


def text(element):
    return " ".join("".join(element.itertext()).split())


headings = [text(e) for e in page.iter() if e.tag in ("h1", "h2", "h3")]
links = [e.get("href") for e in page.iter("a")]
print(json.dumps({"headings": headings, "links": links}))
