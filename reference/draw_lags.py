"""Draws instances with least and greatest lags from start to start, in ProGen/max's format.

    python draw_lags.py DIR --tasks N [--count K] [--seed S]

Writes K files into DIR, with an empty table of best known values beside them, for `cargo
xtask bench timetable --data DIR`. They are drawn in the spirit of C. Schwindt's generator (a
report of 1996; from memory, and simpler): activities in an order, arrows from earlier to later
ones with least lags, groups of neighbours in that order of which each is tied by a greatest lag
to one that comes after it, five resources of which a share is wanted by each activity (resource
factor) and capacities between the greatest single need and the most that is used at a time when
all start as soon as the lags allow (resource strength). Size and number of groups, how far greatest
lags exceed the longest path, factor and strength go through all their combinations. Some
have no schedule.
"""

import itertools

import drawn_set

RESOURCES, LONGEST, MOST = 5, 10, 10


def groups(rng, count, share, largest):
    """Stretches of the order, apart, of at least two activities."""
    found, left, at = [], round(share * count), 1
    while left >= 2 and at < count:
        size = min(rng.randint(2, max(2, largest)), left, count - at + 1)
        if size < 2:
            break
        found.append(range(at, at + size))
        left -= size
        at += size + rng.randint(0, max(1, round(size * (1 - share) / share)))
    return found


def longest_from(arrows, count, start):
    """The longest path from one activity to each later one, by arrows that lead onward."""
    far = {start: 0}
    for a in range(start, count + 1):
        if a in far:
            for b, lag in arrows[a].items():
                if b > a:
                    far[b] = max(far.get(b, lag), far[a] + lag)
    return far


def lags(rng, durations, loops, slack):
    count = len(durations) - 2
    arrows = [{} for _ in range(count + 2)]
    reach = 25 + count // 10

    def least(a):
        return rng.randint(0, 3 * durations[a])

    for a in range(1, count):
        for _ in range(rng.choice((1, 1, 2, 2, 3))):
            b = rng.randint(a + 1, min(count, a + reach))
            arrows[a].setdefault(b, least(a))
    for loop in loops:
        # A way through the group, so that all of it can be tied together.
        for a, b in itertools.pairwise(loop):
            arrows[a].setdefault(b, least(a))
        for _ in range(max(1, len(loop) * 2 // 3)):
            a, b = sorted(rng.sample(loop, 2))
            far = longest_from(arrows, count, a)[b]
            arrows[b].setdefault(a, -round(far * (1 + slack * rng.uniform(0.5, 1.5))) - 1)
    reached = {b for onward in arrows for b in onward}
    arrows[0] = {a: 0 for a in range(1, count + 1) if a not in reached}
    # Nothing ends after the closing dummy.
    left = [0] * (count + 2)
    for a in range(count, 0, -1):
        left[a] = max((left[b] + lag for b, lag in arrows[a].items() if b > a), default=0)
        if left[a] < durations[a]:
            arrows[a][count + 1] = left[a] = durations[a]
    return arrows


def earliest(arrows):
    """The starts that the lags alone allow; nothing if they contradict each other."""
    starts = [0] * len(arrows)
    for _ in range(len(arrows) + 1):
        moved = False
        for a, onward in enumerate(arrows):
            for b, lag in onward.items():
                if starts[b] < starts[a] + lag:
                    starts[b], moved = starts[a] + lag, True
        if not moved:
            return starts
    return None


def draw(rng, count, share, largest, slack, factor, strength):
    durations = [0] + [rng.randint(1, LONGEST) for _ in range(count)] + [0]
    starts = None
    while starts is None:
        arrows = lags(rng, durations, groups(rng, count, share, largest), slack)
        starts = earliest(arrows)
    needs = [[0] * RESOURCES for _ in durations]
    for activity in range(1, count + 1):
        for kind in rng.sample(range(RESOURCES), max(1, round(factor * RESOURCES))):
            needs[activity][kind] = rng.randint(1, MOST)
    capacities = []
    for kind in range(RESOURCES):
        used = [0] * (max(starts) + LONGEST + 1)
        for start, duration, need in zip(starts, durations, needs):
            for tick in range(start, start + duration):
                used[tick] += need[kind]
        low = max(need[kind] for need in needs)
        capacities.append(low + round(strength * (max(max(used), low) - low)))
    return durations, arrows, needs, capacities


def text(durations, arrows, needs, capacities):
    def row(numbers):
        return "\t".join(str(number) for number in numbers)

    lines = [row([len(durations) - 2, RESOURCES, 0, 0])]
    for a, onward in enumerate(arrows):
        lines.append(row([a, 1, len(onward), *onward, *(f"[{lag}]" for lag in onward.values())]))
    for a, (duration, need) in enumerate(zip(durations, needs)):
        lines.append(row([a, 1, duration, *need]))
    lines.append(row(capacities))
    return "\n".join(lines) + "\n"


def grid(count):
    sizes = (2, max(3, count // 20), max(4, count // 4))
    return itertools.product((0.3, 0.7), sizes, (0.5, 1.5), (0.5, 0.75, 1.0), (0.0, 0.25, 0.5))


def instance(rng, count, parameters):
    return text(*draw(rng, count, *parameters))


if __name__ == "__main__":
    drawn_set.write(__doc__, "lag{tasks}_{number}.sch", grid, instance)
