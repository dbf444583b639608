"""One stretch of a `sidevoice-problem/1` document as a constraint model, by its written rules alone.

    maximise    sum of the values of the chosen choices
    each line   at most one choice; a must, exactly one
    each window sum of (length + gap) <= length of the window + gap
    each limit  number chosen in its windows <= count, and sum of their lengths <= talk
"""

FORMAT = "sidevoice-problem/1"


def value(line, choice, level=None):
    """What a choice is worth at a level of its line's fade, by default that of its past."""
    fade = line["fade"]
    level = line["said_before"] if level is None else level
    return choice["base"] * fade[min(level, len(fade) - 1)] // 1000


def constrain(model, stretch, taken):
    """Adds the rules of a stretch; `taken` has a literal for each (line, choice), by index."""
    gaps = {w["id"]: w["gap_ms"] for w in stretch["windows"]}
    lines = stretch["lines"]
    for at, line in enumerate(lines):
        own = [taken[at, c] for c in range(len(line["choices"]))]
        if line["must"]:
            model.add_exactly_one(own)
        else:
            model.add_at_most_one(own)
    by_window = {w: [] for w in gaps}
    for (at, c), literal in taken.items():
        choice = lines[at]["choices"][c]
        by_window[choice["window"]].append((choice["length_ms"], literal))
    for window in stretch["windows"]:
        gap = window["gap_ms"]
        room = window["end_ms"] - window["start_ms"] + gap
        model.add(sum((length + gap) * x for length, x in by_window[window["id"]]) <= room)
    for limit in stretch["limits"]:
        inside = [pair for w in limit["windows"] for pair in by_window[w]]
        model.add(sum(x for _, x in inside) <= limit["count"])
        model.add(sum(length * x for length, x in inside) <= limit["talk_ms"])


def chosen(stretch):
    """The chosen choices as {(line, choice): start in ms}, by index."""
    at = {line["id"]: index for index, line in enumerate(stretch["lines"])}
    return {(at[c["line"]], c["choice"]): c["start_ms"] for c in stretch["chosen"]}
