//! One block: which of its guests goes on which animal and side.
//!
//! The guests are given; every choice of animals that holds them is gone through, the most promising first, and left as
//! soon as a bound says that nothing better can come of it.
#![expect(clippy::indexing_slicing, reason = "places are counted out here from the lists they point into")]

use super::cost::Cost;
use super::model::{Beast, Model, takes, ways};
use super::part::{Part, least_outside};
use super::problem::{Sides, Spot};
use super::room::Room;
use super::work::Work;

mod hope;

/// A reservation that goes onto the block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Guest {
    pub(super) want: usize,
    /// Whether it stays where it stands; else it may go anywhere but there.
    pub(super) stay: bool,
    /// Where alone it may go.
    pub(super) fixed: Option<(usize, Sides)>,
}

/// What is asked of the block.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ask {
    /// The least loss when these are all the guests.
    Best,
    /// The least that these guests lose among themselves, whoever else comes.
    Floor,
    /// Of the plans that lose no more than the limit, the one that comes first in the order of reservations and animals.
    First,
}

/// An answer. What is lost is on top of what the path through the layers has counted for the guests.
#[derive(Debug, Clone)]
pub(super) struct Housed {
    pub(super) best: Option<(Cost, Vec<(usize, Spot)>)>,
    /// The least anything can lose here; `NEVER` when there is no way (within the limit).
    pub(super) floor: Cost,
}

/// Houses guests on block `b`; `limit` is what may be lost at most.
pub(super) fn house(
    model: &Model,
    part: &Part,
    b: usize,
    guests: &[Guest],
    ask: Ask,
    limit: Cost,
    work: &mut Work,
) -> Housed {
    let mut pen = Pen::new(model, part, b, guests, ask, limit);
    if !pen.fits(0) {
        return Housed { best: None, floor: Cost::NEVER };
    }
    let root = pen.bound(0);
    pen.go(0, root, work);
    if pen.best.is_none() && pen.unseen.is_some() && ask == Ask::Best {
        pen.hurry();
    }
    let found = pen.best.map(|spots| (pen.limit, spots));
    let floor = match (&found, pen.unseen) {
        (_, Some(unseen)) => unseen.min(pen.limit),
        (Some((cost, _)), None) => *cost,
        (None, None) => Cost::NEVER,
    };
    Housed { best: found, floor }
}

struct Pen<'a> {
    model: &'a Model,
    heads: Vec<&'a Beast>,
    names: &'a [usize],
    guests: Vec<Guest>,
    ask: Ask,
    /// By guest: the distance already counted for it.
    counted: Vec<i64>,
    room: Vec<[u8; 2]>,
    put: Vec<u8>,
    /// By animal and side: single quarters there whose sheets may differ from others.
    beside: Vec<[Vec<usize>; 2]>,
    /// By animal: the first animal that is like it in everything, itself if none is.
    like: Vec<usize>,
    /// By animal: whether left and right are the same to everyone.
    even: Vec<bool>,
    /// By guest: the group that wants one animal and could be together here.
    team_of: Vec<Option<usize>>,
    /// By guest: the guest before it that is as good as it in everything.
    twin: Vec<Option<usize>>,
    /// Guests that ask for a weight and may go anywhere.
    weighed: Vec<usize>,
    /// By group: the animal of its first member, and whether it is broken.
    teams: Vec<(Option<usize>, bool)>,
    total: Room,
    /// By guest: animals, sides, quarters that it and all later ones need, and how many are quarters.
    needs: Vec<(Room, u16)>,
    so_far: Cost,
    spots: Vec<Spot>,
    best: Option<Vec<(usize, Spot)>>,
    limit: Cost,
    unseen: Option<Cost>,
    done: bool,
}

impl<'a> Pen<'a> {
    fn new(model: &'a Model, part: &'a Part, b: usize, guests: &[Guest], ask: Ask, limit: Cost) -> Self {
        let block = &part.blocks[b];
        let heads: Vec<&Beast> = block.heads.iter().map(|h| &model.beasts[*h]).collect();
        let mut guests = guests.to_vec();
        let spread = |want: usize| {
            let all = block.heads.iter().map(|h| model.outside(want, *h));
            all.clone().max().unwrap_or(0) - all.min().unwrap_or(0)
        };
        if ask == Ask::First {
            guests.sort_unstable_by_key(|g| g.want);
        } else {
            guests.sort_by_cached_key(|g| {
                let w = &model.wants[g.want];
                (!g.stay, g.fixed.is_none(), std::cmp::Reverse(w.quarters), std::cmp::Reverse(spread(g.want)), g.want)
            });
        }
        let counted = guests
            .iter()
            .map(|g| match model.wants[g.want].stay {
                Some(spot) if g.stay => model.outside(g.want, spot.head),
                _ => least_outside(model, block, g.want),
            })
            .collect();
        let special = |h: &usize| {
            guests.iter().any(|g| {
                model.wants[g.want].stay.is_some_and(|s| s.head == *h) || g.fixed.is_some_and(|(head, _)| head == *h)
            }) || !model.beasts[*h].residents.is_empty()
        };
        let same = |x: usize, y: usize| {
            let (a, c) = (heads[x], heads[y]);
            let (i, j) = (block.heads[x], block.heads[y]);
            (a.custom, a.stands, a.least, a.held) == (c.custom, c.stands, c.least, c.held)
                && guests.iter().all(|g| model.outside(g.want, i) == model.outside(g.want, j))
        };
        let specials: Vec<bool> = block.heads.iter().map(special).collect();
        let like = (0..heads.len())
            .map(|x| if specials[x] { x } else { (0..x).find(|y| !specials[*y] && same(*y, x)).unwrap_or(x) })
            .collect();
        let even = (0..heads.len()).map(|x| !specials[x] && heads[x].held[0] == heads[x].held[1]).collect();
        let mut beside = vec![[Vec::new(), Vec::new()]; heads.len()];
        for (x, head) in heads.iter().enumerate() {
            for resident in &head.residents {
                if let Some(spot) = model.wants[*resident].locked
                    && model.wants[*resident].quarters == 1
                {
                    beside[x][usize::from(spot.sides == Sides::Right)].push(*resident);
                }
            }
        }
        let (team_of, teams) = teams(model, part, b, &guests);
        // Guests of one size to whom every animal is the same are put in the order of the animals, which is one way of many.
        let plain = |k: usize| {
            let (guest, want) = (&guests[k], &model.wants[guests[k].want]);
            let indifferent = want.outside.is_empty() && !model.has_sheet[guest.want] && team_of[k].is_none();
            (indifferent && want.stay.is_none() && guest.fixed.is_none()).then_some(want.quarters)
        };
        let twin =
            (0..guests.len()).map(|k| plain(k).and_then(|q| (0..k).rev().find(|j| plain(*j) == Some(q)))).collect();
        let weighed = (0..guests.len())
            .filter(|k| !guests[*k].stay && !model.wants[guests[*k].want].outside.is_empty())
            .collect();
        let mut needs = vec![(Room::default(), 0); guests.len() + 1];
        for k in (0..guests.len()).rev() {
            let quarters = model.wants[guests[k].want].quarters;
            let (mut need, singles) = needs[k + 1];
            need.animals += u16::from(quarters == 4);
            need.sides += u16::from(quarters / 2);
            need.quarters += u16::from(quarters);
            needs[k] = (need, singles + u16::from(quarters == 1));
        }
        Self {
            model,
            names: &block.heads,
            room: heads.iter().map(|h| h.room()).collect(),
            put: vec![0; heads.len()],
            heads,
            spots: Vec::with_capacity(guests.len()),
            guests,
            ask,
            counted,
            beside,
            like,
            even,
            team_of,
            twin,
            weighed,
            teams,
            total: Room::of(model, block),
            needs,
            so_far: Cost::ZERO,
            best: None,
            limit,
            unseen: None,
            done: false,
        }
    }

    /// Whether guests from `k` on still find room, counted by the structure 4 / 2 / 1.
    pub(super) fn fits(&self, k: usize) -> bool {
        let need = self.needs[k].0;
        need.animals <= self.total.animals && need.sides <= self.total.sides && need.quarters <= self.total.quarters
    }

    fn go(&mut self, k: usize, bound: Cost, work: &mut Work) {
        if k == self.guests.len() {
            let short = |(head, put): (&&Beast, &u8)| *put > 0 && *put < head.least;
            if self.ask == Ask::Floor || !self.heads.iter().zip(&self.put).any(short) {
                self.limit = bound;
                self.best = Some(self.guests.iter().map(|g| g.want).zip(self.spots.iter().copied()).collect());
                self.done = self.ask == Ask::First;
            }
            return;
        }
        let heads = self.heads.len();
        let still = self.weighed.len() - self.weighed.partition_point(|j| *j < k);
        if !work.spend((1 + 2 * heads * (2 + (heads + still * heads) / 8)) as u64 / 2) {
            self.unseen = Some(self.unseen.map_or(bound, |u| u.min(bound)));
            return;
        }
        let mut options = self.options(k);
        if self.ask != Ask::First {
            options.sort_by_key(|(x, sides, bound)| {
                let room = self.room[*x];
                (*bound, room[0] + room[1], usize::from(*sides == Sides::Right))
            });
        }
        for (x, sides, bound) in options {
            if self.worse(bound) {
                continue;
            }
            let before = (self.so_far, self.teams.clone(), self.total);
            self.put_on(k, x, sides);
            self.spots.push(Spot { head: self.names[x], sides });
            self.go(k + 1, bound, work);
            self.spots.pop();
            self.take_off(k, x, sides);
            (self.so_far, self.teams, self.total) = before;
            if self.done {
                return;
            }
        }
    }

    /// Puts everyone where there is just room enough: the plan for when there is no time to look for a good one.
    fn hurry(&mut self) {
        for k in 0..self.guests.len() {
            let guest = self.guests[k];
            let want = &self.model.wants[guest.want];
            let mut best: Option<((u8, u8, i64), usize, Sides)> = None;
            for (x, room) in self.room.iter().enumerate() {
                for sides in ways(want.quarters) {
                    let spot = Spot { head: self.names[x], sides: *sides };
                    let [l, r] = takes(want.quarters, *sides);
                    let here = if *sides == Sides::Right { room[1] } else { room[0] };
                    if l > room[0]
                        || r > room[1]
                        || (want.stay == Some(spot)) != guest.stay
                        || guest.fixed.is_some_and(|fixed| fixed != (spot.head, spot.sides))
                    {
                        continue;
                    }
                    let rank = (here, room[0] + room[1], self.model.outside(guest.want, spot.head));
                    if best.is_none_or(|(old, ..)| rank < old) {
                        best = Some((rank, x, *sides));
                    }
                }
            }
            let Some((_, x, sides)) = best else { return };
            self.put_on(k, x, sides);
            self.spots.push(Spot { head: self.names[x], sides });
        }
        let bound = self.bound(self.guests.len());
        let short = |(head, put): (&&Beast, &u8)| *put > 0 && *put < head.least;
        if bound <= self.limit && !self.heads.iter().zip(&self.put).any(short) {
            self.limit = bound;
            self.best = Some(self.guests.iter().map(|g| g.want).zip(self.spots.iter().copied()).collect());
        }
    }

    /// Whether a bound says that nothing wanted can come.
    fn worse(&self, bound: Cost) -> bool {
        if self.ask == Ask::First || self.best.is_none() { bound > self.limit } else { bound >= self.limit }
    }

    fn options(&mut self, k: usize) -> Vec<(usize, Sides, Cost)> {
        let guest = self.guests[k];
        let want = &self.model.wants[guest.want];
        let mut options = Vec::new();
        for x in 0..self.heads.len() {
            let untouched = self.put[x] == 0;
            if untouched && (0..x).any(|y| self.like[y] == self.like[x] && self.put[y] == 0) {
                continue;
            }
            for sides in ways(want.quarters) {
                let spot = Spot { head: self.names[x], sides: *sides };
                let [l, r] = takes(want.quarters, *sides);
                if self.twin[k].is_some_and(|twin| spot < self.spots[twin]) {
                    continue;
                }
                if l > self.room[x][0]
                    || r > self.room[x][1]
                    || (*sides == Sides::Right && untouched && self.even[x])
                    || (want.stay == Some(spot)) != guest.stay
                    || guest.fixed.is_some_and(|fixed| fixed != (spot.head, spot.sides))
                {
                    continue;
                }
                let before = (self.so_far, self.teams.clone(), self.total);
                self.put_on(k, x, *sides);
                if self.fits(k + 1) {
                    let bound = self.bound(k + 1);
                    if !self.worse(bound) {
                        options.push((x, *sides, bound));
                    }
                }
                self.take_off(k, x, *sides);
                (self.so_far, self.teams, self.total) = before;
            }
        }
        options
    }

    fn put_on(&mut self, k: usize, x: usize, sides: Sides) {
        let guest = self.guests[k];
        let quarters = self.model.wants[guest.want].quarters;
        let [l, r] = takes(quarters, sides);
        let after = [self.room[x][0] - l, self.room[x][1] - r];
        if let Some(total) = self.total.shrink(self.room[x], after) {
            self.total = total;
        }
        self.room[x] = after;
        self.put[x] += quarters;
        self.so_far += Cost::weight(self.model.outside(guest.want, self.names[x]) - self.counted[k]);
        if quarters == 1 && self.model.has_sheet[guest.want] {
            let side = usize::from(sides == Sides::Right);
            for other in &self.beside[x][side] {
                let pair = (guest.want.min(*other), guest.want.max(*other));
                self.so_far += Cost::sheets(self.model.sheets.get(&pair).copied().unwrap_or(0));
            }
        }
        if quarters == 1 {
            self.beside[x][usize::from(sides == Sides::Right)].push(guest.want);
        }
        if let Some(team) = self.team_of[k] {
            let (head, broken) = &mut self.teams[team];
            match *head {
                None => *head = Some(self.names[x]),
                Some(first) if first != self.names[x] && !*broken => {
                    *broken = true;
                    self.so_far += Cost::groups(1);
                }
                Some(_) => {}
            }
        }
    }

    fn take_off(&mut self, k: usize, x: usize, sides: Sides) {
        let quarters = self.model.wants[self.guests[k].want].quarters;
        let [l, r] = takes(quarters, sides);
        self.room[x] = [self.room[x][0] + l, self.room[x][1] + r];
        self.put[x] -= quarters;
        if quarters == 1 {
            self.beside[x][usize::from(sides == Sides::Right)].pop();
        }
    }
}

/// The groups that want one animal, have everyone on this block and could be together on it.
fn teams(model: &Model, part: &Part, b: usize, guests: &[Guest]) -> (Vec<Option<usize>>, Vec<(Option<usize>, bool)>) {
    let mut places: Vec<usize> = Vec::new();
    let mut states = Vec::new();
    for band in part.bands.iter().filter(|band| band.fits[b] && model.teams[band.team].one_head) {
        let loose = |i: &&usize| model.wants[**i].locked.is_none();
        let members = &model.teams[band.team].members;
        if members.iter().filter(loose).all(|i| guests.iter().any(|g| g.want == *i)) {
            places.push(band.team);
            states.push((members.iter().find_map(|i| model.wants[*i].locked).map(|spot| spot.head), false));
        }
    }
    let team_of = guests.iter().map(|g| model.wants[g.want].team.and_then(|t| places.iter().position(|p| *p == t)));
    (team_of.collect(), states)
}
