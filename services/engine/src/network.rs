//! Resistance between two points of a network of resistors.
//!
//! Belongs here: one algorithm, star-mesh elimination, and its test oracle. Does not belong
//! here: what the resistors stand for, and many networks at once ([`crate::sweep`], of whose
//! tests this is the oracle).
//!
//! Why not a factorisation with rank-1 updates: on a circuit that floats from its shell
//! through hundreds of megohms, updates for double faults lose all digits without looking
//! wrong, and need a guard that finds and re-solves them. Eliminating one joint after the
//! other by the star-mesh transform only ever adds, multiplies and divides positive numbers.
//! Nothing is subtracted, so nothing cancels: every answer keeps about 1e-14 relative
//! accuracy whatever the spread of values, and "no path" comes out as an exact zero
//! conductance. The guard is thus in the arithmetic, not beside it.

use crate::sweep::bits;

/// The most joints of a network.
pub const JOINTS_MAX: usize = crate::circuit_file::POINTS_MAX;

/// Resistors between numbered joints.
#[derive(Clone, Debug)]
pub struct Network {
    joints: usize,
    /// Conductance between each pair of joints, siemens, row-major and symmetric.
    siemens: Vec<f64>,
    /// For each joint the set of joints it is joined to, one bit each.
    joined: Vec<u64>,
}

impl Network {
    /// A network of that many joints and no resistors.
    ///
    /// # Panics
    /// When there are more than [`JOINTS_MAX`] joints; circuit files are checked before.
    pub fn new(joints: usize) -> Self {
        assert!(joints <= JOINTS_MAX, "{joints} joints are more than {JOINTS_MAX}");
        Network { joints, siemens: vec![0.0; joints * joints], joined: vec![0; joints] }
    }

    /// How many joints there are.
    pub fn joints(&self) -> usize {
        self.joints
    }

    /// Puts a resistor of `ohm` (above 0) between two joints, beside any that is there.
    pub fn join(&mut self, a: usize, b: usize, ohm: f64) {
        if a == b {
            return;
        }
        let siemens = 1.0 / ohm;
        self.siemens[a * self.joints + b] += siemens;
        self.siemens[b * self.joints + a] += siemens;
        self.joined[a] |= 1 << b;
        self.joined[b] |= 1 << a;
    }

    fn all_joints(&self) -> u64 {
        u64::MAX >> (64 - self.joints.max(1))
    }

    /// The resistance between two joints, ohm; `None` where nothing joins them.
    ///
    /// ```
    /// use engine::network::Network;
    /// let mut network = Network::new(4);
    /// network.join(0, 1, 0.48);
    /// network.join(1, 2, 1.30);
    /// assert!((network.resistance_ohm(0, 2).unwrap() - 1.78).abs() < 1e-12);
    /// assert_eq!(network.resistance_ohm(0, 3), None);
    /// ```
    pub fn resistance_ohm(&self, a: usize, b: usize) -> Option<f64> {
        if a == b {
            return Some(0.0);
        }
        let n = self.joints;
        let mut siemens = self.siemens.clone();
        let mut spokes_of = self.joined.clone();
        let mut left = self.all_joints() & !(1u64 << a) & !(1u64 << b);
        while left != 0 {
            // Fewest spokes first keeps the mesh sparse; the order never changes the answer
            // beyond rounding, and ties go to the first so that bytes repeat.
            let mut joint = left.trailing_zeros() as usize;
            for other in bits(left) {
                if spokes_of[other].count_ones() < spokes_of[joint].count_ones() {
                    joint = other;
                }
            }
            left &= !(1u64 << joint);
            let spokes = spokes_of[joint];
            let total: f64 = bits(spokes).map(|other| siemens[joint * n + other]).sum();
            for first in bits(spokes) {
                let share = siemens[joint * n + first] / total;
                // Only the spokes after this one: each pair once.
                for second in bits(spokes & !((2u64 << first).wrapping_sub(1))) {
                    let added = share * siemens[joint * n + second];
                    siemens[first * n + second] += added;
                    siemens[second * n + first] += added;
                }
                spokes_of[first] |= spokes & !(1u64 << first);
                spokes_of[first] &= !(1u64 << joint);
            }
        }
        let direct = siemens[a * n + b];
        (direct > 0.0).then(|| 1.0 / direct)
    }

    /// The same by Gaussian elimination of the grounded nodal equations: the test oracle.
    /// It cancels on ill-scaled circuits, which is why it is only an oracle.
    pub fn resistance_ohm_by_nodal_equations(&self, a: usize, b: usize) -> Option<f64> {
        if a == b {
            return Some(0.0);
        }
        let reached = self.reached_from(b);
        if !reached[a] {
            return None;
        }
        let rows: Vec<usize> =
            (0..self.joints).filter(|&joint| reached[joint] && joint != b).collect();
        let size = rows.len();
        let mut matrix = vec![0.0; size * (size + 1)];
        let width = size + 1;
        for (row, &joint) in rows.iter().enumerate() {
            for other in 0..self.joints {
                let siemens = self.siemens[joint * self.joints + other];
                matrix[row * width + row] += siemens;
                if let Some(column) = rows.iter().position(|&known| known == other) {
                    matrix[row * width + column] -= siemens;
                }
            }
            matrix[row * width + size] = if joint == a { 1.0 } else { 0.0 };
        }
        for pivot in 0..size {
            let best = (pivot..size).max_by(|&x, &y| {
                matrix[x * width + pivot].abs().total_cmp(&matrix[y * width + pivot].abs())
            })?;
            for column in 0..width {
                matrix.swap(pivot * width + column, best * width + column);
            }
            for row in 0..size {
                if row != pivot {
                    let factor = matrix[row * width + pivot] / matrix[pivot * width + pivot];
                    for column in pivot..width {
                        matrix[row * width + column] -= factor * matrix[pivot * width + column];
                    }
                }
            }
        }
        let row = rows.iter().position(|&joint| joint == a)?;
        Some(matrix[row * width + size] / matrix[row * width + row])
    }

    /// The joints that are joined to `start` somehow, itself included.
    pub fn reached_from(&self, start: usize) -> Vec<bool> {
        let mut reached = 1u64 << start;
        let mut queue = reached;
        while queue != 0 {
            let joint = queue.trailing_zeros() as usize;
            queue &= queue - 1;
            let fresh = self.joined[joint] & !reached;
            reached |= fresh;
            queue |= fresh;
        }
        (0..self.joints).map(|joint| reached >> joint & 1 == 1).collect()
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn ladder(values: &[(usize, usize, f64)], joints: usize) -> Network {
        let mut network = Network::new(joints);
        for &(a, b, ohm) in values {
            network.join(a % joints, b % joints, ohm);
        }
        network
    }

    #[test]
    fn nothing_between_the_probes_is_over_limit_and_not_a_singular_matrix() {
        let network = Network::new(3);
        assert_eq!(network.resistance_ohm(0, 1), None);
    }

    #[test]
    fn a_floating_circuit_keeps_its_digits_with_two_faults() {
        // Two islands tied only through 600 MΩ to the shell (joint 0): the case in which
        // rank-1 updates lose every digit.
        let mut network = Network::new(5);
        network.join(1, 2, 0.48);
        network.join(2, 0, 6e8);
        network.join(3, 4, 1.30);
        network.join(3, 0, 6e8);
        let seen = network.resistance_ohm(1, 4).expect("joined through the shell");
        let exact = 0.48 + 6e8 + 6e8 + 1.30;
        assert!((seen / exact - 1.0).abs() < 1e-14);
        assert!((network.resistance_ohm(1, 2).expect("joined") / 0.48 - 1.0).abs() < 1e-14);
    }

    proptest! {
        #[test]
        fn star_mesh_agrees_with_the_nodal_equations(
            values in prop::collection::vec((0usize..12, 0usize..12, 0.01f64..1e4), 1..40),
            joints in 2usize..12,
        ) {
            let network = ladder(&values, joints);
            let mesh = network.resistance_ohm(0, 1);
            let nodal = network.resistance_ohm_by_nodal_equations(0, 1);
            match (mesh, nodal) {
                (None, None) => {}
                (Some(mesh), Some(nodal)) => prop_assert!((mesh / nodal - 1.0).abs() < 1e-8),
                other => prop_assert!(false, "one says no path: {other:?}"),
            }
        }

        #[test]
        fn a_resistor_more_never_raises_a_resistance(
            values in prop::collection::vec((0usize..8, 0usize..8, 0.01f64..1e6), 1..20),
            extra in (0usize..8, 0usize..8, 0.01f64..1e6),
        ) {
            let before = ladder(&values, 8).resistance_ohm(0, 1);
            let mut more = values.clone();
            more.push(extra);
            let after = ladder(&more, 8).resistance_ohm(0, 1);
            if let Some(before) = before {
                let after = after.expect("a path cannot vanish by adding one");
                prop_assert!(after <= before * (1.0 + 1e-12));
            }
        }
    }
}
