"""Parses a page strictly by the HTML standard (PyPI, html5lib) and prints what is in it as JSON.

page.py FILE: fails at the first parse error; prints the headings with their levels, the texts of the class
"said" in order with their languages, the names of all elements, and all attributes that could fetch or run.
"""

import json
import sys

import html5lib


def text(element):
    return " ".join("".join(element.itertext()).split())


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        page = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(file.read())
    elements = [e for e in page.iter() if isinstance(e.tag, str)]
    active = [
        f"{e.tag} {name}" for e in elements for name in e.keys() if name.startswith("on") or name in ("src", "href")
    ]
    print(
        json.dumps(
            {
                "lang": page.get("lang"),
                "title": text(page.find("head/title")),
                "headings": [[int(e.tag[1]), text(e)] for e in elements if e.tag in ("h1", "h2", "h3")],
                "said": [text(e) for e in elements if e.get("class") == "said"],
                "languages": sorted({e.get("lang", "en") for e in elements if e.get("class") == "said"}),
                "elements": sorted({e.tag for e in elements}),
                "active": active,
            }
        )
    )


main()
