"""Solves scheduling problems with OR-Tools CP-SAT, apart from any code of ours.

    problem_cpsat.py --exact FILE...
    problem_cpsat.py --limit 10 --workers 2 FILE...

Reads documents as docs/PROBLEMS.md describes them and prints one JSON object a line for
each: `status` (optimal, feasible, infeasible, unknown), `tardiness`, `cost`, `drift`,
`length`, `assignments` (mode, start and finish of each task), `build` (seconds to make the
model), `first` (seconds from the beginning of the search to the first schedule), `seconds`
(of search), `memory` (peak, in bytes). The three levels (tardiness, then cost with drift,
then length) are minimised one after the other, each under the best values of those before.

Two models, both written from what the vocabulary says its rules mean:

- `--exact` has one Boolean for each way, start and finish that a task can have, so that
  every rule is a linear constraint, capacity one for each tick. Meant for small problems.
- Without it there is one interval for each way to do a task and a cumulative constraint
  for each resource. Where work pauses, the interval lives on a clock that only runs while
  the calendar is open. Meant as a strong opponent on large problems: it begins from a
  plain schedule, found while the model is built, and `--limit` is shared out over the levels.
"""

import argparse
import bisect
import heapq
import json
import resource
import sys
import threading
import time
from collections import defaultdict

import numpy as np
from ortools.sat.python import cp_model

FOREVER = 1 << 30


class Hours:
    """Stretches of time in which something is open, in order and apart."""

    def __init__(self, windows):
        self.windows = []
        for begin, end in windows:
            if self.windows and self.windows[-1][1] == begin:
                self.windows[-1] = (self.windows[-1][0], end)
            else:
                self.windows.append((begin, end))
        self.begins = [begin for begin, _ in self.windows]
        self.before = [0]
        for begin, end in self.windows:
            self.before.append(self.before[-1] + end - begin)

    def open_before(self, tick):
        at = bisect.bisect_right(self.begins, tick)
        if at == 0:
            return 0
        begin, end = self.windows[at - 1]
        return self.before[at - 1] + min(tick, end) - begin

    def is_open(self, tick):
        return self.open_before(tick + 1) > self.open_before(tick)

    def between(self, begin, end):
        return self.open_before(end) - self.open_before(begin)

    def finish(self, start, work):
        """The least tick by which so many open ticks have passed since the start."""
        if work == 0:
            return start
        wanted = self.open_before(start) + work
        at = bisect.bisect_left(self.before, wanted)
        if at == len(self.before):
            return None
        return self.begins[at - 1] + wanted - self.before[at - 1]


class Problem:
    def __init__(self, document):
        assert document["format"] == 1
        self.horizon = document["horizon"]
        calendars = document.get("calendars", [])
        self.resources = document.get("resources", [])
        tasks = document["tasks"]
        # Nothing that is chosen lies beyond the horizon.
        kept = (
            [(b, min(e, self.horizon)) for b, e in calendar["windows"] if b < self.horizon]
            for calendar in calendars
        )
        self.hours = [Hours(windows) for windows in kept]
        calendar_at = places(calendars)
        resource_at = places(self.resources)
        stocks = document.get("stocks", [])
        self.stock_at = places(stocks)
        task_at = places(tasks)
        self.capacity = []
        for one in self.resources:
            levels = one["capacity"]
            self.capacity.append([[0, levels]] if isinstance(levels, int) else levels)
        self.tasks = [self.task(task, calendar_at, resource_at) for task in tasks]
        # What settled tasks leave of each stock; nothing where they took too much.
        self.left = [stock["available"] for stock in stocks]
        for task in self.tasks:
            for stock, amount in task["modes"][task["run"][0]]["takes"] if task["run"] else ():
                self.left[stock] -= amount
        self.left = [max(left, 0) for left in self.left]

        def event(one):
            (end, task), = one.items()
            return task_at(task), end

        self.links = [
            {
                "from": event(link["from"]),
                "to": event(link["to"]),
                "least": link.get("least"),
                "greatest": link.get("greatest"),
                "hours": None
                if link.get("clock") is None
                else self.hours[calendar_at(link["clock"])],
            }
            for link in document.get("links", [])
        ]
        self.occupancies = [
            {
                "resource": resource_at(held["resource"]),
                "amount": held.get("amount", 1),
                "from": event(held["from"]),
                "to": event(held["to"]),
            }
            for held in document.get("occupancies", [])
        ]

    def task(self, task, calendar_at, resource_at):
        modes = []
        mode_at = places(task["modes"])
        for mode in task["modes"]:
            pace = mode.get("pace", "elapsed")
            uses = [
                (
                    resource_at(use["resource"]),
                    use.get("amount", 1),
                    use.get("during", "throughout") == "working" and pace == "pausing",
                )
                for use in mode.get("uses", [])
            ]
            hours = None if pace == "elapsed" else self.hours[calendar_at(mode["calendar"])]
            modes.append(
                {
                    "work": mode["work"],
                    "pace": pace,
                    "hours": hours,
                    "uses": uses,
                    "takes": [
                        (self.stock_at(take["stock"]), take.get("amount", 1))
                        for take in mode.get("takes", [])
                    ],
                    "cost": mode.get("cost", 0),
                }
            )
        deadline = task.get("deadline")
        last = self.horizon if deadline is None else min(deadline, self.horizon)
        release = task.get("release", 0)
        kept = {"modes": modes, "release": release, "first": release, "last": last, "run": None}
        due, published = task.get("due"), task.get("published")
        kept["due"] = due and (due["at"], due.get("weight", 1))
        kept["published"] = published and (published["start"], published.get("weight", 1))
        done, started = task.get("done"), task.get("started")
        if done:
            mode = mode_at(done.get("mode", 0))
            kept["run"] = (mode, done["start"], done["finish"])
        if started:
            mode = mode_at(started.get("mode", 0))
            finish = rest(modes[mode], started["resume"], started["left"])
            lawful = finish is not None and finish <= last
            kept["run"] = (mode, started["start"], finish if lawful else None)
        return kept

    def fixed_use(self):
        """For each resource the use that is in every schedule, as (from, until, amount)."""
        use = defaultdict(list)
        for task in self.tasks:
            if task["run"]:
                mode, start, finish = task["run"]
                for number, amount, pauses in task["modes"][mode]["uses"]:
                    for begin, end in stretches(task["modes"][mode], pauses, start, finish):
                        use[number].append((begin, end, amount))
        for held in self.occupancies:
            begin, end = self.fixed_tick(held["from"]), self.fixed_tick(held["to"])
            if begin is None:
                continue
            if end is None:
                # Until the release of a task that sets its end it is there whatever is chosen.
                end = self.tasks[held["to"][0]]["release"]
            if begin < end:
                use[held["resource"]].append((begin, end, held["amount"]))
        return use

    def fixed_tick(self, event):
        run = self.tasks[event[0]]["run"]
        return run and run[1 if event[1] == "start" else 2]

    def room(self):
        """For each resource what is left of it to choose, as a list of (from, level)."""
        use = self.fixed_use()
        room = []
        for number, steps in enumerate(self.capacity):
            changes = {begin for begin, _ in steps}
            for begin, end, _ in use[number]:
                changes |= {begin, end}
            levels = []
            begins = [begin for begin, _ in steps]
            for tick in sorted(changes):
                level = steps[bisect.bisect_right(begins, tick) - 1][1]
                used = sum(a for begin, end, a in use[number] if begin <= tick < end)
                levels.append((tick, max(level - used, 0)))
            room.append(levels)
        return room


def places(things):
    """Finds the position of a thing by its name or, where a number is given, by that."""
    names = {thing.get("name", ""): at for at, thing in enumerate(things)}
    return lambda reference: reference if isinstance(reference, int) else names[reference]


def rest(mode, start, work):
    """The finish of work that lies from a tick on, or nothing if it can't lie there."""
    if mode["pace"] == "elapsed":
        return start + work
    if mode["pace"] == "whole":
        return start + work if mode["hours"].between(start, start + work) == work else None
    return mode["hours"].finish(start, work)


def stretches(mode, pauses, start, finish):
    """Where a running mode uses what it uses."""
    if not pauses:
        return [(start, finish)] if start < finish else []
    cut = ((max(b, start), min(e, finish)) for b, e in mode["hours"].windows)
    return [(begin, end) for begin, end in cut if begin < end]


def measures(problem, runs):
    tardiness = cost = drift = length = 0
    for task, (mode, start, finish) in zip(problem.tasks, runs):
        if task["due"]:
            tardiness += max(finish - task["due"][0], 0) * task["due"][1]
        if task["published"]:
            drift += abs(start - task["published"][0]) * task["published"][1]
        cost += task["modes"][mode]["cost"]
        length = max(length, finish)
    return {"tardiness": tardiness, "cost": cost, "drift": drift, "length": length}


class Exact:
    """One Boolean for each mode and start of each task."""

    def __init__(self, problem):
        self.problem = problem
        self.model = model = cp_model.CpModel()
        self.options = []
        self.impossible = False
        for task in problem.tasks:
            options = []
            for mode, start, finish in ways(problem, task):
                options.append((mode, start, finish, model.new_bool_var("")))
            self.impossible |= not options
            self.options.append(options)
        if self.impossible:
            return
        for options in self.options:
            model.add_exactly_one(option[3] for option in options)
        self.rules()
        self.capacity()
        self.stocks()
        self.levels = self.objective()

    def stocks(self):
        """What the tasks that are not settled take must be left."""
        for stock, left in enumerate(self.problem.left):
            taken = [
                amount * literal
                for task, options in zip(self.problem.tasks, self.options)
                for mode, _, _, literal in options if not task["run"]
                for of, amount in task["modes"][mode]["takes"] if of == stock
            ]
            if taken:
                self.model.add(sum(taken) <= left)

    def tick(self, event):
        task, end = event
        at = 1 if end == "start" else 2
        return sum(option[at] * option[3] for option in self.options[task])

    def open_before(self, event, hours):
        task, end = event
        at = 1 if end == "start" else 2
        return sum(hours.open_before(o[at]) * o[3] for o in self.options[task])

    def rules(self):
        problem, model = self.problem, self.model
        settled = [bool(task["run"]) for task in problem.tasks]
        for link in problem.links:
            begin, end = link["from"], link["to"]
            if settled[begin[0]] and settled[end[0]]:
                continue
            if link["hours"]:
                apart = self.open_before(end, link["hours"])
                apart -= self.open_before(begin, link["hours"])
                if link["least"] is not None:
                    model.add(self.tick(end) >= self.tick(begin))
            else:
                apart = self.tick(end) - self.tick(begin)
            if link["least"] is not None:
                model.add(apart >= link["least"])
            if link["greatest"] is not None:
                model.add(apart <= link["greatest"])
        for held in problem.occupancies:
            if not (settled[held["from"][0]] and settled[held["to"][0]]):
                model.add(self.tick(held["from"]) <= self.tick(held["to"]))

    def capacity(self):
        problem = self.problem
        room = problem.room()
        # What is chosen at each tick: a list of (amount, literal), for each resource.
        chosen = [defaultdict(list) for _ in problem.resources]
        for task, options in zip(problem.tasks, self.options):
            for mode, start, finish, literal in options if not task["run"] else ():
                for number, amount, pauses in task["modes"][mode]["uses"]:
                    way = task["modes"][mode]
                    for begin, end in stretches(way, pauses, start, finish):
                        for tick in range(begin, end):
                            chosen[number][tick].append((amount, literal))
        for held in problem.occupancies:
            self.hold(held, chosen[held["resource"]])
        for levels, ticks in zip(room, chosen):
            begins = [begin for begin, _ in levels]
            for tick, terms in sorted(ticks.items()):
                level = levels[bisect.bisect_right(begins, tick) - 1][1]
                self.model.add(sum(amount * one for amount, one in terms) <= level)

    def hold(self, held, ticks):
        """It is used at a tick if its beginning has come and its end has not."""
        problem, amount = self.problem, held["amount"]
        begin, end = problem.fixed_tick(held["from"]), problem.fixed_tick(held["to"])
        if begin is not None and end is not None:
            return
        first = 0
        if begin is not None:
            first = max(begin, problem.tasks[held["to"][0]]["release"])
        last = problem.horizon if end is None else end
        for tick in range(first, last):
            terms = ticks[tick]
            for event, sign in ((held["from"], amount), (held["to"], -amount)):
                at = 1 if event[1] == "start" else 2
                come = [o[3] for o in self.options[event[0]] if o[at] <= tick]
                terms.extend((sign, one) for one in come)

    def objective(self):
        problem, model = self.problem, self.model
        late, cost = [], []
        length = model.new_int_var(0, problem.horizon, "")
        for task, options in zip(problem.tasks, self.options):
            for mode, start, finish, literal in options:
                if task["due"]:
                    at, weight = task["due"]
                    late.append(max(finish - at, 0) * weight * literal)
                moved = 0
                if task["published"]:
                    moved = abs(start - task["published"][0]) * task["published"][1]
                cost.append((task["modes"][mode]["cost"] + moved) * literal)
            model.add(length >= sum(finish * one for _, _, finish, one in options))
        return [sum(late), sum(cost), length]

    def runs(self, value):
        return [
            next((m, s, f) for m, s, f, literal in options if value(literal))
            for options in self.options
        ]


def ways(problem, task):
    """Every mode, start and finish that a task can have by itself."""
    if task["run"]:
        if task["run"][2] is not None:
            yield task["run"]
        return
    for number, mode in enumerate(task["modes"]):
        for start in range(task["release"], problem.horizon + 1):
            pauses = mode["pace"] == "pausing" and mode["work"] > 0
            if pauses and not mode["hours"].is_open(start):
                continue
            finish = rest(mode, start, mode["work"])
            if finish is not None and finish <= task["last"]:
                yield number, start, finish


class Intervals:
    """One interval for each mode of each task."""

    def __init__(self, problem):
        self.problem = problem
        self.model = cp_model.CpModel()
        self.impossible = False
        # For each task: start, finish and, for each mode, what is known of it.
        self.events = []
        self.clocks = {}
        # What computes the values of helping variables, in the order of their making.
        self.follow = []
        tighten(problem)
        for task in problem.tasks:
            self.events.append(self.task(task))
        if self.impossible:
            return
        self.rules()
        room = problem.room()
        for number in range(len(problem.resources)):
            self.resource(number, room[number])
        self.stocks()
        self.levels = self.objective()
        self.begin_from(first_come(problem))

    def stocks(self):
        """What the modes that are chosen take must be left."""
        for stock, left in enumerate(self.problem.left):
            taken = [
                amount * (1 if way["present"] is True else way["present"])
                for of in self.events
                for way in of["modes"]
                for kind, amount in way["mode"]["takes"] if kind == stock
            ]
            if taken:
                add(self.model, sum(taken) <= left)

    def begin_from(self, runs):
        """Hints at a schedule, with all that follows from it."""
        if runs is None or None in runs:
            return
        self.values = {}
        for of, (mode, start, finish) in zip(self.events, runs):
            self.put_value(of["start"], start)
            for way in of["modes"]:
                chosen = way["number"] == mode
                if way["present"] is not True:
                    self.put_value(of["finish"], finish)
                    self.put_value(way["present"], int(chosen))
                self.put_way(way, start if chosen else way["earliest"])
        for follow in self.follow:
            follow()
        for index, value in self.values.items():
            self.model.add_hint(self.model.get_int_var_from_proto_index(index), value)

    def put_value(self, variable, value):
        if isinstance(variable, cp_model.IntVar):
            self.values[variable.index] = int(value)

    def put_way(self, way, start):
        self.put_value(way["start"], start)
        if "done" in way:
            hours, work = way["mode"]["hours"], way["mode"]["work"]
            done, finish = hours.open_before(start), rest(way["mode"], start, work)
            self.put_value(way["done"], done)
            self.put_value(way["finish"], finish)
            pair = (start - done, finish - done - work)
            for literal, of in zip(way["chosen"], way["pairs"]):
                self.put_value(literal, of[:2] == pair and of[2] <= done <= of[3])

    def valued(self, expression):
        """What an expression is worth in the schedule that is hinted at."""
        if isinstance(expression, int):
            return expression
        flat = cp_model.FlatIntExpr(expression)
        terms = zip(flat.vars, flat.coeffs)
        return int(flat.offset) + sum(int(c) * self.values[v.index] for v, c in terms)

    def task(self, task):
        model, horizon = self.model, self.problem.horizon
        if task["run"]:
            mode, start, finish = task["run"]
            if finish is None:
                self.impossible = True
                finish = horizon
            return {"start": start, "finish": finish, "modes": []}
        alone = len(task["modes"]) == 1
        ways = []
        for number, mode in enumerate(task["modes"]):
            domain = starts(mode, task["first"], task["last"])
            if domain:
                domain = cp_model.Domain.from_intervals(domain)
                ways.append(self.way(task, number, mode, domain))
        if not ways:
            self.impossible = True
            return {"start": 0, "finish": 0, "modes": []}
        if len(ways) == 1:
            ways[0]["present"] = True
            return {"start": ways[0]["start"], "finish": ways[0]["finish"], "modes": ways}
        start = model.new_int_var(task["first"], task["last"], "")
        finish = model.new_int_var(task["first"], task["last"], "")
        for way in ways:
            way["present"] = model.new_bool_var("")
            model.add(start == way["start"]).only_enforce_if(way["present"])
            model.add(finish == way["finish"]).only_enforce_if(way["present"])
        model.add_exactly_one(way["present"] for way in ways)
        return {"start": start, "finish": finish, "modes": ways}

    def way(self, task, number, mode, domain):
        model = self.model
        start = model.new_int_var_from_domain(domain, "")
        way = {"number": number, "mode": mode, "start": start, "earliest": domain.min()}
        if mode["pace"] != "pausing" or mode["work"] == 0:
            way["finish"] = start + mode["work"]
            return way
        # The clock that runs while the calendar is open: it shows `done` at the start and
        # `done + work` at the finish. Each pair of windows in which a start and its finish
        # can lie sets the clock off from the time of day by two constants; one Boolean for
        # each pair, and linear constraints over them.
        hours, last, work = mode["hours"], task["last"], mode["work"]
        pairs = window_pairs(hours, work, task["first"], last)
        done = model.new_int_var(pairs[0][2], pairs[-1][3], "")
        finish = model.new_int_var(task["first"], last, "")
        chosen = [model.new_bool_var("") for _ in pairs]
        model.add_exactly_one(chosen)

        def of(at):
            return cp_model.LinearExpr.weighted_sum(chosen, [pair[at] for pair in pairs])

        model.add(start == done + of(0))
        model.add(finish == done + work + of(1))
        model.add(done >= of(2))
        model.add(done <= of(3))
        way["finish"], way["done"] = finish, done
        way["chosen"], way["pairs"] = chosen, pairs
        return way

    def tick(self, event):
        return self.events[event[0]][event[1]]

    def clock(self, event, windows, key):
        """What a clock that runs in some windows shows at an event."""
        task, end = event
        of = self.events[task]
        if len(of["modes"]) == 1 and "done" in of["modes"][0]:
            way = of["modes"][0]
            if way["mode"]["hours"].windows == windows:
                return way["done"] + (way["mode"]["work"] if end == "finish" else 0)
        return self.clock_at(of[end], windows, (key, task, end))

    def clock_at(self, tick, windows, key):
        if isinstance(tick, int):
            return Hours(windows).open_before(tick)
        if key in self.clocks:
            return self.clocks[key]
        model, horizon = self.model, self.problem.horizon
        # Stretches in which the clock runs, and between them stretches in which it stands.
        hours = Hours(windows)
        cuts, shown = [], 0
        tick_from = 0
        for begin, end in hours.windows:
            cuts.append((tick_from, begin - 1, None, shown))
            cuts.append((begin, end - 1, begin - shown, None))
            shown += end - begin
            tick_from = end
        cuts.append((tick_from, horizon, None, shown))
        first, last = self.bounds(key[1], key[2])
        cuts = [cut for cut in cuts if cut[0] <= cut[1] and cut[0] <= last and first <= cut[1]]
        clock = model.new_int_var(0, hours.before[-1], "")
        chosen = [model.new_bool_var("") for _ in cuts]
        model.add_exactly_one(chosen)
        weighted = cp_model.LinearExpr.weighted_sum
        model.add(tick >= weighted(chosen, [cut[0] for cut in cuts]))
        model.add(tick <= weighted(chosen, [cut[1] for cut in cuts]))
        runs = model.new_bool_var("")
        running = [(one, cut[2]) for one, cut in zip(chosen, cuts) if cut[2] is not None]
        standing = [(one, cut[3]) for one, cut in zip(chosen, cuts) if cut[2] is None]
        model.add(sum(one for one, _ in running) == runs)
        offset = sum(one * by for one, by in running)
        model.add(tick - clock == offset).only_enforce_if(runs)
        model.add(clock == sum(one * at for one, at in standing)).only_enforce_if(~runs)
        def follow():
            at = self.valued(tick)
            for one, cut in zip(chosen, cuts):
                if cut[0] <= at <= cut[1]:
                    self.put_value(clock, cut[3] if cut[2] is None else at - cut[2])
                    self.put_value(runs, cut[2] is not None)
                self.put_value(one, cut[0] <= at <= cut[1])

        self.follow.append(follow)
        self.clocks[key] = clock
        return clock

    def bounds(self, task, end):
        """Between which ticks an event lies."""
        of = self.problem.tasks[task]
        return (of["first"], of["last"])

    def rules(self):
        problem, model = self.problem, self.model
        settled = [bool(task["run"]) for task in problem.tasks]
        for link in problem.links:
            begin, end = link["from"], link["to"]
            if settled[begin[0]] and settled[end[0]]:
                continue
            if link["hours"]:
                windows = link["hours"].windows
                key = id(link["hours"])
                apart = self.clock(end, windows, key) - self.clock(begin, windows, key)
                if link["least"] is not None:
                    model.add(self.tick(end) >= self.tick(begin))
            else:
                apart = self.tick(end) - self.tick(begin)
            if link["least"] is not None:
                add(model, apart >= link["least"])
            if link["greatest"] is not None:
                add(model, apart <= link["greatest"])
        for held in problem.occupancies:
            if not (settled[held["from"][0]] and settled[held["to"][0]]):
                add(model, self.tick(held["from"]) <= self.tick(held["to"]))

    def resource(self, number, room):
        """Cumulative constraints: in plain time for what does not pause, and for what does
        one for each set of calendars that are open at the same time."""
        problem, model = self.problem, self.model
        plain, paused = [], []
        for task, of in enumerate(self.events):
            for way in of["modes"]:
                for used, amount, pauses in way["mode"]["uses"]:
                    if used == number and way["mode"]["work"] > 0:
                        user = (task, way, amount)
                        (paused if pauses else plain).append(user)
        held = []
        for one in problem.occupancies:
            begin, end = problem.fixed_tick(one["from"]), problem.fixed_tick(one["to"])
            if one["resource"] == number and (begin is None or end is None):
                first = self.tick(one["from"])
                if begin is not None:
                    first = max(begin, problem.tasks[one["to"][0]]["release"])
                held.append((one, first))
        self.post(number, room, [(0, problem.horizon)], None, plain, [], held)
        calendars = []
        for _, way, _ in paused:
            windows = way["mode"]["hours"].windows
            if windows not in calendars:
                calendars.append(windows)
        for pattern, windows in patterns(calendars, problem.horizon).items():
            users = [u for u in paused if calendars.index(u[1]["mode"]["hours"].windows) in pattern]
            self.post(number, room, windows, (number, pattern), plain, users, held)

    def post(self, number, room, windows, key, plain, paused, held):
        """One cumulative constraint over the ticks of some windows."""
        problem, model = self.problem, self.model
        hours = Hours(windows)
        # The room in each stretch of the windows, on their clock.
        begins = [begin for begin, _ in room]
        levels = []
        for begin, end in hours.windows:
            cuts = [begin] + [tick for tick in begins if begin < tick < end] + [end]
            for first, until in zip(cuts, cuts[1:]):
                level = room[bisect.bisect_right(begins, first) - 1][1]
                levels.append((hours.open_before(first), hours.open_before(until), level))
        if not levels:
            return
        most = sum(amount for _, _, amount in plain + paused)
        most += sum(one["amount"] for one, _ in held)
        if most <= min(level for _, _, level in levels):
            return
        peak = max(level for _, _, level in levels)
        intervals, amounts = [], []

        def put(begin, end, size, present, amount):
            if isinstance(begin, int) and isinstance(end, int):
                size = end - begin
                if size <= 0:
                    return
            if size is None:
                size = model.new_int_var(0, problem.horizon, "")
                add(model, begin + size == end)
                lasts = size

                def follow():
                    self.put_value(lasts, self.valued(end) - self.valued(begin))

                self.follow.append(follow)
            if present is True:
                intervals.append(model.new_interval_var(begin, size, end, ""))
            else:
                intervals.append(model.new_optional_interval_var(begin, size, end, present, ""))
            amounts.append(amount)

        def shown(tick, task, way, end):
            if key is None:
                return tick
            return self.clock_at(tick, hours.windows, (key, task, way["number"], end))

        for task, way, amount in plain:
            begin = shown(way["start"], task, way, "start")
            end = shown(way["finish"], task, way, "finish")
            even = key is None and "done" not in way
            put(begin, end, way["mode"]["work"] if even else None, way["present"], amount)
        for task, way, amount in paused:
            if way["mode"]["hours"].windows == hours.windows:
                begin, work = way["done"], way["mode"]["work"]
                put(begin, begin + work, work, way["present"], amount)
            else:
                begin = shown(way["start"], task, way, "start")
                end = shown(way["finish"], task, way, "finish")
                put(begin, end, None, way["present"], amount)
        for one, first in held:
            end = self.tick(one["to"])
            if key is not None:
                if isinstance(first, int):
                    first = hours.open_before(first)
                else:
                    first = self.clock(one["from"], hours.windows, key)
                end = self.clock(one["to"], hours.windows, key)
            put(first, end, None, True, one["amount"])
        for begin, end, level in levels:
            if level < peak:
                put(begin, end, None, True, peak - level)
        model.add_cumulative(intervals, amounts, peak)

    def objective(self):
        problem, model = self.problem, self.model
        late, cost, constant = [], [], 0
        length = model.new_int_var(0, problem.horizon, "")
        for task, of in zip(problem.tasks, self.events):
            add(model, length >= of["finish"])
            if task["due"]:
                at, weight = task["due"]
                behind = model.new_int_var(0, max(problem.horizon - at, 0), "")
                add(model, behind >= of["finish"] - at)
                late.append(behind * weight)
                self.least(behind, [0, of["finish"] - at])
            if task["published"] and task["published"][1]:
                at, weight = task["published"]
                far = max(abs(at), abs(problem.horizon - at))
                moved = model.new_int_var(0, far, "")
                add(model, moved >= of["start"] - at)
                add(model, moved >= at - of["start"])
                self.least(moved, [of["start"] - at, at - of["start"]])
                cost.append(moved * weight)
            if task["run"]:
                constant += task["modes"][task["run"][0]]["cost"]
            for way in of["modes"]:
                if way["present"] is True:
                    constant += way["mode"]["cost"]
                else:
                    cost.append(way["present"] * way["mode"]["cost"])
        self.least(length, [of["finish"] for of in self.events])
        return [sum(late), sum(cost) + constant, length]

    def least(self, variable, above):
        """Hints at the least value that is not below any of some expressions."""
        self.follow.append(
            lambda: self.put_value(variable, max(self.valued(one) for one in above))
        )

    def runs(self, value):
        runs = []
        for task, of in zip(self.problem.tasks, self.events):
            if task["run"]:
                runs.append(task["run"])
                continue
            way = next(w for w in of["modes"] if w["present"] is True or value(w["present"]))
            runs.append((way["number"], value(of["start"]), value(of["finish"])))
        return runs


def add(model, rule):
    """Adds a rule; one about constants alone comes as a truth value."""
    if rule is True:
        return
    if rule is False:
        model.add_bool_or([])
        return
    model.add(rule)


def starts(mode, release, last):
    """The ticks at which a mode may start, as intervals that include their ends."""
    latest = last - mode["work"]
    if mode["pace"] == "elapsed" or mode["work"] == 0:
        return [(release, latest)] if release <= latest else []
    if mode["pace"] == "whole":
        cut = ((b, e - mode["work"]) for b, e in mode["hours"].windows)
    else:
        # The latest start leaves work enough before the last tick.
        hours = mode["hours"]
        left = hours.open_before(last) - mode["work"]
        if left < 0:
            return []
        at = min(bisect.bisect_right(hours.before, left), len(hours.windows)) - 1
        latest = hours.begins[at] + left - hours.before[at]
        cut = ((b, e - 1) for b, e in hours.windows)
    cut = ((max(b, release), min(e, latest)) for b, e in cut)
    return [(begin, end) for begin, end in cut if begin <= end]


def first_come(problem):
    """A plain schedule to begin from: groups of tasks one after the other, each as early as
    it fits; nothing if that fails. Tasks are in one group if a greatest lag or an
    occupancy ties them together."""
    free = [at for at, task in enumerate(problem.tasks) if not task["run"]]
    group = list(range(len(problem.tasks)))

    def root(at):
        while group[at] != at:
            at = group[at]
        return at

    ties = [(one["from"][0], one["to"][0]) for one in problem.occupancies]
    ties += [
        (one["from"][0], one["to"][0]) for one in problem.links if one["greatest"] is not None
    ]
    for a, b in ties:
        if not (problem.tasks[a]["run"] or problem.tasks[b]["run"]):
            group[root(a)] = root(b)
    # What a fact ties comes before others can take its place, and then what ends soonest.
    urgent = {b for a, b in ties if problem.tasks[a]["run"] and not problem.tasks[b]["run"]}
    urgent = {root(one) for one in urgent}
    edges = {
        (one["from"][0], one["to"][0])
        for one in problem.links
        if one["least"] is not None and one["least"] >= 0
    }
    edges |= {(one["from"][0], one["to"][0]) for one in problem.occupancies}
    among = {(root(a), root(b)) for a, b in edges}
    # Groups that wait for each other in a ring are one.
    for ring in rings({root(at) for at in free}, among):
        for one in ring[1:]:
            group[root(one)] = root(ring[0])
    members = defaultdict(list)
    for at in free:
        members[root(at)].append(at)
    among = {(root(a), root(b)) for a, b in among}
    urgent = {root(one) for one in urgent}
    ranks = [{one: (one not in urgent, 0, one) for one in members} for _ in range(2)]
    inside = {one: in_order(members[one], edges) for one in members}
    before = defaultdict(set)
    for a, b in among:
        before[b].add(a)
    began = time.monotonic()
    for tries in range(200):
        reserve = tries % 2 == 0
        rank = ranks[reserve]
        board = Board(problem, reserve)
        order = in_order(sorted(members, key=rank.get), among)
        failed = next((one for one in order if not board.place(inside[one])), None)
        if failed is None:
            return board.runs
        if time.monotonic() - began > 15:
            return None
        # What found no place comes first in the next try, with all that it waits for.
        stack, seen = [failed], set()
        while stack:
            one = stack.pop()
            if one not in seen:
                seen.add(one)
                rank[one] = (reserve and one not in urgent, -1 - tries, one)
                stack.extend(before[one])
    return None


def in_order(things, edges):
    """Things in their order, but each after those that an edge puts before it; what waits
    for itself is left to the end."""
    place = {one: at for at, one in enumerate(things)}
    after, waits = defaultdict(set), defaultdict(int)
    for a, b in edges:
        if a != b and a in place and b in place and b not in after[a]:
            after[a].add(b)
            waits[b] += 1
    ready = [place[one] for one in things if not waits[one]]
    heapq.heapify(ready)
    ordered = []
    while ready:
        one = things[heapq.heappop(ready)]
        ordered.append(one)
        for next_one in after[one]:
            waits[next_one] -= 1
            if not waits[next_one]:
                heapq.heappush(ready, place[next_one])
    return ordered + [one for one in things if waits[one]]


def rings(things, edges):
    """The strongly connected components of a digraph that have more than one member."""
    after, before = defaultdict(set), defaultdict(set)
    for a, b in edges:
        if a in things and b in things:
            after[a].add(b)
            before[b].add(a)
    seen, finished = set(), []
    for thing in things:
        stack = [(thing, iter(after[thing]))] if thing not in seen else []
        seen.add(thing)
        while stack:
            one, following = stack[-1]
            next_one = next((n for n in following if n not in seen), None)
            if next_one is None:
                finished.append(one)
                stack.pop()
            else:
                seen.add(next_one)
                stack.append((next_one, iter(after[next_one])))
    seen = set()
    for thing in reversed(finished):
        ring, stack = [], [thing]
        while stack:
            one = stack.pop()
            if one not in seen:
                seen.add(one)
                ring.append(one)
                stack.extend(before[one])
        if len(ring) > 1:
            yield ring


class Board:
    """What is left of each resource at each tick."""

    def __init__(self, problem, reserve):
        self.problem, self.reserve, horizon = problem, reserve, problem.horizon
        self.runs = [task["run"] for task in problem.tasks]
        self.left = []
        for levels in problem.room():
            left = np.zeros(horizon + 1, dtype=np.int64)
            for tick, level in levels:
                left[tick:] = level
            self.left.append(left)
        self.links_to = defaultdict(list)
        for link in problem.links:
            if link["to"][0] != link["from"][0]:
                self.links_to[link["to"][0]].append(link)
        self.held_by = defaultdict(list)
        for one in problem.occupancies:
            self.held_by[one["from"][0]].append(one)
            if one["to"][0] != one["from"][0]:
                self.held_by[one["to"][0]].append(one)
        self.open = {}
        for hours in problem.hours:
            mask = np.zeros(horizon + 1, dtype=bool)
            for begin, end in hours.windows:
                mask[begin:end] = True
            self.open[id(hours)] = mask
        # What is occupied from a fact on stays so until somebody sets its end.
        for one in problem.occupancies:
            if self.is_open(one):
                begin = max(self.tick(one["from"]), problem.tasks[one["to"][0]]["release"])
                self.left[one["resource"]][begin:] -= one["amount"]

    def is_open(self, one):
        """Whether an occupancy begins with a fact and ends with a choice."""
        tasks = self.problem.tasks
        return (
            self.reserve and tasks[one["from"][0]]["run"] and not tasks[one["to"][0]]["run"]
        )

    def place(self, members):
        base = 0
        while base <= self.problem.horizon:
            if self.attempt(members, base):
                return True
            base += 16
        return False

    def attempt(self, members, base):
        booked = []
        for task in members:
            ways = [
                self.earliest(task, number, base)
                for number in range(len(self.problem.tasks[task]["modes"]))
            ]
            ways = [run for run in ways if run is not None]
            if not ways:
                break
            self.runs[task] = min(ways, key=lambda run: run[2])
            for change in self.uses(task):
                self.book(change, booked)
        else:
            if self.hold(members, booked):
                return True
        for number, begin, end, amount, mask in booked:
            self.left[number][begin:end] += amount if mask is None else amount * mask
        for task in members:
            self.runs[task] = None
        return False

    def book(self, change, booked):
        number, begin, end, amount, mask = change
        self.left[number][begin:end] -= amount if mask is None else amount * mask
        booked.append(change)

    def uses(self, task):
        number, start, finish = self.runs[task]
        mode = self.problem.tasks[task]["modes"][number]
        for used, amount, pauses in mode["uses"]:
            mask = self.open[id(mode["hours"])][start:finish] if pauses else None
            yield used, start, finish, amount, mask

    def tick(self, event):
        run = self.runs[event[0]]
        return run and run[1 if event[1] == "start" else 2]

    def hold(self, members, booked):
        held = {id(one): one for task in members for one in self.held_by[task]}
        for one in held.values():
            begin, end = self.tick(one["from"]), self.tick(one["to"])
            if begin is None or end is None or begin > end:
                return False
            if self.is_open(one):
                rest_of_it = self.problem.horizon + 1
                self.book((one["resource"], end, rest_of_it, -one["amount"], None), booked)
                continue
            if self.problem.tasks[one["from"][0]]["run"]:
                begin = max(begin, self.problem.tasks[one["to"][0]]["release"])
            number, amount = one["resource"], one["amount"]
            if (self.left[number][begin:end] < amount).any():
                return False
            self.book((number, begin, end, amount, None), booked)
        return True

    def earliest(self, task, number, base):
        """The earliest run in a mode that the lags and the resources allow."""
        of = self.problem.tasks[task]
        mode = of["modes"][number]
        start = max(of["first"], base)
        for _ in range(10_000):
            start = next_start(mode, start)
            finish = None if start is None else rest(mode, start, mode["work"])
            if finish is None or finish > of["last"]:
                return None
            later = self.lags(task, start, finish)
            if later is None:
                return None
            if later == 0:
                later = self.short(mode, start, finish)
            if later == 0:
                return number, start, finish
            start += later
        return None

    def short(self, mode, start, finish):
        later = 0
        for used, amount, pauses in mode["uses"]:
            lacking = self.left[used][start:finish] < amount
            if pauses:
                lacking &= self.open[id(mode["hours"])][start:finish]
            where = np.flatnonzero(lacking)
            if len(where):
                later = max(later, int(where[-1]) + 1)
        return later

    def lags(self, task, start, finish):
        """How much later the start must be, at the least; nothing if it is too late."""
        later = 0
        for one in self.links_to[task]:
            begin = self.tick(one["from"])
            end = start if one["to"][1] == "start" else finish
            if begin is not None:
                hours = one["hours"]
                apart = hours.between(begin, end) if hours else end - begin
                if one["least"] is not None:
                    later = max(later, one["least"] - apart, begin - end if hours else 0)
                if one["greatest"] is not None and apart > one["greatest"]:
                    return None
        return later


def next_start(mode, tick):
    """The first tick from one on at which a mode may start."""
    if mode["pace"] == "elapsed" or mode["work"] == 0:
        return tick
    hours = mode["hours"]
    need = mode["work"] if mode["pace"] == "whole" else 1
    at = max(bisect.bisect_right(hours.begins, tick) - 1, 0)
    for begin, end in hours.windows[at:]:
        start = max(begin, tick)
        if start + need <= end:
            return start
    return None


def tighten(problem):
    """Moves releases and last finishes as far as least lags push them."""
    early = [[task["release"], task["release"]] for task in problem.tasks]
    late = [[task["last"], task["last"]] for task in problem.tasks]
    for at, task in enumerate(problem.tasks):
        if task["run"]:
            _, start, finish = task["run"]
            finish = start if finish is None else finish
            early[at], late[at] = [start, finish], [start, finish]
    lags = []
    for link in problem.links:
        if link["least"] is not None:
            # Open ticks are no more than all ticks.
            lags.append((link["from"], link["to"], link["least"]))
        if link["greatest"] is not None and not link["hours"]:
            lags.append((link["to"], link["from"], -link["greatest"]))
    lags += [(held["from"], held["to"], 0) for held in problem.occupancies]
    ends = {"start": 0, "finish": 1}
    lags = [((a, ends[e]), (b, ends[g]), lag) for (a, e), (b, g), lag in lags]
    free = [at for at, task in enumerate(problem.tasks) if not task["run"]]
    dirty, rounds = set(range(len(problem.tasks))), 0
    lags_of = defaultdict(list)
    for lag in lags:
        lags_of[lag[0][0]].append(lag)
        lags_of[lag[1][0]].append(lag)
    while dirty and rounds < 20 * len(problem.tasks):
        at = min(dirty)
        dirty.remove(at)
        rounds += 1
        if not problem.tasks[at]["run"]:
            modes = problem.tasks[at]["modes"]
            domains = [(m, starts(m, early[at][0], late[at][1])) for m in modes]
            domains = [(mode, domain) for mode, domain in domains if domain]
            if not domains:
                return
            early[at][0] = max(early[at][0], min(d[0][0] for _, d in domains))
            late[at][0] = min(late[at][0], max(d[-1][1] for _, d in domains))
            soonest = min(rest(mode, d[0][0], mode["work"]) for mode, d in domains)
            early[at][1] = max(early[at][1], soonest)
        for (a, e), (b, g), lag in lags_of[at]:
            if not problem.tasks[b]["run"] and early[b][g] < early[a][e] + lag:
                early[b][g] = early[a][e] + lag
                dirty.add(b)
            if not problem.tasks[a]["run"] and late[a][e] > late[b][g] - lag:
                late[a][e] = late[b][g] - lag
                dirty.add(a)
    for at in free:
        task = problem.tasks[at]
        # The release stays for what it says of occupancies.
        task["first"], task["last"] = early[at][0], late[at][1]


def window_pairs(hours, work, release, last):
    """The pairs of windows in which the start and the finish of pausing work can lie: what
    sets start and finish off from the calendar's clock, and between which two values that
    clock then lies at the start."""
    pairs = []
    for first, (begin, end) in enumerate(hours.windows):
        if end <= release or begin > last:
            continue
        low = hours.open_before(max(begin, release))
        high = hours.before[first + 1] - 1
        # The finish lies in the window in which the last tick of work is done.
        at = bisect.bisect_left(hours.before, low + work) - 1
        while at < len(hours.windows) and hours.before[at] + 1 - work <= high:
            final, until = hours.windows[at]
            least = max(low, hours.before[at] + 1 - work)
            most = min(high, hours.before[at + 1] - work, hours.before[at] - work + last - final)
            if least <= most:
                gaps = (begin - hours.before[first], final - hours.before[at])
                pairs.append((*gaps, least, most))
            at += 1
    return pairs


def patterns(calendars, horizon):
    """For each set of calendars the stretches in which just these are open."""
    cuts = {0, horizon}
    for windows in calendars:
        for begin, end in windows:
            cuts |= {min(begin, horizon), min(end, horizon)}
    cuts = sorted(cuts)
    hours = [Hours(windows) for windows in calendars]
    found = defaultdict(list)
    for begin, end in zip(cuts, cuts[1:]):
        open_ones = tuple(n for n, one in enumerate(hours) if one.is_open(begin))
        if open_ones:
            found[open_ones].append((begin, end))
    return {pattern: Hours(windows).windows for pattern, windows in found.items()}


def tune(solver, model):
    """Long presolving would use up a short limit: a large model does without, and then
    betters the schedule that it begins from by large neighbourhoods at once."""
    solver.parameters.symmetry_level = 0
    solver.parameters.cp_model_probing_level = 0
    if len(model.proto.variables) > 20_000:
        solver.parameters.cp_model_presolve = False


class Heard(cp_model.CpSolverSolutionCallback):
    """Notes when a schedule was first there, and stops a level whose time is over."""

    def __init__(self, begun, share):
        super().__init__()
        self.begun, self.first = begun, None
        self.end = None if share is None else time.monotonic() + share
        self.timer = None
        if share is not None:
            self.timer = threading.Timer(share, self.late)
            self.timer.daemon = True
            self.timer.start()

    def on_solution_callback(self):
        if self.first is None:
            self.first = time.monotonic() - self.begun
        self.late()

    def late(self):
        if self.end is not None and self.first is not None and time.monotonic() >= self.end:
            self.stop_search()


def solve(problem, exact, limit, workers):
    begun = time.monotonic()
    build = Exact(problem) if exact else Intervals(problem)
    answer = {"status": "infeasible", "build": time.monotonic() - begun}
    begun = time.monotonic()
    answer.update({"first": None, "seconds": 0.0})
    if build.impossible:
        return answer
    best, proven = None, True
    for level, value in enumerate(build.levels):
        left = None if limit is None else limit - (time.monotonic() - begun)
        if left is not None and left <= 0.01:
            proven = False
            break
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = workers
        if not exact:
            tune(solver, build.model)
        # Half of what is left for each level but the last; all of it, if nothing is found.
        share = None
        if left is not None:
            solver.parameters.max_time_in_seconds = left
            share = left / 2 if level < 2 else left
        build.model.minimize(value)
        heard = Heard(begun, share)
        status = solver.solve(build.model, heard)
        if heard.timer:
            heard.timer.cancel()
        if answer["first"] is None:
            answer["first"] = heard.first
        if status == cp_model.INFEASIBLE:
            if best is not None:
                raise AssertionError("a schedule of an earlier level was lost")
            answer["seconds"] = time.monotonic() - begun
            return answer
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            proven = False
            if best is None:
                answer["status"] = "unknown"
            break
        if status != cp_model.OPTIMAL:
            proven = False
        best = build.runs(solver.value)
        build.model.add(value <= round(solver.objective_value))
        build.model.clear_hints()
        for at in range(len(build.model.proto.variables)):
            variable = build.model.get_int_var_from_proto_index(at)
            build.model.add_hint(variable, solver.value(variable))
    answer["seconds"] = time.monotonic() - begun
    if best is not None:
        answer["status"] = "optimal" if proven else "feasible"
        answer.update(measures(problem, best))
        runs = [{"mode": mode, "start": s, "finish": f} for mode, s, f in best]
        answer["assignments"] = runs
    return answer


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("files", nargs="+")
    parser.add_argument("--exact", action="store_true")
    parser.add_argument("--limit", type=float, help="seconds of search for each problem")
    parser.add_argument("--workers", type=int, default=1)
    asked = parser.parse_args()
    for file in asked.files:
        with open(file, encoding="utf-8") as text:
            problem = Problem(json.load(text))
        answer = {"file": file}
        answer.update(solve(problem, asked.exact, asked.limit, asked.workers))
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        answer["memory"] = peak * 1024
        print(json.dumps(answer), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
