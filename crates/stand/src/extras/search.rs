//! The cheapest choices that leave no rule objecting, with proof: best first over repairs.
//!
//! A node is a set of slots decided (changed to a choice, or kept); the slots not decided hold what is there, which costs nothing.
//! If a rule objects, every solution below the node changes one of the rule's undecided slots, so the node branches on these: on the
//! first of them; or, the first kept, on the second; and so on. No solution is reached twice and none is left out. Nodes are taken in
//! the order of a lower bound of their cost (what is decided, and the cheapest change that an objecting rule still asks for), so the
//! first node to which nothing objects is an optimum (Hart, Nilsson & Raphael 1968), and the next ones the second and third best.
//! A solution that contains a better one, with changes that nothing asks for, is none: of two that cost the same, the one with fewer
//! changes comes first, so it is known by then.
//!
//! Rules of the whole bicycle are asked last, when the joints are content; they branch on the slots that can cure them.

use std::{
    cmp::Reverse,
    collections::{BTreeSet, BinaryHeap},
    rc::Rc,
};

use bike::Part;

use super::space::{Origin, Space};

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
    /// Choices of a slot not looked at yet, from this one on; what was kept before the slot was reached is decided too.
    Choices { parent: Rc<Node>, kept: Rc<[usize]>, slot: usize, from: usize },
    /// A node with the undecided slots one of which has to change.
    Open { node: Rc<Node>, scope: Vec<usize> },
    /// A node to which no joint objects.
    Content(Rc<Node>),
}

/// Order in the queue: bound, then the number of changes, then the order of coming.
type Key = (i64, usize, usize);

struct Queue {
    heap: BinaryHeap<Reverse<(Key, usize)>>,
    waiting: Vec<Option<Waiting>>,
}

impl Queue {
    fn push(&mut self, bound: i64, changes: usize, waiting: Waiting) {
        let place = self.waiting.len();
        self.waiting.push(Some(waiting));
        self.heap.push(Reverse(((bound, changes, place), place)));
    }

    fn pop(&mut self) -> Option<Waiting> {
        let Reverse((_, place)) = self.heap.pop()?;
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
    queue: Queue,
    found: Found,
}

impl Search<'_, '_> {
    fn run(&mut self, whole: &mut AskWhole<'_>) {
        let rules = &self.space.rules.list;
        let joints = (0..rules.len()).filter(|place| self.wanted.active[*place] && !rules[*place].of_the_whole);
        self.objecting_to_what_is_there = joints.filter(|place| self.space.objects(*place, &self.there)).collect();
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
                    if self.found.solutions.iter().any(|better| better.changes.iter().all(|change| node.changes.iter().any(|other| self.is_like(*change, *other)))) {
                        continue;
                    }
                    let objecting: Vec<usize> = whole(&node.changes).into_iter().filter(|place| self.wanted.active[*place]).collect();
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
                    if let Some(least) = scope.iter().map(|slot| self.cheapest(*slot)).min() {
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
    fn cheapest(&self, slot: usize) -> i64 {
        self.space.slots[slot].choices.get(1).map_or(0, |choice| choice.weighed)
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
        let changed = node.changes.iter().flat_map(|change| self.space.rules.of_slot[change.0].iter().copied());
        let mut places: Vec<usize> = changed.chain(self.objecting_to_what_is_there.iter().copied()).collect();
        places.sort_unstable();
        places.dedup();
        // Of what objects: the rule with the fewest slots left to change, and the dearest of the cheapest changes asked for.
        let mut fewest: Option<Vec<usize>> = None;
        let mut bound = 0;
        for place in places {
            let rule = &self.space.rules.list[place];
            if !self.wanted.active[place] || !self.space.objects(place, &self.chosen) {
                continue;
            }
            self.found.objected.insert(place);
            let scope: Vec<usize> = rule.scope.iter().copied().filter(|slot| self.may_change(&node, *slot)).collect();
            let least = scope.iter().map(|slot| self.cheapest(*slot)).min();
            bound = bound.max(least.unwrap_or(0));
            let dead = scope.is_empty();
            if fewest.as_ref().is_none_or(|fewest| scope.len() < fewest.len()) {
                fewest = Some(scope);
            }
            if dead {
                break;
            }
        }
        self.take_off(&node.changes);
        let (weighed, changes) = (node.weighed, node.changes.len());
        match fewest {
            None => self.queue.push(weighed, changes, Waiting::Content(node)),
            Some(scope) if scope.is_empty() => {}
            Some(scope) => self.queue.push(weighed + bound, changes, Waiting::Open { node, scope }),
        }
    }

    /// One of these slots has to change.
    fn branch(&mut self, node: &Rc<Node>, scope: &[usize]) {
        for (place, slot) in scope.iter().enumerate() {
            let kept: Rc<[usize]> = node.kept.iter().chain(&scope[..place]).copied().collect();
            self.wait(node, &kept, *slot, 1);
        }
    }

    /// Puts the choices of a slot from a place on into the queue, if there are any to which nothing decided objects.
    fn wait(&mut self, parent: &Rc<Node>, kept: &Rc<[usize]>, slot: usize, from: usize) {
        self.put_on(&parent.changes);
        let next = self.next_choice(parent, kept, slot, from);
        self.take_off(&parent.changes);
        if let Some(next) = next {
            let bound = parent.weighed + self.space.slots[slot].choices[next].weighed;
            let waiting = Waiting::Choices { parent: Rc::clone(parent), kept: Rc::clone(kept), slot, from: next };
            self.queue.push(bound, parent.changes.len() + 1, waiting);
        }
    }

    /// The next choice of a slot to which no rule objects whose slots are all decided. The parent's changes are on.
    fn next_choice(&mut self, parent: &Node, kept: &[usize], slot: usize, from: usize) -> Option<usize> {
        let is_decided = |other: usize| other == slot || kept.contains(&other) || parent.is_decided(other) || !self.space.slots[other].is_open();
        let rules = &self.space.rules;
        let is_settled = |place: &usize| rules.list[*place].scope.iter().all(|other| is_decided(*other));
        let decided: Vec<usize> =
            rules.of_slot[slot].iter().copied().filter(|place| self.wanted.active[*place]).filter(is_settled).collect();
        let choices = &self.space.slots[slot].choices;
        for (place, choice) in choices.iter().enumerate().skip(from) {
            if self.wanted.budget.is_some_and(|budget| parent.money + choice.money > budget) {
                self.found.over_budget = true;
                continue;
            }
            self.chosen[slot] = choice.part.as_deref();
            match decided.iter().find(|place| self.space.objects(**place, &self.chosen)) {
                Some(place) => {
                    self.found.objected.insert(*place);
                }
                None => {
                    self.chosen[slot] = self.there[slot];
                    return Some(place);
                }
            }
        }
        self.chosen[slot] = self.there[slot];
        None
    }

    /// Takes a choice, and leaves those after it waiting.
    fn choose(&mut self, parent: &Rc<Node>, kept: &Rc<[usize]>, slot: usize, place: usize) {
        let choice = &self.space.slots[slot].choices[place];
        let mut changes = parent.changes.clone();
        changes.push((slot, place));
        let (weighed, money) = (parent.weighed + choice.weighed, parent.money + choice.money);
        self.enter(Rc::new(Node { changes, kept: kept.to_vec(), weighed, money }));
        self.wait(parent, kept, slot, place + 1);
    }
}
