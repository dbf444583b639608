"""Reads what a sound file says of itself with other people's readers and prints it as JSON.

MP3, FLAC and Opus by mutagen (PyPI), WAV by wavinfo (PyPI). `title`; `chapters`, each start and end in ms (null where
the format has no end) and its title, in order; of MP3 also `contents`, the tables of contents as a tree.
"""

import json
import sys

import mutagen
from mutagen.id3 import ID3
from wavinfo import WavInfoReader


def of_id3(path):
    tag = ID3(path)
    chapters = {c.element_id: c for c in tag.getall("CHAP")}
    tables = {t.element_id: t for t in tag.getall("CTOC")}
    assert not chapters.keys() & tables.keys()

    def title(element):
        return str(element.sub_frames["TIT2"]) if "TIT2" in element.sub_frames else None

    def tree(name):
        if name in chapters:
            return title(chapters[name])
        table = tables[name]
        assert int(table.flags) & 1, "it is ordered"
        return [title(table), [tree(child) for child in table.child_element_ids]]

    roots = [t.element_id for t in tables.values() if int(t.flags) & 2]
    assert len(roots) == (1 if tables else 0)
    inner = [child for t in tables.values() for child in t.child_element_ids]
    assert sorted(inner + roots) == sorted([*chapters, *tables]), "each is in one table"
    listed = sorted(chapters.values(), key=lambda c: (c.start_time, c.end_time))
    return {
        "title": str(tag["TIT2"]),
        "chapters": [[c.start_time, c.end_time, title(c)] for c in listed],
        "contents": [tree(root) for root in roots],
        "version": list(tag.version[:2]),
    }


def of_comments(path):
    tags = mutagen.File(path).tags
    chapters = []
    number = 1
    while (name := f"CHAPTER{number:03}") in tags:
        (time,), (title,) = tags[name], tags[name + "NAME"]
        hours, minutes, seconds = time.split(":")
        whole, ms = seconds.split(".")
        assert (len(hours), len(minutes), len(whole), len(ms)) == (2, 2, 2, 3), time
        chapters.append([((int(hours) * 60 + int(minutes)) * 60 + int(whole)) * 1000 + int(ms), None, title])
        number += 1
    assert len(tags) == 1 + 2 * len(chapters), tags
    return {"title": tags["TITLE"][0], "chapters": chapters}


def of_wav(path):
    info = WavInfoReader(path, info_encoding="utf-8")
    rate = info.fmt.sample_rate
    chapters = []
    for cue in info.cues.cues:
        (label,) = [x.text for x in info.cues.labels if x.name == cue.name]
        (length,) = [x.length for x in info.cues.ranges if x.name == cue.name]
        assert cue.position == cue.sample_offset and cue.chunk_id == b"data"
        start, end = cue.position * 1000 / rate, (cue.position + length) * 1000 / rate
        assert start == int(start) and end == int(end), "whole milliseconds"
        chapters.append([int(start), int(end), label])
    return {"title": info.info.title, "chapters": chapters}


def main():
    path = sys.argv[1]
    ending = path.rsplit(".", 1)[1]
    readers = {"mp3": of_id3, "flac": of_comments, "opus": of_comments, "wav": of_wav}
    print(json.dumps(readers[ending](path)))


main()
