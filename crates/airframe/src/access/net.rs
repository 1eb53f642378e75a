//! A net of conditions: each node becomes true once enough of what feeds it is true, and
//! stays so.

/// The net. The first nodes are the *atoms*, in order; an atom becomes true when it is
/// allowed and its own inputs are true.
#[derive(Debug, Clone, Default)]
pub(crate) struct Net {
    /// How many inputs of a node must be true; for an atom, permission is one of them.
    need: Vec<i32>,
    /// The nodes that a node feeds, once for each input.
    feeds: Vec<Vec<usize>>,
    atoms: usize,
    /// The node that is true when everything is reached.
    pub(crate) goal: usize,
}

/// A state of the net, to be carried forward and back.
#[derive(Debug, Clone)]
pub(crate) struct Run<'n> {
    net: &'n Net,
    missing: Vec<i32>,
    trail: Vec<usize>,
    todo: Vec<usize>,
}

impl Net {
    /// A net of so many atoms without inputs.
    pub(crate) fn new(atoms: usize) -> Self {
        Self { need: vec![1; atoms], feeds: vec![Vec::new(); atoms], atoms, goal: 0 }
    }

    pub(crate) fn atoms(&self) -> usize {
        self.atoms
    }

    /// Makes `to` wait for `from`, besides what it waits for already.
    pub(crate) fn require(&mut self, to: usize, from: usize) {
        self.need[to] += 1;
        self.feeds[from].push(to);
    }

    /// A node that is true when all inputs are; true from the start without any.
    pub(crate) fn all(&mut self, inputs: &[usize]) -> usize {
        self.node(inputs, inputs.len() as i32)
    }

    /// A node that is true when any input is; never without any.
    pub(crate) fn any(&mut self, inputs: &[usize]) -> usize {
        self.node(inputs, 1)
    }

    fn node(&mut self, inputs: &[usize], need: i32) -> usize {
        if let ([one], 1) = (inputs, need) {
            return *one;
        }
        let node = self.need.len();
        self.need.push(need);
        self.feeds.push(Vec::new());
        for input in inputs {
            self.feeds[*input].push(node);
        }
        node
    }

    /// The net with nothing allowed.
    pub(crate) fn run(&self) -> Run<'_> {
        let mut run = Run {
            net: self,
            missing: self.need.clone(),
            trail: Vec::new(),
            todo: vec![],
        };
        let idle = (self.atoms..self.need.len()).filter(|node| self.need[*node] == 0);
        run.todo.extend(idle);
        run.spread();
        run
    }

    /// The least cost of each node when nothing is shared, and for each node the input that
    /// made it true last (for a node that any input makes true: the cheapest).
    pub(crate) fn estimate(&self, cost: &[u64], allowed: &[bool]) -> Estimates {
        let mut missing = self.need.clone();
        let mut value: Vec<u64> = vec![0; self.need.len()];
        let mut by: Vec<Vec<usize>> = vec![Vec::new(); self.need.len()];
        let mut queue = std::collections::BTreeSet::new();
        for node in 0..self.need.len() {
            if node < self.atoms {
                if !allowed[node] {
                    continue;
                }
                value[node] = cost[node];
                missing[node] -= 1;
            }
            if missing[node] == 0 {
                queue.insert((value[node], node));
            }
        }
        while let Some((worth, node)) = queue.pop_first() {
            for &next in &self.feeds[node] {
                if missing[next] <= 0 {
                    continue;
                }
                missing[next] -= 1;
                by[next].push(node);
                value[next] = value[next].saturating_add(worth);
                if missing[next] == 0 {
                    queue.insert((value[next], next));
                }
            }
        }
        Estimates { by }
    }
}

/// The outcome of [`Net::estimate`].
#[derive(Debug)]
pub(crate) struct Estimates {
    by: Vec<Vec<usize>>,
}

impl Estimates {
    /// The atoms that make a node true, each at its cheapest.
    pub(crate) fn support(&self, net: &Net) -> Vec<bool> {
        let mut seen = vec![false; self.by.len()];
        let mut todo = vec![net.goal];
        while let Some(node) = todo.pop() {
            if !std::mem::replace(&mut seen[node], true) {
                todo.extend(&self.by[node]);
            }
        }
        seen.truncate(net.atoms);
        seen
    }
}

impl Run<'_> {
    /// Whether a node is true.
    pub(crate) fn holds(&self, node: usize) -> bool {
        self.missing[node] <= 0
    }

    pub(crate) fn reached(&self) -> bool {
        self.holds(self.net.goal)
    }

    /// Allows an atom; once only.
    pub(crate) fn allow(&mut self, atom: usize) {
        self.lessen(atom);
        self.spread();
    }

    /// Where the state stands, to go back to.
    pub(crate) fn mark(&self) -> usize {
        self.trail.len()
    }

    /// Goes back.
    pub(crate) fn back(&mut self, mark: usize) {
        for node in self.trail.drain(mark..) {
            self.missing[node] += 1;
        }
    }

    fn lessen(&mut self, node: usize) {
        self.missing[node] -= 1;
        self.trail.push(node);
        if self.missing[node] == 0 {
            self.todo.push(node);
        }
    }

    fn spread(&mut self) {
        while let Some(node) = self.todo.pop() {
            for &next in &self.net.feeds[node] {
                self.lessen(next);
            }
        }
    }
}
