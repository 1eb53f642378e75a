"""Published scheduling instances, solved by a general-purpose constraint solver.

    python peer_published.py FILE --for TIME --threads N --seed N --json [--processor TIME]

Prints one JSON object: status, makespan, bound, starts and modes (in the order of the file,
dummies included; modes counted from 1), seconds, first (seconds until the first schedule),
processor (processor seconds) and peak (bytes). `cargo xtask bench timetable --peer` runs it
beside `turnbuckle solve`.

The model is the plain one that a practitioner would write for OR-Tools CP-SAT: a start for
each activity, an interval for each that lasts, one cumulative for each resource, a linear
constraint for each link, the start of the last dummy minimised. With several modes there is
an optional interval and a Boolean for each, exactly one of them true, and a linear constraint
for each resource that is used up. All parameters are the
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

    # Of the first mode; all modes are below.
    durations: list[int] = field(default_factory=list)
    demands: list[list[int]] = field(default_factory=list)
    capacities: list[int] = field(default_factory=list)
    # For each activity, where there are several modes: duration, demands, what is used up.
    modes: list[list[tuple[int, list[int], list[int]]]] = field(default_factory=list)
    # How much there is of what is used up.
    stocks: list[int] = field(default_factory=list)
    # (i, j, lag): j starts at least `lag` after i starts; of the duration of i if it is None.
    links: list[tuple[int, int, int | None]] = field(default_factory=list)


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
    reader = {".sm": read_sm, ".mm": read_mm, ".sch": read_sch, ".rcp": read_rcp}.get(path.suffix)
    if reader is None:
        raise ValueError(f"{path}: no known ending; .sm, .mm, .sch and .rcp are read")
    return reader(text)


def labelled(text, label):
    spaced = re.sub(r"[ \t]+", " ", text)
    return int(re.search(rf"{re.escape(label)}\s*:\s*(\d+)", spaced).group(1))


def section(text, heading, skipped):
    lines = text.splitlines()
    bare = ["".join(line.split()) for line in lines]
    first = next(at for at, line in enumerate(bare) if line.startswith(heading.replace(" ", "")))
    body = []
    for line in lines[first + 1 + skipped :]:
        if line.startswith("*"):
            break
        if not line.startswith("--"):
            body.append(line)
    return Words(" ".join(body))


def read_sm(text):
    """PSPLIB, single mode."""
    made = read_mm(text)
    if any(len(modes) != 1 for modes in made.modes) or made.stocks:
        raise ValueError("several modes, or resources that are used up")
    made.links = [(i, j, made.durations[i]) for i, j, _ in made.links]
    made.modes = []
    return made


def read_mm(text):
    """PSPLIB: sections under headings, between lines of asterisks."""
    count = labelled(text, "jobs (incl. supersource/sink )")
    kinds, used_up = labelled(text, "- renewable"), labelled(text, "- nonrenewable")
    if labelled(text, "- doubly constrained"):
        raise ValueError("doubly constrained resources")
    made = Instance()
    numbers = []
    words = section(text, "PRECEDENCE RELATIONS", 1)
    for job in range(count):
        _, modes, successors = words.several(3)
        numbers.append(modes)
        made.links += [(job, successor - 1, None) for successor in words.several(successors)]
    words = section(text, "REQUESTS/DURATIONS", 1)
    for modes in numbers:
        words.one()
        rows = []
        for _ in range(modes):
            _, duration = words.several(2)
            rows.append((duration, words.several(kinds), words.several(used_up)))
        made.modes.append(rows)
    made.durations = [modes[0][0] for modes in made.modes]
    made.demands = [modes[0][1] for modes in made.modes]
    words = section(text, "RESOURCEAVAILABILITIES", 1)
    made.capacities, made.stocks = words.several(kinds), words.several(used_up)
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
    # A project is over when all of it is, whatever the lags to the closing dummy say.
    said = {(i, j): lag for i, j, lag in made.links}
    for job in range(1, count + 1):
        if said.get((job, count + 1), -1) < made.durations[job]:
            made.links.append((job, count + 1, made.durations[job]))
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
    for i, modes in enumerate(instance.modes):
        longest[i] = max(mode[0] for mode in modes)
    for i, _, lag in instance.links:
        longest[i] = max(longest[i], lag or 0)
    return sum(longest)


def model(instance):
    made = cp_model.CpModel()
    latest = horizon(instance)
    count = len(instance.durations)
    starts = [made.new_int_var(0, latest, f"start {job}") for job in range(count)]
    made.add(starts[0] == 0)
    if instance.modes:
        return several(instance, made, starts, latest)
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
    return made, starts, []


def several(instance, made, starts, latest):
    """Several modes: an optional interval for each, and what they use up in all."""
    users = [[] for _ in instance.capacities]
    taken = [[] for _ in instance.stocks]
    chosen, ends = [], []
    for job, (start, modes) in enumerate(zip(starts, instance.modes)):
        ones = [made.new_bool_var(f"activity {job} in mode {at + 1}") for at in range(len(modes))]
        made.add_exactly_one(ones)
        end = made.new_int_var(0, latest, f"end {job}")
        for one, (duration, demands, used_up) in zip(ones, modes):
            interval = made.new_optional_interval_var(start, duration, end, one, "")
            for at, demand in enumerate(demands):
                if demand and duration:
                    users[at].append((interval, demand))
            for at, amount in enumerate(used_up):
                if amount:
                    taken[at].append(amount * one)
        chosen.append(ones)
        ends.append(end)
    for capacity, of in zip(instance.capacities, users):
        if of:
            made.add_cumulative([u[0] for u in of], [u[1] for u in of], capacity)
    for available, of in zip(instance.stocks, taken):
        made.add(sum(of) <= available)
    for i, j, _ in instance.links:
        made.add(starts[j] >= ends[i])
    made.minimize(starts[-1])
    return made, starts, chosen


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
    made, starts, chosen = model(read(asked.file))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = asked.threads
    solver.parameters.random_seed = asked.seed
    solver.parameters.max_time_in_seconds = asked.limit
    clock = peer_clock.Clock(asked)
    first = First(clock)
    with peer_clock.Stopper(solver, lambda: clock.left() <= 0.0):
        status = solver.solve(made, first)
    json.dump(answer(solver, status, (starts, chosen), clock, first), sys.stdout)
    print()


def answer(solver, status, made, clock, first):
    starts, chosen = made
    words = {
        cp_model.OPTIMAL: "optimal",
        cp_model.FEASIBLE: "feasible",
        cp_model.INFEASIBLE: "infeasible",
        cp_model.UNKNOWN: "unknown",
    }
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    proven = status != cp_model.INFEASIBLE and abs(solver.best_objective_bound) < 1e9
    modes = [[solver.value(one) for one in ones].index(1) + 1 for ones in chosen if found]
    return {
        "status": words[status],
        "makespan": solver.value(starts[-1]) if found else None,
        # A bound of 41.0000001 must not become 42.
        "bound": max(0, -int(-(solver.best_objective_bound - 1e-6) // 1)) if proven else None,
        "starts": [solver.value(start) for start in starts] if found else [],
        "modes": modes,
        "seconds": clock.seconds(),
        "first": first.seconds,
        "processor": clock.processor_seconds(),
        "peak": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024,
    }


if __name__ == "__main__":
    main()
