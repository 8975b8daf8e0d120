//! The numbers on the labels of packs: no two packs of a book have the same.

use super::event::PlanLine;
use crate::kitchen::Kitchen;
use crate::process::{Kind, durations};

/// First and last number of a joint's packs.
pub type Numbers = (u32, u32);

/// Numbers for the packs of each joint, in the order they are packed: for each the lowest after those before it that are free.
pub fn numbered(wanted: &[(String, u32)], taken: &[Numbers]) -> Vec<(String, Numbers)> {
    let mut next = 1;
    let mut out = Vec::new();
    for (joint, packs) in wanted {
        let last = |first: u32| first + packs.max(&1) - 1;
        while let Some(in_the_way) = taken.iter().find(|t| t.0 <= last(next) && t.1 >= next) {
            next = in_the_way.1 + 1;
        }
        out.push((joint.clone(), (next, last(next))));
        next = last(next) + 1;
    }
    out
}

/// The joints that tasks pack, in the order they are packed, each with how many packs it is reckoned to make.
pub(super) fn wanted(kitchen: &Kitchen, lines: &[&PlanLine]) -> Vec<(String, u32)> {
    let mut order: Vec<&&PlanLine> = lines.iter().filter(|l| l.kind == Kind::VacuumPack).collect();
    order.sort_by_key(|l| (l.start, &l.id));
    let joint = |n: &String| kitchen.joints.iter().find(|j| j.name == *n);
    let joints = order.into_iter().flat_map(|l| l.joints.iter().filter_map(joint));
    joints.map(|j| (j.name.clone(), durations::packs(j, &kitchen.cure))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two batches packed by turns; when the first is closed the second keeps its numbers.
    #[test]
    fn what_stands_on_a_label_stays_there() {
        let want = |names: &[(&str, u32)]| names.iter().map(|(n, k)| ((*n).to_owned(), *k)).collect::<Vec<_>>();
        let all = numbered(&want(&[("A1", 14), ("B1", 8), ("A2", 1), ("B2", 3)]), &[]);
        let of = |list: &[(String, Numbers)], n: &str| list.iter().find(|x| x.0 == n).unwrap().1;
        assert_eq!(["A1", "B1", "A2", "B2"].map(|n| of(&all, n)), [(1, 14), (15, 22), (23, 23), (24, 26)]);
        let taken = [of(&all, "A2"), of(&all, "A1")];
        let left = numbered(&want(&[("B1", 8), ("B2", 3), ("C", 9)]), &taken);
        assert_eq!(["B1", "B2", "C"].map(|n| of(&left, n)), [(15, 22), (24, 26), (27, 35)]);
        // A gap that is too small is passed over.
        assert_eq!(numbered(&want(&[("D", 5)]), &[(4, 9)]), [("D".to_owned(), (10, 14))]);
        assert_eq!(numbered(&want(&[("D", 3)]), &[(4, 9)]), [("D".to_owned(), (1, 3))]);
        assert_eq!(numbered(&want(&[("E", 0)]), &[]), [("E".to_owned(), (1, 1))]);
    }
}
