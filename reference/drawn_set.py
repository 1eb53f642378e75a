"""Writes a set of drawn instances, for the scripts that draw them: arguments, streams, files."""

import argparse
import random
from pathlib import Path


def write(doc, name, grid, draw):
    """Draws as many instances as are asked for on the command line.

    `grid` gives all combinations of parameters for a number of tasks; they go round in an order
    that the seed decides. `draw` makes the text of an instance of a stream, a number of tasks and
    a combination.
    """
    parser = argparse.ArgumentParser(description=doc.splitlines()[0])
    parser.add_argument("dir", type=Path)
    parser.add_argument("--tasks", type=int, required=True)
    parser.add_argument("--count", type=int, default=32)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    asked.dir.mkdir(parents=True, exist_ok=True)
    combinations = list(grid(asked.tasks))
    random.Random(asked.seed).shuffle(combinations)
    for number in range(asked.count):
        rng = random.Random(f"{asked.seed} {asked.tasks} {number}")
        text = draw(rng, asked.tasks, combinations[number % len(combinations)])
        file = asked.dir / name.format(tasks=asked.tasks, number=number + 1)
        file.write_text(text, encoding="utf-8")
    table = "instance,lower,upper,source\n"
    (asked.dir / "best_known.csv").write_text(table, encoding="utf-8")
