"""Compares number words with num2words (PyPI, LGPL). Reads lines `tag kind value words` from standard
input, with the kinds `cardinal` and `ordinal`, and prints each that differs with what was expected."""

import sys

from num2words import num2words

TAGS = {"en": "en", "es": "es", "de": "de", "fr": "fr", "pt": "pt_BR"}

# Where the reference has it otherwise, and why we differ: language, kind, its words, ours.
OTHERWISE = [
    # English as it is spoken in the United States, without "and"; nobody says commas.
    ("en", "cardinal", " and ", " "),
    ("en", "cardinal", ",", ""),
    ("pt", "cardinal", ",", ""),
    # Before "mil" and "millones" the number is shortened (Real Academia Española, Diccionario
    # panhispánico de dudas, "cardinales").
    ("es", "cardinal", "veintiuno mil", "veintiún mil"),
    ("es", "cardinal", "uno mil", "un mil"),
    # The same, "ordinales": the usual forms up to nineteenth, and the c of forty.
    ("es", "ordinal", "décimoprimero", "undécimo"),
    ("es", "ordinal", "décimosegundo", "duodécimo"),
    ("es", "ordinal", "décimo ", "decimo"),
    ("es", "ordinal", "quadragésimo", "cuadragésimo"),
    # Only a number that ends is "eins" (Duden, "eins").
    ("de", "cardinal", "einhunderteinstausend", "einhunderteintausend"),
    # The ordinal has no s (Académie française, "quatre-vingtième").
    ("fr", "ordinal", "vingtsième", "vingtième"),
]


def expected(tag, kind, value):
    words = num2words(value, lang=TAGS[tag], to=kind)
    for language, of, theirs, ours in OTHERWISE:
        if (tag, kind) == (language, of) and (theirs != "décimo " or words.startswith(theirs)):
            words = words.replace(theirs, ours)
    return words


def main():
    for line in sys.stdin:
        tag, kind, value, words = line.rstrip("\n").split(" ", 3)
        wanted = expected(tag, kind, int(value))
        if words != wanted:
            print(f"{tag} {kind} {value}: expected {wanted!r}, found {words!r}")


main()
