//! What is joined to what, by union and find.
//!
//! Belongs here: the referees' own notion of connectivity, written without a look at the
//! engine's. Does not belong here: values.

/// Sets of joints that are joined somehow.
#[derive(Clone, Debug)]
pub struct Joined {
    parent: Vec<usize>,
}

impl Joined {
    /// That many joints, none joined to another.
    pub fn new(joints: usize) -> Self {
        Joined { parent: (0..joints).collect() }
    }

    fn root(&self, mut joint: usize) -> usize {
        while self.parent[joint] != joint {
            joint = self.parent[joint];
        }
        joint
    }

    /// Joins two.
    pub fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        self.parent[a] = b;
    }

    /// Whether a path leads from one to the other.
    pub fn are(&self, a: usize, b: usize) -> bool {
        self.root(a) == self.root(b)
    }
}
