"""Scheduling problems with every feature, solved by a general-purpose constraint solver.

    python peer_problem.py FILE --for TIME --threads N --seed N --json [--processor TIME]
                                [--exact]

The models are those of problem_cpsat.py; this script is only their stopwatch, so that they
run under the same limits as `turnbuckle solve` in `cargo xtask bench full --peer`. Prints
one JSON object: status, measures (tardiness, cost, drift, length), assignments, seconds, first
(seconds until the first schedule), processor (processor seconds) and peak (bytes).

The levels (tardiness; cost with drift; length) are minimised one after the other, each from
the schedule of the level before and under its value. Of the time that is left a level gets
half, the last one all; a level that is proven leaves its rest to the next, and the first
goes on until there is a schedule. peer_clock.py tells how time is counted.
"""

import json
import resource
import sys

from ortools.sat.python import cp_model

import peer_clock
import problem_cpsat


class Heard(cp_model.CpSolverSolutionCallback):
    """Remembers when the first schedule came."""

    def __init__(self, clock, first):
        super().__init__()
        self.clock, self.first = clock, first

    def on_solution_callback(self):
        if self.first is None:
            self.first = self.clock.seconds()


def solve(problem, built, asked):
    clock = peer_clock.Clock(asked)
    answer = {"status": "infeasible", "first": None}
    best, proven = None, True
    levels = [] if built.impossible else built.levels
    for number, level in enumerate(levels):
        left = clock.left()
        if left <= 0.01 and best is not None:
            proven = False
            break
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = asked.threads
        if not asked.exact:
            problem_cpsat.tune(solver, built.model)
        solver.parameters.random_seed = asked.seed
        if not asked.exact:
            problem_cpsat.tune(solver, built.model)
        solver.parameters.max_time_in_seconds = max(asked.limit - clock.seconds(), 0.01)
        share = clock.passed() + (left / 2 if number + 1 < len(levels) else left)
        built.model.minimize(level)
        heard = Heard(clock, answer["first"])
        over = lambda: clock.left() <= 0 or (heard.first is not None and clock.passed() >= share)
        with peer_clock.Stopper(solver, over):
            status = solver.solve(built.model, heard)
        answer["first"] = heard.first
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            if best is None and status != cp_model.INFEASIBLE:
                answer["status"] = "unknown"
            if best is not None and status == cp_model.INFEASIBLE:
                raise AssertionError("a schedule of the level before was lost")
            proven = False
            break
        proven = proven and status == cp_model.OPTIMAL
        best = built.runs(solver.value)
        keep(built.model, level, solver)
    if best is not None:
        answer["status"] = "optimal" if proven else "feasible"
        answer["measures"] = problem_cpsat.measures(problem, best)
        runs = [{"mode": mode, "start": start, "finish": end} for mode, start, end in best]
        answer["assignments"] = runs
    answer["seconds"] = clock.seconds()
    answer["processor"] = clock.processor_seconds()
    return answer


def keep(model, level, solver):
    """What was reached on a level binds the next, and its schedule is where that begins."""
    values = [
        solver.value(model.get_int_var_from_proto_index(at))
        for at in range(len(model.proto.variables))
    ]
    model.add(level <= round(solver.objective_value))
    model.clear_hints()
    for at, value in enumerate(values):
        model.add_hint(model.get_int_var_from_proto_index(at), value)


def main():
    parser = peer_clock.parser()
    parser.add_argument("--exact", action="store_true")
    asked = parser.parse_args()
    with open(asked.file, encoding="utf-8") as text:
        problem = problem_cpsat.Problem(json.load(text))
    build = problem_cpsat.Exact if asked.exact else problem_cpsat.Intervals
    answer = solve(problem, build(problem), asked)
    answer["peak"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    json.dump(answer, sys.stdout)
    print()


if __name__ == "__main__":
    main()
