//! The cheapest choices that leave no rule objecting, with proof: best first over repairs.
//!
//! A node is a set of slots decided (changed to a choice, or kept); the slots not decided hold what is there, which costs nothing.
//! If a rule objects, every solution below the node changes one of the rule's undecided slots, so the node branches on these: on the
//! first of them; or, the first kept, on the second; and so on. No solution is reached twice and none is left out. Nodes are taken in
//! the order of a lower bound of their cost (what is decided, and the cheapest changes that objecting rules with no slot in common
//! still ask for), so the first node to which nothing objects is an optimum (Hart, Nilsson & Raphael 1968), and the next ones the second and third best.
//! A solution that contains a better one, with changes that nothing asks for, is none: of two that cost the same, the one with fewer
//! changes comes first, so it is known by then.
//!
//! Rules of the whole bicycle are asked last, when the joints are content; they branch on the slots that can cure them.

use std::{
    cell::OnceCell,
    cmp::Reverse,
    collections::{BTreeSet, BinaryHeap},
    rc::Rc,
};

use bike::Part;

use super::space::{Origin, Space};

/// The cost of what cannot be: large, but so that sums stay far from the largest number.
const NEVER: i64 = i64::MAX / 64;

/// A slot and the place of one of its choices.
pub(crate) type Change = (usize, usize);

/// A set of changes to which nothing objects.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Solution {
    pub(crate) changes: Vec<Change>,
    pub(crate) weighed: i64,
}

/// What a search found.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    /// Cheapest first.
    pub(crate) solutions: Vec<Solution>,
    /// The search went to its end, or found as many as were wanted: what it found is proven. If not, it was given up.
    pub(crate) proven: bool,
    /// Places in the space's rules of those that objected anywhere.
    pub(crate) objected: BTreeSet<usize>,
    /// The budget stood in the way of something.
    pub(crate) over_budget: bool,
}

/// What is asked of a search.
pub(crate) struct Wanted<'w> {
    /// Solutions, at most.
    pub(crate) solutions: usize,
    /// Rules that count, by place in the space's list.
    pub(crate) active: &'w [bool],
    /// The most that may be spent, in hundredths.
    pub(crate) budget: Option<i64>,
    /// Nodes after which it is given up.
    pub(crate) most_nodes: usize,
}

/// Asks the rules of the whole bicycle about changes to which no joint objects: places in the space's rules of those that object.
pub(crate) type AskWhole<'w> = dyn FnMut(&[Change]) -> Vec<usize> + 'w;

/// A node: what is decided.
#[derive(Debug)]
struct Node {
    changes: Vec<Change>,
    kept: Vec<usize>,
    weighed: i64,
    money: i64,
}

impl Node {
    fn is_decided(&self, slot: usize) -> bool {
        self.kept.contains(&slot) || self.changes.iter().any(|change| change.0 == slot)
    }
}

/// What waits in the queue, in the order of its bound.
enum Waiting {
    /// Choices of a slot not looked at yet, from this place among the possible ones on; what was kept before the slot was reached is decided too.
    Choices { parent: Rc<Node>, kept: Rc<[usize]>, slot: usize, from: usize },
    /// A node with the undecided slots one of which has to change.
    Open { node: Rc<Node>, scope: Vec<usize> },
    /// A node to which no joint objects.
    Content(Rc<Node>),
}

/// Order in the queue: bound, then the number of changes, then the order of coming, which is the place it waits in.
type Key = (i64, usize, usize);

struct Queue {
    heap: BinaryHeap<Reverse<Key>>,
    waiting: Vec<Option<Waiting>>,
}

impl Queue {
    fn push(&mut self, bound: i64, changes: usize, waiting: Waiting) {
        let place = self.waiting.len();
        self.waiting.push(Some(waiting));
        self.heap.push(Reverse((bound, changes, place)));
    }

    fn pop(&mut self) -> Option<Waiting> {
        let Reverse((_, _, place)) = self.heap.pop()?;
        self.waiting[place].take()
    }
}

/// Searches.
pub(crate) fn search(space: &Space<'_>, wanted: &Wanted<'_>, whole: &mut AskWhole<'_>) -> Found {
    let there = space.there();
    let mut search = Search {
        space,
        wanted,
        chosen: there.clone(),
        there,
        objecting_to_what_is_there: Vec::new(),
        possible: vec![OnceCell::new(); space.slots.len()],
        queue: Queue { heap: BinaryHeap::new(), waiting: Vec::new() },
        found: Found { solutions: Vec::new(), proven: false, objected: BTreeSet::new(), over_budget: false },
    };
    search.run(whole);
    search.found
}

struct Search<'s, 'g> {
    space: &'s Space<'g>,
    wanted: &'s Wanted<'s>,
    there: Vec<Option<&'s Part>>,
    /// Scratch: what is there, with the changes of the node at hand.
    chosen: Vec<Option<&'s Part>>,
    objecting_to_what_is_there: Vec<usize>,
    /// Choices of each slot to which no rule objects that has no other slot to change, found when first needed.
    possible: Vec<OnceCell<Vec<usize>>>,
    queue: Queue,
    found: Found,
}

impl Search<'_, '_> {
    fn run(&mut self, whole: &mut AskWhole<'_>) {
        self.objecting_to_what_is_there = self.space.objecting().filter(|place| self.wanted.active[*place]).collect();
        self.enter(Rc::new(Node { changes: Vec::new(), kept: Vec::new(), weighed: 0, money: 0 }));
        let mut nodes = 0;
        while let Some(next) = self.queue.pop() {
            nodes += 1;
            if nodes > self.wanted.most_nodes {
                return;
            }
            match next {
                Waiting::Choices { parent, kept, slot, from } => self.choose(&parent, &kept, slot, from),
                Waiting::Open { node, scope } => self.branch(&node, &scope),
                Waiting::Content(node) => {
                    if self.found.solutions.iter().any(|better| {
                        better.changes.iter().all(|change| node.changes.iter().any(|other| self.is_like(*change, *other)))
                    }) {
                        continue;
                    }
                    let objecting: Vec<usize> =
                        whole(&node.changes).into_iter().filter(|place| self.wanted.active[*place]).collect();
                    if objecting.is_empty() {
                        self.found.solutions.push(Solution { changes: node.changes.clone(), weighed: node.weighed });
                        if self.found.solutions.len() >= self.wanted.solutions {
                            break;
                        }
                        continue;
                    }
                    let mut scope: Vec<usize> =
                        objecting.iter().flat_map(|place| self.space.rules.list[*place].scope.iter().copied()).collect();
                    self.found.objected.extend(objecting);
                    scope.sort_unstable();
                    scope.dedup();
                    scope.retain(|slot| self.may_change(&node, *slot));
                    if let Some(least) = scope.iter().map(|slot| self.cheapest(*slot)).min().filter(|least| *least < NEVER) {
                        self.queue.push(node.weighed + least, node.changes.len(), Waiting::Open { node, scope });
                    }
                }
            }
        }
        self.found.proven = true;
    }

    /// Whether two changes are as good as the same: the same work, if only another amount of it.
    fn is_like(&self, one: Change, other: Change) -> bool {
        let origin = |change: Change| self.space.slots[change.0].choices[change.1].origin;
        let same_work = || matches!((origin(one), origin(other)), (Origin::Work(a, _), Origin::Work(b, _)) if a == b);
        one.0 == other.0 && (one.1 == other.1 || same_work())
    }

    fn may_change(&self, node: &Node, slot: usize) -> bool {
        self.space.slots[slot].is_open() && !node.is_decided(slot)
    }

    /// Cost of the cheapest change of a slot.
    fn cheapest(&mut self, slot: usize) -> i64 {
        let first = self.possible(slot).first().copied();
        first.map_or(NEVER, |choice| self.space.slots[slot].choices[choice].weighed)
    }

    /// Choices of a slot, but what is there, to which no rule objects that looks at nothing else that could change.
    fn possible(&mut self, slot: usize) -> &[usize] {
        if self.possible[slot].get().is_none() {
            let (list, objected) = self.space.possible(slot, self.wanted.active);
            self.found.objected.extend(objected);
            let _ = self.possible[slot].set(list);
        }
        self.possible[slot].get().map_or(&[], Vec::as_slice)
    }

    fn put_on(&mut self, changes: &[Change]) {
        for &(slot, choice) in changes {
            self.chosen[slot] = self.space.slots[slot].choices[choice].part.as_deref();
        }
    }

    fn take_off(&mut self, changes: &[Change]) {
        for &(slot, _) in changes {
            self.chosen[slot] = self.there[slot];
        }
    }

    /// Looks what objects to a node and puts it into the queue accordingly.
    fn enter(&mut self, node: Rc<Node>) {
        self.put_on(&node.changes);
        let changed = node.changes.iter().flat_map(|change| self.space.rules_of_change(*change));
        let mut places: Vec<usize> = changed.chain(self.objecting_to_what_is_there.iter().copied()).collect();
        places.sort_unstable();
        places.dedup();
        // Of what objects: the rule with the fewest slots left to change is branched on. Rules that have no slot in common ask for a
        // change each, so the cheapest changes they ask for add up; rules that have, for the dearest of theirs.
        // What the proof stands on is the rule that is branched on, or that nothing can clear; the others only say in which order to look.
        let mut scopes: Vec<(usize, Vec<usize>)> = Vec::new();
        let mut dead = None;
        for place in places {
            if !self.wanted.active[place] || !self.space.objects(place, &self.chosen) {
                continue;
            }
            let rule = &self.space.rules.list[place];
            let may = |slot: &usize| !node.is_decided(*slot) && self.space.can_clear(place, *slot);
            let scope: Vec<usize> = rule.scope.iter().copied().filter(may).collect();
            if scope.is_empty() {
                dead = Some(place);
                break;
            }
            scopes.push((place, scope));
        }
        self.take_off(&node.changes);
        if let Some(place) = dead {
            self.found.objected.insert(place);
            return;
        }
        let mut asked: Vec<(i64, usize, Vec<usize>)> = Vec::with_capacity(scopes.len());
        for (place, scope) in scopes {
            let Some(least) = scope.iter().map(|slot| self.cheapest(*slot)).min().filter(|least| *least < NEVER) else {
                self.found.objected.insert(place);
                return;
            };
            asked.push((least, place, scope));
        }
        asked.sort_by_key(|asked| Reverse(asked.0));
        let mut bound = 0;
        let mut counted: Vec<usize> = Vec::new();
        for (least, _, scope) in &asked {
            if scope.iter().all(|slot| !counted.contains(slot)) {
                bound += least;
                counted.extend(scope);
            }
        }
        // The rule that leaves the fewest choices is branched on: what cannot be cleared is found out before what can.
        let choices = |scope: &[usize]| scope.iter().map(|slot| self.possible[*slot].get().map_or(0, Vec::len)).sum::<usize>();
        let fewest = asked.into_iter().min_by_key(|asked| choices(&asked.2));
        let (weighed, changes) = (node.weighed, node.changes.len());
        match fewest {
            None => self.queue.push(weighed, changes, Waiting::Content(node)),
            Some((_, place, scope)) => {
                self.found.objected.insert(place);
                self.queue.push(weighed + bound, changes, Waiting::Open { node, scope });
            }
        }
    }

    /// One of these slots has to change.
    fn branch(&mut self, node: &Rc<Node>, scope: &[usize]) {
        for (place, slot) in scope.iter().enumerate() {
            let kept: Rc<[usize]> = node.kept.iter().chain(&scope[..place]).copied().collect();
            self.wait(node, &kept, *slot, 0);
        }
    }

    /// Puts the choices of a slot from a place on into the queue, if there are any to which nothing decided objects.
    fn wait(&mut self, parent: &Rc<Node>, kept: &Rc<[usize]>, slot: usize, from: usize) {
        self.put_on(&parent.changes);
        let next = self.next_choice(parent, kept, slot, from);
        self.take_off(&parent.changes);
        if let Some(next) = next {
            let choice = self.possible(slot)[next];
            let bound = parent.weighed + self.space.slots[slot].choices[choice].weighed;
            let waiting = Waiting::Choices { parent: Rc::clone(parent), kept: Rc::clone(kept), slot, from: next };
            self.queue.push(bound, parent.changes.len() + 1, waiting);
        }
    }

    /// The next of the possible choices of a slot to which no rule objects whose slots are all decided. The parent's changes are on.
    fn next_choice(&mut self, parent: &Node, kept: &[usize], slot: usize, from: usize) -> Option<usize> {
        let is_decided = |other: usize| {
            other == slot || kept.contains(&other) || parent.is_decided(other) || !self.space.slots[other].is_open()
        };
        let rules = &self.space.rules;
        let is_settled = |place: &usize| rules.list[*place].scope.iter().all(|other| is_decided(*other));
        let is_alone =
            |place: &usize| rules.list[*place].scope.iter().all(|other| *other == slot || !self.space.slots[*other].is_open());
        let counts = |place: &usize| self.wanted.active[*place] && is_settled(place) && !is_alone(place);
        let decided: Vec<usize> = rules.of_slot[slot].iter().copied().filter(counts).collect();
        let mut found = None;
        for place in from..self.possible(slot).len() {
            let choice = &self.space.slots[slot].choices[self.possible(slot)[place]];
            if self.wanted.budget.is_some_and(|budget| parent.money + choice.money > budget) {
                self.found.over_budget = true;
                continue;
            }
            self.chosen[slot] = choice.part.as_deref();
            if let Some(rule) = decided.iter().find(|rule| self.space.objects(**rule, &self.chosen)) {
                self.found.objected.insert(*rule);
            } else {
                found = Some(place);
                break;
            }
        }
        self.chosen[slot] = self.there[slot];
        found
    }

    /// Takes a choice, and leaves those after it waiting.
    fn choose(&mut self, parent: &Rc<Node>, kept: &Rc<[usize]>, slot: usize, place: usize) {
        let number = self.possible(slot)[place];
        let choice = &self.space.slots[slot].choices[number];
        let mut changes = parent.changes.clone();
        changes.push((slot, number));
        let (weighed, money) = (parent.weighed + choice.weighed, parent.money + choice.money);
        self.enter(Rc::new(Node { changes, kept: kept.to_vec(), weighed, money }));
        self.wait(parent, kept, slot, place + 1);
    }
}
