"""Reads captions with other people's readers and prints them as JSON.

captions.py FILE.vtt: by webvtt-py (PyPI); captions.py FILE.srt: by srt (PyPI). Each caption is start and end in ms,
its text and, of WebVTT, its text with the times of the words left in.
"""

import json
import sys
from datetime import timedelta

import srt
import webvtt


def ms(time):
    return time // timedelta(milliseconds=1)


def of_webvtt(path):
    for caption in webvtt.read(path):
        start, end = caption.start_time, caption.end_time
        times = [((t.hours * 60 + t.minutes) * 60 + t.seconds) * 1000 + t.milliseconds for t in (start, end)]
        yield [*times, caption.text, caption.raw_text]


def of_subrip(path):
    with open(path, encoding="utf-8") as file:
        for caption in srt.parse(file.read(), ignore_errors=False):
            yield [ms(caption.start), ms(caption.end), caption.content, caption.content]


def main():
    path = sys.argv[1]
    print(json.dumps(list(of_webvtt(path) if path.endswith(".vtt") else of_subrip(path))))


main()
