"""Published scheduling instances, solved by a general-purpose constraint solver.

    python peer_published.py FILE --for TIME --threads N --seed N --json [--processor TIME]

Prints one JSON object: status, makespan, bound, starts (in the order of the file, dummies
included), seconds, first (seconds until the first schedule), processor (processor seconds)
and peak (bytes). `cargo xtask bench timetable --peer` runs it beside `turnbuckle solve`.

The model is the plain one that a practitioner would write for OR-Tools CP-SAT: a start for
each activity, an interval for each that lasts, one cumulative for each resource, a linear
constraint for each link, the start of the last dummy minimised. All parameters are the
solver's own choice but the number of workers, the seed and the limit; peer_clock.py tells
how that is counted.
"""

import json
import re
import resource
import sys
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

import peer_clock


@dataclass
class Instance:
    """Activities from 0; the first and the last are dummies."""

    durations: list[int] = field(default_factory=list)
    demands: list[list[int]] = field(default_factory=list)
    capacities: list[int] = field(default_factory=list)
    # (i, j, lag): j starts at least `lag` after i starts.
    links: list[tuple[int, int, int]] = field(default_factory=list)


class Words:
    """A stream of whole numbers."""

    def __init__(self, text):
        self.words = iter(text.split())

    def one(self):
        return int(next(self.words))

    def several(self, count):
        return [self.one() for _ in range(count)]


def read(path):
    text = path.read_text(encoding="latin-1")
    reader = {".sm": read_sm, ".sch": read_sch, ".rcp": read_rcp}.get(path.suffix)
    if reader is None:
        raise ValueError(f"{path}: no known ending; .sm, .sch and .rcp are read")
    return reader(text)


def read_sm(text):
    """PSPLIB, single mode: sections under headings, between lines of asterisks."""

    def labelled(label):
        return int(re.search(rf"{re.escape(label)}\s*:\s*(\d+)", text).group(1))

    def section(heading, skipped):
        lines = text.splitlines()
        first = next(at for at, line in enumerate(lines) if line.strip().startswith(heading))
        body = []
        for line in lines[first + 1 + skipped :]:
            if line.startswith("*"):
                break
            body.append(line)
        return Words(" ".join(body))

    count = labelled("jobs (incl. supersource/sink )")
    kinds = labelled("- renewable")
    made = Instance()
    after = []
    words = section("PRECEDENCE RELATIONS", 1)
    for job in range(count):
        _, modes, successors = words.several(3)
        if modes != 1:
            raise ValueError("several modes")
        after += [(job, successor - 1) for successor in words.several(successors)]
    words = section("REQUESTS/DURATIONS", 2)
    for _ in range(count):
        _, _, duration = words.several(3)
        made.durations.append(duration)
        made.demands.append(words.several(kinds))
    made.capacities = section("RESOURCEAVAILABILITIES", 1).several(kinds)
    made.links = [(i, j, made.durations[i]) for i, j in after]
    return made


def read_sch(text):
    """ProGen/max: lags from start to start in brackets behind the successors."""
    words = Words(text.replace("[", " ").replace("]", " "))
    count, kinds, _, _ = words.several(4)
    made = Instance()
    for job in range(count + 2):
        _, _, successors = words.several(3)
        named = words.several(successors)
        made.links += [(job, successor, words.one()) for successor in named]
    for _ in range(count + 2):
        _, _, duration = words.several(3)
        made.durations.append(duration)
        made.demands.append(words.several(kinds))
    made.capacities = words.several(kinds)
    return made


def read_rcp(text):
    """Patterson: a stream of numbers, lines wrapped anywhere."""
    words = Words(text)
    count, kinds = words.several(2)
    made = Instance(capacities=words.several(kinds))
    after = []
    for job in range(count):
        made.durations.append(words.one())
        made.demands.append(words.several(kinds))
        after += [(job, successor - 1) for successor in words.several(words.one())]
    made.links = [(i, j, made.durations[i]) for i, j in after]
    return made


def horizon(instance):
    """In a shortest schedule some activity or some lag runs at every moment."""
    longest = list(instance.durations)
    for i, _, lag in instance.links:
        longest[i] = max(longest[i], lag)
    return sum(longest)


def model(instance):
    made = cp_model.CpModel()
    latest = horizon(instance)
    count = len(instance.durations)
    starts = [made.new_int_var(0, latest, f"start {job}") for job in range(count)]
    made.add(starts[0] == 0)
    intervals = [
        made.new_fixed_size_interval_var(start, duration, f"activity {job}") if duration else None
        for job, (start, duration) in enumerate(zip(starts, instance.durations))
    ]
    for resource_at, capacity in enumerate(instance.capacities):
        users = [
            (interval, demands[resource_at])
            for interval, demands in zip(intervals, instance.demands)
            if interval is not None and demands[resource_at] > 0
        ]
        if users:
            made.add_cumulative([u[0] for u in users], [u[1] for u in users], capacity)
    for i, j, lag in instance.links:
        made.add(starts[j] >= starts[i] + lag)
    made.minimize(starts[-1])
    return made, starts


class First(cp_model.CpSolverSolutionCallback):
    """Remembers when the first schedule came."""

    def __init__(self, clock):
        super().__init__()
        self.clock = clock
        self.seconds = None

    def on_solution_callback(self):
        if self.seconds is None:
            self.seconds = self.clock.seconds()


def main():
    asked = peer_clock.parser().parse_args()
    made, starts = model(read(asked.file))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = asked.threads
    solver.parameters.random_seed = asked.seed
    solver.parameters.max_time_in_seconds = asked.limit
    clock = peer_clock.Clock(asked)
    first = First(clock)
    with peer_clock.Stopper(solver, lambda: clock.left() <= 0.0):
        status = solver.solve(made, first)
    json.dump(answer(solver, status, starts, clock, first), sys.stdout)
    print()


def answer(solver, status, starts, clock, first):
    words = {
        cp_model.OPTIMAL: "optimal",
        cp_model.FEASIBLE: "feasible",
        cp_model.INFEASIBLE: "infeasible",
        cp_model.UNKNOWN: "unknown",
    }
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    proven = status != cp_model.INFEASIBLE and abs(solver.best_objective_bound) < 1e9
    return {
        "status": words[status],
        "makespan": solver.value(starts[-1]) if found else None,
        # A bound of 41.0000001 must not become 42.
        "bound": max(0, -int(-(solver.best_objective_bound - 1e-6) // 1)) if proven else None,
        "starts": [solver.value(start) for start in starts] if found else [],
        "seconds": clock.seconds(),
        "first": first.seconds,
        "processor": clock.processor_seconds(),
        "peak": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024,
    }


if __name__ == "__main__":
    main()
