"""Tells when webrtcvad hears a voice: 16-bit mono samples at 48 kHz on standard input, a line a span on standard
output: its mode, start and end in ms.

Pauses of less than 300 ms are bridged and what is shorter than 80 ms is dropped, as by `rehearse/ear`.
"""

import sys

import webrtcvad

RATE = 48000
FRAME_MS = 10
PAUSE_MS = 300
SHORTEST_MS = 80


def spans(sound, mode):
    vad = webrtcvad.Vad(mode)
    size = RATE * FRAME_MS // 1000 * 2
    found = []
    for n in range(len(sound) // size):
        if not vad.is_speech(sound[n * size : (n + 1) * size], RATE):
            continue
        at = n * FRAME_MS
        if found and at - found[-1][1] < PAUSE_MS:
            found[-1][1] = at + FRAME_MS
        else:
            found.append([at, at + FRAME_MS])
    return [it for it in found if it[1] - it[0] >= SHORTEST_MS]


def main():
    sound = sys.stdin.buffer.read()
    for mode in range(4):
        for start, end in spans(sound, mode):
            print(mode, start, end)


main()
