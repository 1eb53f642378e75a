"""Draws instances with several modes, in PSPLIB's format.

    python draw_modes.py DIR --tasks N [--count K] [--seed S]

Writes K files into DIR, with an empty table of best known values beside them, for `cargo
xtask bench timetable --data DIR`. They are drawn the way that R. Kolisch, A. Sprecher and A.
Drexl describe for their generator (Management Science 41 (1995) 1693-1703; from memory, and
simpler): a network of a given complexity (arrows for each activity, none superfluous), three
modes for each activity, longer ones needing less, two resources of each kind, a share of them
wanted by each activity (resource factor) and availabilities between the least that will do and
the most that can be of use (resource strength). Complexity, factors and strengths go through
all their combinations.
"""

import itertools

import drawn_set

MODES, KINDS, LONGEST, MOST = 3, 2, 10, 10


def network(rng, count, complexity):
    """Successors of each activity from 0, the source, to count + 1, the sink."""
    after = [set() for _ in range(count + 2)]
    reach = [1 << job for job in range(count + 2)]

    def spread():
        for job in reversed(range(count + 2)):
            reach[job] = 1 << job
            for other in after[job]:
                reach[job] |= reach[other]

    def add(a, b):
        after[a].add(b)
        spread()

    starts, ends = 3, 3
    for job in range(1, count + 1):
        add(rng.randrange(1, job) if job > starts else 0, job)
    for job in range(1, count + 1):
        if not after[job]:
            later = range(job + 1, count + 1)
            add(job, rng.choice(later) if later and job <= count - ends else count + 1)
    tries, wanted = 0, complexity * (count + 2)
    while sum(map(len, after)) < wanted and tries < 20_000:
        tries += 1
        a, b = sorted(rng.sample(range(1, count + 1), 2))
        if reach[a] >> b & 1:
            continue
        # No arrow may become superfluous by it.
        before_a = [job for job in range(count + 2) if reach[job] >> a & 1]
        if any(reach[b] >> after_one & 1 for job in before_a for after_one in after[job]):
            continue
        add(a, b)
    return after


def modes(rng, factors):
    """Duration, uses and takes of each mode, the shortest first."""
    durations = sorted(rng.sample(range(1, LONGEST + 1), MODES))
    columns = []
    for factor in factors:
        wanted = rng.sample(range(KINDS), max(1, round(factor * KINDS)))
        for kind in range(KINDS):
            if kind not in wanted:
                columns.append([0] * MODES)
            elif rng.random() < 0.5:
                columns.append([rng.randint(1, MOST)] * MODES)
            else:
                columns.append(sorted((rng.randint(1, MOST) for _ in range(MODES)), reverse=True))
    made = [(d, [c[at] for c in columns]) for at, d in enumerate(durations)]
    # A longer mode that needs no less of anything is drawn again.
    for (_, short), (_, long) in itertools.combinations(made, 2):
        if all(a <= b for a, b in zip(short, long)):
            return modes(rng, factors)
    return made


def peaks(after, table, pick):
    """The use of each resource when all start as soon as the arrows allow."""
    count = len(after)
    starts = [0] * count
    for job in range(count):
        for other in after[job]:
            starts[other] = max(starts[other], starts[job] + pick(job, None)[0])
    peak = []
    for kind in range(KINDS):
        at = [0] * (LONGEST * count + 1)
        for job in range(count):
            duration, needs = pick(job, kind)
            for tick in range(starts[job], starts[job] + duration):
                at[tick] += needs[kind]
        peak.append(max(at))
    return peak


def draw(rng, count, complexity, factors, strengths):
    after = network(rng, count, complexity)
    none = [(0, [0] * 2 * KINDS)]
    table = [none] + [modes(rng, factors) for _ in range(count)] + [none]

    def least(job, kind):
        rows = table[job]
        return min(rows, key=lambda row: row[0] if kind is None else (row[1][kind], row[0]))

    def most(job, kind):
        return max(table[job], key=lambda row: row[1][kind]) if kind is not None else table[job][0]

    available = []
    top = peaks(after, table, most)
    for kind in range(KINDS):
        low = max(least(job, kind)[1][kind] for job in range(count + 2))
        high = max(top[kind], low)
        available.append(low + round(strengths[0] * (high - low)))
    for kind in range(KINDS, 2 * KINDS):
        low = sum(min(row[1][kind] for row in rows) for rows in table)
        high = sum(max(row[1][kind] for row in rows) for rows in table)
        available.append(low + round(strengths[1] * (high - low)))
    return after, table, available


def text(after, table, available):
    rule = "*" * 72
    lines = [rule, f"jobs (incl. supersource/sink ):  {len(table)}", "RESOURCES"]
    for name, number in [("renewable", KINDS), ("nonrenewable", KINDS), ("doubly constrained", 0)]:
        lines.append(f"  - {name:<26}:  {number}")
    lines += [rule, "PRECEDENCE RELATIONS:", "jobnr.    #modes  #successors   successors"]
    for job, (rows, others) in enumerate(zip(table, after)):
        named = "  ".join(str(other + 1) for other in sorted(others))
        lines.append(f"{job + 1:4} {len(rows):8} {len(others):8}        {named}")
    lines += [rule, "REQUESTS/DURATIONS:", "jobnr. mode duration  R 1  R 2  N 1  N 2", "-" * 72]
    for job, rows in enumerate(table):
        for at, (duration, needs) in enumerate(rows):
            lead = f"{job + 1:4}" if at == 0 else "    "
            lines.append(f"{lead} {at + 1:5} {duration:5}   " + " ".join(f"{n:4}" for n in needs))
    lines += [rule, "RESOURCEAVAILABILITIES:", "  R 1  R 2  N 1  N 2"]
    lines += [" ".join(f"{n:4}" for n in available), rule]
    return "\n".join(lines) + "\n"


def grid(_):
    return itertools.product((1.5, 1.8), (0.5, 1.0), (0.25, 0.5, 1.0), (0.5, 1.0), (0.25, 0.5, 0.75))


def instance(rng, count, parameters):
    complexity, uses, strength, takes, enough = parameters
    return text(*draw(rng, count, complexity, (uses, takes), (strength, enough)))


if __name__ == "__main__":
    drawn_set.write(__doc__, "m{tasks}_{number}.mm", grid, instance)
