"""How the peer's scripts count time: by the wall, or by the processor.

A clock begins when the model is built, so that what Python needs to read a file and to build
a model is not held against the solver. A limit of processor time is spent by all threads
together; `left` and `passed` are then told as if the threads shared it evenly, so that they
read like time of the wall on an idle machine. A time is written 1500ms, 1.5s or 2m.
"""

import argparse
import re
import threading
import time
from pathlib import Path


class Clock:
    """A limit that has begun to run."""

    def __init__(self, asked):
        self.begun, self.spent = time.perf_counter(), time.process_time()
        self.threads, self.wall, self.processor = asked.threads, asked.limit, asked.processor

    def seconds(self):
        return time.perf_counter() - self.begun

    def processor_seconds(self):
        return time.process_time() - self.spent

    def passed(self):
        if self.processor is None:
            return self.seconds()
        return self.processor_seconds() / self.threads

    def left(self):
        left = self.wall - self.seconds()
        if self.processor is not None:
            left = min(left, self.processor / self.threads - self.passed())
        return max(left, 0.0)


class Stopper:
    """Stops a solver as soon as a test says so; to be used with `with`."""

    def __init__(self, solver, test):
        self.solver, self.test = solver, test
        self.over = threading.Event()
        self.thread = threading.Thread(target=self.watch, daemon=True)

    def watch(self):
        # Again and again: a call before the search has begun would be lost.
        while not self.over.wait(0.005):
            if self.test():
                self.solver.stop_search()

    def __enter__(self):
        self.thread.start()
        return self

    def __exit__(self, *_):
        self.over.set()
        self.thread.join()


def seconds(text):
    found = re.fullmatch(r"([0-9.]+)(ms|s|m|)", text)
    if found is None:
        raise argparse.ArgumentTypeError("a time is written 1500ms, 1.5s or 2m")
    number, unit = found.groups()
    return float(number) * {"ms": 0.001, "s": 1.0, "m": 60.0, "": 1.0}[unit]


def parser():
    """The arguments that every solver of the benchmarks takes."""
    made = argparse.ArgumentParser()
    made.add_argument("file", type=Path)
    made.add_argument("--for", dest="limit", type=seconds, default=2.0)
    made.add_argument("--processor", type=seconds)
    made.add_argument("--threads", type=int, default=2)
    made.add_argument("--seed", type=int, default=1)
    made.add_argument("--json", action="store_true")
    return made
