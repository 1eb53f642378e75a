"""Holds closure and order of removals against networkx.

Reads from standard input one JSON object with a list `graphs`. Each graph has `items` (a
number), `blocks` (pairs: the second must be off before the first), `targets`, and the answer
that is to be judged: `closure` (what comes off) and `order` (in which order). The closure
must be the targets with all their ancestors in the digraph whose edges run from what comes
off first to what waits for it; the order must be a topological order of the subgraph.

Prints one line for each graph and ends with exit code 1 if any verdict is not `agrees`.
"""

import json
import sys

import networkx


def judge(graph):
    digraph = networkx.DiGraph()
    digraph.add_nodes_from(range(graph["items"]))
    digraph.add_edges_from((first, later) for later, first in graph["blocks"])
    if not networkx.is_directed_acyclic_graph(digraph):
        return "is no question: it has a ring"
    wanted = set(graph["targets"])
    for target in graph["targets"]:
        wanted |= networkx.ancestors(digraph, target)
    if sorted(graph["closure"]) != sorted(wanted):
        return f"differs in closure: {sorted(graph['closure'])}, not {sorted(wanted)}"
    order = graph["order"]
    if sorted(order) != sorted(wanted):
        return f"differs: {order} is not an order of the closure"
    place = {item: at for at, item in enumerate(order)}
    for first, later in digraph.subgraph(wanted).edges:
        if place[first] > place[later]:
            return f"differs in order: {first} must come before {later}"
    return "agrees"


def main():
    verdicts = [judge(graph) for graph in json.load(sys.stdin)["graphs"]]
    for at, verdict in enumerate(verdicts):
        print(f"graph {at}: {verdict}")
    return 0 if all(verdict == "agrees" for verdict in verdicts) else 1


if __name__ == "__main__":
    sys.exit(main())
