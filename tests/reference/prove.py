"""Proves the optimum of every stretch of `sidevoice-problem/1` documents, by CP-SAT (ortools, PyPI).

    prove.py FOLDER     reads each *.json file of a folder, in order of name
    prove.py            reads one document a line from standard input

and writes a JSON line for each stretch, in order:

    { "document": 0, "stretch": 0, "status": "optimal", "optimum": 0, "chosen": 0, "faults": ["text"] }

`chosen` is the value of what was chosen, `faults` says what the choice breaks and which values are not
what base and fade make of them. A status other than "optimal" or "infeasible" means that nothing was
proved in the time. Problems that differ in names and in the time of day alone are proved once.
"""

import json
import multiprocessing
import os
import sys
from collections import Counter
from pathlib import Path

from ortools.sat.python import cp_model

from stretch import FORMAT, chosen, constrain, value

# Seconds for one stretch: a thousand times what one takes.
PATIENCE = 30


def documents(arguments):
    if arguments:
        for path in sorted(Path(arguments[0]).glob("*.json")):
            yield json.loads(path.read_text("utf-8"))
    else:
        for line in sys.stdin:
            yield json.loads(line)


def bare(stretch):
    """The problem without names and time of day: what decides its optimum."""
    lines = [
        [
            line["must"],
            [[c["window"], c["length_ms"], value(line, c)] for c in line["choices"]],
        ]
        for line in stretch["lines"]
    ]
    windows = [[w["id"], w["end_ms"] - w["start_ms"], w["gap_ms"]] for w in stretch["windows"]]
    return json.dumps([windows, stretch["limits"], lines], sort_keys=True)


def optimum(stretch):
    """Solves a stretch; returns the status and the value, if there is one."""
    model = cp_model.CpModel()
    taken = {
        (at, c): model.new_bool_var("")
        for at, line in enumerate(stretch["lines"])
        for c in range(len(line["choices"]))
    }
    constrain(model, stretch, taken)
    lines = stretch["lines"]
    model.maximize(
        sum(value(lines[at], lines[at]["choices"][c]) * x for (at, c), x in taken.items())
    )
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = PATIENCE
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return solver.status_name(status).lower(), round(solver.objective_value) if found else None


def faults(stretch):
    """What the choice breaks, found by adding up."""
    lines = stretch["lines"]
    windows = {w["id"]: w for w in stretch["windows"]}
    if len({line["id"] for line in lines}) < len(lines):
        yield "two lines have one id"
    for line in lines:
        if any(c["value"] != value(line, c) for c in line["choices"]):
            yield f"a value of {line['id']} is not base * fade / 1000"
    picked = chosen(stretch)
    times = Counter(at for at, _ in picked)
    if len(picked) < len(stretch["chosen"]) or any(n > 1 for n in times.values()):
        yield "a line is chosen twice"
    for at, line in enumerate(lines):
        if line["must"] and times[at] != 1:
            yield f"{line['id']} is a must and was not chosen"
    said = [
        (lines[at]["choices"][c]["window"], start, lines[at]["choices"][c]["length_ms"])
        for (at, c), start in picked.items()
    ]
    said.sort()
    for window, start, length in said:
        if start < windows[window]["start_ms"] or start + length > windows[window]["end_ms"]:
            yield f"what starts at {start} ms leaves its window"
    for (window, start, length), (next_window, next_start, _) in zip(said, said[1:]):
        if window == next_window and next_start < start + length + windows[window]["gap_ms"]:
            yield f"what starts at {next_start} ms is too close to what is before it"
    for limit in stretch["limits"]:
        inside = [length for window, _, length in said if window in limit["windows"]]
        if len(inside) > limit["count"] or sum(inside) > limit["talk_ms"]:
            yield "a limit is exceeded"


def main():
    stretches = []
    for number, document in enumerate(documents(sys.argv[1:])):
        assert document["format"] == FORMAT, document["format"]
        stretches += [(number, stretch) for stretch in document["stretches"]]
    keys = [bare(stretch) for _, stretch in stretches]
    different = {key: stretch for key, (_, stretch) in zip(keys, stretches)}
    # The long ones first, so that no worker is left with one at the end.
    order = sorted(different, key=len, reverse=True)
    with multiprocessing.Pool(os.cpu_count()) as pool:
        found = pool.map(optimum, [different[key] for key in order], chunksize=8)
    proved = dict(zip(order, found))
    for key, (number, stretch) in zip(keys, stretches):
        status, best = proved[key]
        lines = stretch["lines"]
        row = {
            "document": number,
            "stretch": stretch["index"],
            "status": status,
            "optimum": best,
            "chosen": sum(value(lines[at], lines[at]["choices"][c]) for at, c in chosen(stretch)),
            "faults": list(faults(stretch)),
        }
        print(json.dumps(row))


if __name__ == "__main__":
    main()
