"""Tells which of a closed set of sentences is heard, by pocketsphinx (PyPI, its model in the wheel).

Reads a job as JSON from standard input:

    { "wav": "path", "words": { "word": "phones of CMUdict" },
      "items": [ { "id": 0, "from": frame, "to": frame, "among": ["text", ...] } ] }

where `words`, which may be left out, are those that the recogniser's dictionary lacks,

and writes the text that was heard for each item:

    { "heard": [ { "id": 0, "text": "text" } ] }

The sentences of a set become one grammar, so that the recogniser must choose one of them.
"""

import json
import re
import sys
import wave

import numpy
from pocketsphinx import Decoder

# The recogniser's own rate, in Hz, and the quiet it is given on both sides, in samples of it.
RATE = 16000
QUIET = 4800

# Words that the recogniser's dictionary lacks, in its own phones (those of CMUdict), composed
# from the entries of their parts: BODY + WEIGHT, DEAD + LIFT, and FLEX with the ending of FACTOR.
ADDED = {
    "bodyweight": "B AA D IY W EY T",
    "deadlift": "D EH D L IH F T",
    "flexor": "F L EH K S ER",
}


def words(text):
    """The words of a text as the dictionary spells them: hyphens part words, case is nothing."""
    return re.findall(r"[a-z']+", text.lower())


def samples(path):
    """The left channel of a file at 48 kHz."""
    with wave.open(path) as file:
        assert file.getframerate() == 3 * RATE and file.getsampwidth() == 2, path
        channels = file.getnchannels()
        both = numpy.frombuffer(file.readframes(file.getnframes()), "<i2")
    return both.reshape(-1, channels)[:, 0].astype(float)


def at_16_khz(part):
    """Every third sample after a low-pass at 7.2 kHz, with quiet on both sides."""
    taps = numpy.arange(-96, 97)
    low_pass = numpy.sinc(taps * 0.3) * numpy.hamming(taps.size) * 0.3
    slow = numpy.convolve(part, low_pass, "same")[::3]
    # Faint noise: a digital zero has no logarithm that means anything.
    noise = numpy.random.default_rng(1).normal(0, 2, slow.size + 2 * QUIET)
    noise[QUIET:-QUIET] += slow
    return noise.clip(-32768, 32767).astype("<i2").tobytes()


def main():
    job = json.load(sys.stdin)
    all_samples = samples(job["wav"])
    decoder = Decoder(samprate=RATE, loglevel="FATAL", bestpath=True)
    for word, phones in (ADDED | job.get("words", {})).items():
        if decoder.lookup_word(word) is None:
            decoder.add_word(word, phones, True)
    made = {}
    heard = []
    for item in job["items"]:
        sentences = {" ".join(words(text)): text for text in item["among"]}
        grammar = " | ".join(sorted(sentences))
        if grammar not in made:
            unknown = {w for s in sentences for w in s.split() if decoder.lookup_word(w) is None}
            if unknown:
                sys.exit(f"the recogniser's dictionary lacks: {sorted(unknown)}; add them in ADDED")
            made[grammar] = f"set-{len(made)}"
            text = f"#JSGF V1.0;\ngrammar one;\npublic <one> = {grammar};\n"
            decoder.add_jsgf_string(made[grammar], text)
        decoder.activate_search(made[grammar])
        decoder.start_utt()
        decoder.process_raw(at_16_khz(all_samples[item["from"] : item["to"]]), full_utt=True)
        decoder.end_utt()
        found = decoder.hyp()
        heard.append({"id": item["id"], "text": sentences.get(found.hypstr if found else "", "")})
    json.dump({"heard": heard}, sys.stdout)


main()
