"""Looks for the best plan of a whole session at once, by CP-SAT (ortools, PyPI), for a given time.

    whole.py SECONDS    reads one `sidevoice-problem/1` document from standard input

A choice is worth base * fade[n] / 1000 where n is how often its line was said in the stretches before:
here n is the solver's to decide, so it may say less early to say it where it is worth more. Windows,
limits and musts are those of each stretch. Writes

    { "ours": 0, "best": 0, "bound": 0, "status": "optimal", "by_stretch": [[ours, best], ...] }
"""

import json
import sys

from ortools.sat.python import cp_model

from stretch import FORMAT, chosen, constrain, value

WORKERS = 2


class Whole:
    def __init__(self, stretches):
        self.model = cp_model.CpModel()
        # For each id, whether it is said in each of the stretches so far.
        self.said = {}
        # For each id, how often our plan had said it before.
        self.ours_said = {}
        self.terms = []
        self.ours = []
        for stretch in stretches:
            self.terms.append([])
            self.ours.append(0)
            self.add(stretch)
        self.model.maximize(sum(v * x for terms in self.terms for v, x in terms))

    def add(self, stretch):
        picked = chosen(stretch)
        taken = {}
        now = []
        for at, line in enumerate(stretch["lines"]):
            before = self.said.get(line["id"], [])
            heard = self.ours_said.get(line["id"], 0)
            assert heard == line["said_before"], line["id"]
            last = min(len(line["fade"]) - 1, len(before))
            levels = range(last + 1)
            at_level = [self.level(line, before, k, last) for k in levels]
            mine = []
            for c, choice in enumerate(line["choices"]):
                is_ours = (at, c) in picked
                taken[at, c] = x = self.model.new_bool_var("")
                self.model.add_hint(x, is_ours)
                parts = []
                for k in levels:
                    y = self.model.new_bool_var("")
                    self.model.add_hint(y, is_ours and k == min(heard, last))
                    self.model.add_implication(y, at_level[k])
                    self.terms[-1].append((value(line, choice, k), y))
                    parts.append(y)
                self.model.add(sum(parts) == x)
                mine.append(x)
                if is_ours:
                    self.ours[-1] += value(line, choice)
            now.append((line["id"], mine, any(at == a for a, _ in picked)))
        constrain(self.model, stretch, taken)
        for id, mine, is_said in now:
            self.said.setdefault(id, []).append(sum(mine))
            self.ours_said[id] = self.ours_said.get(id, 0) + is_said

    def level(self, line, before, k, last):
        """A literal that may hold only where the line was said as often as level `k` asks."""
        fade = line["fade"]
        literal = self.model.new_bool_var("")
        heard = self.ours_said.get(line["id"], 0)
        self.model.add_hint(literal, min(heard, last) == k)
        if k < last:
            self.model.add(sum(before) <= k).only_enforce_if(literal)
        # Where worth only falls, a solver has no reason to take a later level than it must.
        falls = all(a >= b for a, b in zip(fade, fade[1:]))
        if not falls and k > 0:
            self.model.add(sum(before) >= k).only_enforce_if(literal)
        return literal


def main():
    document = json.load(sys.stdin)
    assert document["format"] == FORMAT, document["format"]
    whole = Whole(document["stretches"])
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = WORKERS
    solver.parameters.max_time_in_seconds = float(sys.argv[1])
    status = solver.solve(whole.model)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE), solver.status_name(status)
    by_stretch = [
        [ours, sum(v for v, y in terms if solver.boolean_value(y))]
        for ours, terms in zip(whole.ours, whole.terms)
    ]
    answer = {
        "ours": sum(whole.ours),
        "best": round(solver.objective_value),
        "bound": round(solver.best_objective_bound),
        "status": solver.status_name(status).lower(),
        "by_stretch": by_stretch,
    }
    print(json.dumps(answer))


main()
