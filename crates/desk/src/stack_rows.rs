//! Stacks on the table: a closed one takes one place, an open one lies fanned out.

use project::catalogue::{Edit, PrintId, Stack};
use std::collections::{BTreeSet, HashMap, HashSet};

/// A place on the table: the print that is seen there, and how many of its stack lie under it.
pub(super) type Lies = (PrintId, usize);

/// Lays what was found: of a closed stack one print is seen, where the first of it would lie; of an open one all that were
/// found lie there side by side, in the stack's order.
pub(super) fn fold(found: &[PrintId], stacks: &[Stack], open: &[i64], edits: &[Edit]) -> Vec<Lies> {
    let of: HashMap<PrintId, &Stack> = stacks.iter().flat_map(|s| s.prints.iter().map(move |p| (*p, s))).collect();
    let mut rounds: HashMap<PrintId, usize> = HashMap::new();
    edits.iter().flat_map(|e| &e.prints).for_each(|p| *rounds.entry(*p).or_default() += 1);
    let there: HashSet<PrintId> = found.iter().copied().filter(|p| of.contains_key(p)).collect();
    let mut laid = BTreeSet::new();
    let mut places = Vec::with_capacity(found.len());
    for print in found {
        let Some(stack) = of.get(print) else {
            places.push((*print, 0));
            continue;
        };
        if !laid.insert(stack.number) {
            continue;
        }
        let members: Vec<PrintId> = stack.prints.iter().copied().filter(|p| there.contains(p)).collect();
        if open.contains(&stack.number) {
            places.extend(members.into_iter().map(|p| (p, 0)));
        } else {
            places.push((top(&members, &rounds).unwrap_or(*print), members.len() - 1));
        }
    }
    places
}

/// The print that lies on top: the one that was taken farthest through the edits, else the first.
fn top(members: &[PrintId], rounds: &HashMap<PrintId, usize>) -> Option<PrintId> {
    let taken = |p: &&PrintId| rounds.get(*p).copied().unwrap_or(0);
    // Of equals `max_by_key` gives the last: asked from behind, that is the first.
    members.iter().rev().max_by_key(taken).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ids<const N: usize>(numbers: [i64; N]) -> Vec<PrintId> {
        numbers.map(PrintId).to_vec()
    }

    fn stack(number: i64, prints: Vec<PrintId>) -> Stack {
        Stack { number, proposed: false, prints }
    }

    fn places(lies: &[Lies]) -> Vec<(i64, usize)> {
        lies.iter().map(|(p, under)| (p.0, *under)).collect()
    }

    #[test]
    fn a_closed_stack_is_one_place_and_an_open_one_lies_side_by_side() {
        let stacks = [stack(1, ids([2, 7])), stack(2, ids([5, 3, 9]))];
        let found = ids([1, 2, 3, 4, 5, 7, 9]);
        assert_eq!(places(&fold(&found, &stacks, &[], &[])), [(1, 0), (2, 1), (5, 2), (4, 0)]);
        let open = fold(&found, &stacks, &[2], &[]);
        assert_eq!(places(&open), [(1, 0), (2, 1), (5, 0), (3, 0), (9, 0), (4, 0)]);
        // A search that finds some of a stack lays those.
        assert_eq!(places(&fold(&ids([9, 3]), &stacks, &[], &[])), [(3, 1)]);
        assert_eq!(places(&fold(&ids([9]), &stacks, &[], &[])), [(9, 0)]);
        assert_eq!(places(&fold(&found, &[], &[1], &[])).len(), 7);
    }

    #[test]
    fn the_chosen_one_lies_on_top() {
        let edit = |name: &str, prints| Edit { name: name.into(), kind: name.into(), prints };
        let edits = [edit("wide", ids([7, 2, 1])), edit("tight", ids([7]))];
        assert_eq!(places(&fold(&ids([1, 2, 7]), &[stack(1, ids([2, 7]))], &[], &edits)), [(1, 0), (7, 1)]);
    }
}
