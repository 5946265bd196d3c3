//! Plans over the pieces at hand before cloth is bought: what lies on the shelf, whose pattern, flaws and lot are known.
//!
//! What belongs together (the shades of a room) is cut of one lot or not from the shelf at all: two lots of a cloth may
//! differ in shade. A piece is laid out stretch by stretch between its flaws. Using the shelf never buys more: where it
//! would, the plan without it stands.

use super::join::{self, Joined};
use super::pack::{self, Effort, Held, Piece, Way};
use super::{Bolt, ClothProblem, Placed, Plan, Seam, Want, choose};
use crate::flag::listed;
use crate::house::{Cloth, CutFrom, ShelfPiece};
use crate::length::{Direction, Grain, Length, LengthUnit, Typed};
use std::collections::BTreeMap;
use uuid::Uuid;

/// A piece of the cloth that lies at hand.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct AtHand {
    /// Its id on the shelf; nothing for a length on hand that the cloth itself names.
    pub id: Option<Uuid>,
    /// How long it is.
    pub length: Length,
    /// Its usable width.
    pub usable: Length,
    /// Its lot; nothing where none is noted, and then it matches no other piece.
    pub lot: String,
    /// From its cut end to the first line of the pattern, where that was measured.
    pub first_line: Option<Length>,
    /// Its stretches without a flaw: from where, and how long.
    pub sound: Vec<(Length, Length)>,
    /// True for a client's own.
    pub owned: bool,
    /// True where no other house may be cut of it: set aside for this one, or its client's own.
    pub kept: bool,
}

/// What the cuts of a plan belong to.
#[derive(Clone, Copy, Debug)]
pub struct Belongs<'a> {
    /// The number of what each belongs to: all of one number are cut of one lot.
    pub together: &'a [usize],
    /// The lot that each must be of, because what hangs beside it is cut of it already; an empty one is not known.
    pub lots: &'a [Option<String>],
}

impl AtHand {
    /// A piece of the shelf.
    pub fn of(id: Uuid, piece: &ShelfPiece, bolt: &Bolt) -> Self {
        let some = |typed: &Option<Typed>| typed.as_ref().map(Typed::value);
        Self {
            id: Some(id),
            length: piece.length.value(),
            usable: some(&piece.usable).unwrap_or(bolt.usable),
            lot: piece.lot.clone(),
            first_line: some(&piece.first_line),
            sound: piece.sound(),
            owned: piece.owner.is_some(),
            kept: piece.owner.is_some() || piece.cut_for.is_some(),
        }
    }

    /// As it lies there once these stretches were cut from it.
    #[must_use]
    fn without(mut self, taken: &[CutFrom]) -> Self {
        for taken in taken.iter().filter(|taken| Some(taken.piece) == self.id) {
            let (from, to) = (taken.from.value(), taken.to.value());
            let rest = |(start, long): (Length, Length)| {
                let end = start + long;
                [(start, end.min(from)), (start.max(to), end)]
                    .into_iter()
                    .filter(|(a, b)| b > a)
                    .map(|(a, b)| (a, b - a))
            };
            self.sound = self.sound.into_iter().flat_map(rest).collect();
        }
        self
    }

    fn of_roll(length: Length, bolt: &Bolt) -> Self {
        let sound = vec![(Length::ZERO, length)];
        Self {
            id: None,
            length,
            usable: bolt.usable,
            lot: String::new(),
            first_line: None,
            sound,
            owned: false,
            kept: true,
        }
    }

    /// As a maker finds it: "150 in, lot A".
    pub fn words(&self, unit: LengthUnit) -> String {
        let lot = if self.lot.is_empty() { String::new() } else { format!(", lot {}", self.lot) };
        format!("{}{lot}", self.length.round(Grain::of_tape(unit), Direction::Down).show_marked(unit))
    }
}

/// The effort of one try to lay a few cuts on a few pieces.
const TRY: Effort = Effort { improve: 400_000, prove: 0 };

/// A plan with the pieces that it may be cut from: [`Placed::on_hand`] is the place in `held`.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Shelved {
    /// The plan.
    pub plan: Plan,
    /// The pieces at hand; empty where none of the shelf was given.
    pub held: Vec<AtHand>,
}

/// Lays out all wants of one cloth, first on the pieces at hand.
///
/// # Errors
/// As [`super::plan`].
pub fn plan_from(
    bolt: &Bolt,
    wants: &[Want],
    belongs: &Belongs<'_>,
    shelf: &[AtHand],
) -> Result<Shelved, ClothProblem> {
    let mut shelved = laid_out(bolt, wants, belongs, shelf)?;
    let says = lots_to_decide(wants, belongs.lots, &shelved);
    shelved.plan.to_decide.extend(says);
    Ok(shelved)
}

/// What is to be decided because shades beside it are cut already, and this is not cut of their lot for certain.
fn lots_to_decide(wants: &[Want], lots: &[Option<String>], Shelved { plan, held }: &Shelved) -> Vec<String> {
    let is_of = |want: usize, lot: &str| {
        let mut mine = plan.pieces.iter().filter(|piece| piece.want == want);
        !lot.is_empty()
            && mine.all(|piece| piece.on_hand.and_then(|at| held.get(at)).is_some_and(|held| held.lot == lot))
    };
    let mut says: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for (want, lot) in lots.iter().enumerate() {
        if let Some(lot) = lot.as_deref().filter(|lot| !is_of(want, lot)) {
            says.entry(lot).or_default().push(wants[want].name.clone());
        }
    }
    says.into_iter()
        .map(|(lot, names)| {
            let of = if lot.is_empty() { "a lot that nobody noted".to_owned() } else { format!("lot {lot}") };
            format!(
                "{}: what hangs in the same room is cut of {of}. Ask for that lot, and hold both against the light before \
                 this is cut",
                listed(names)
            )
        })
        .collect()
}

fn laid_out(bolt: &Bolt, wants: &[Want], belongs: &Belongs<'_>, shelf: &[AtHand]) -> Result<Shelved, ClothProblem> {
    let whole = super::plan(bolt, wants)?;
    if shelf.is_empty() {
        return Ok(Shelved { plan: whole, held: Vec::new() });
    }
    let rolls = bolt.on_hand.iter().map(|length| AtHand::of_roll(*length, bolt));
    let held: Vec<AtHand> = rolls.chain(shelf.iter().cloned()).collect();
    let bare = Bolt { on_hand: Vec::new(), ..bolt.clone() };
    let ways: Vec<Vec<Joined>> = wants.iter().map(|want| join::ways(&bare, want)).collect::<Result<_, _>>()?;
    let most = ways.iter().map(Vec::len).max().unwrap_or(1).min(3);
    let mut best: Option<Plan> = None;
    for nth in 0..most {
        let choice: Vec<usize> = ways.iter().map(|ways| nth.min(ways.len() - 1)).collect();
        let table = Table { bolt: &bare, wants, ways: &ways, choice, held: &held, belongs };
        let plan = table.plan(&whole)?;
        if best.as_ref().is_none_or(|best| (plan.buy, plan.used) < (best.buy, best.used)) {
            best = Some(plan);
        }
    }
    // Without the shelf where that buys no more: then nothing of it is spent for nothing.
    let gains = |plan: &Plan| (plan.buy, plan.used) < (whole.buy, whole.used);
    Ok(match best.filter(gains) {
        Some(plan) => Shelved { plan, held },
        None => Shelved { plan: whole, held },
    })
}

struct Table<'a> {
    bolt: &'a Bolt,
    wants: &'a [Want],
    ways: &'a [Vec<Joined>],
    choice: Vec<usize>,
    held: &'a [AtHand],
    belongs: &'a Belongs<'a>,
}

/// A stretch of a piece at hand.
struct Stretch {
    held: usize,
    from: Length,
    length: Length,
}

impl Table<'_> {
    fn way(&self, want: usize) -> &Joined {
        &self.ways[want][self.choice[want]]
    }

    fn area(&self, want: usize) -> i128 {
        let least =
            |piece: &Piece| piece.ways.iter().map(|way| i128::from(way.w) * i128::from(way.h)).min().unwrap_or(0);
        self.way(want).parts.iter().map(|part| least(&part.piece)).sum()
    }

    fn plan(&self, whole: &Plan) -> Result<Plan, ClothProblem> {
        let mut left: Vec<usize> = (0..self.wants.len()).collect();
        let mut laid: Vec<Placed> = Vec::new();
        for lot in self.lots() {
            let (mut taken, mut spots): (Vec<usize>, Vec<Placed>) = (Vec::new(), Vec::new());
            for group in self.groups(&left) {
                let tried: Vec<usize> = taken.iter().copied().chain(group).collect();
                if let Some(found) = self.lay(&tried, &lot) {
                    (taken, spots) = (tried, found);
                }
            }
            left.retain(|want| !taken.contains(want));
            laid.extend(spots);
        }
        self.merged(whole, laid, &left)
    }

    /// The pieces of each lot, the client's own first, then the shortest, so that long ones stay whole.
    fn lots(&self) -> Vec<Vec<usize>> {
        let mut lots: BTreeMap<(&str, usize), Vec<usize>> = BTreeMap::new();
        for (at, held) in self.held.iter().enumerate() {
            // Where no lot is noted, a piece is like no other.
            let own = if held.lot.is_empty() { at + 1 } else { 0 };
            lots.entry((held.lot.as_str(), own)).or_default().push(at);
        }
        let mut lots: Vec<Vec<usize>> = lots.into_values().collect();
        let length = |lot: &Vec<usize>| lot.iter().map(|at| self.held[*at].length).sum::<Length>();
        lots.sort_by_key(|lot| (!lot.iter().any(|at| self.held[*at].owned), length(lot), lot.clone()));
        lots
    }

    /// What is left, by what belongs together, the largest first.
    fn groups(&self, left: &[usize]) -> Vec<Vec<usize>> {
        let mut groups: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for want in left {
            groups.entry(self.belongs.together[*want]).or_default().push(*want);
        }
        let mut groups: Vec<Vec<usize>> = groups.into_values().collect();
        groups.sort_by_key(|group| std::cmp::Reverse(group.iter().map(|want| self.area(*want)).sum::<i128>()));
        groups
    }

    /// All of these wants on the pieces of a lot, or nothing.
    fn lay(&self, wants: &[usize], lot: &[usize]) -> Option<Vec<Placed>> {
        let name = lot.first().map_or("", |at| self.held[*at].lot.as_str());
        if wants.iter().any(|want| self.belongs.lots[*want].as_deref().is_some_and(|lot| lot.is_empty() || lot != name))
        {
            return None;
        }
        let mut stretches: Vec<Stretch> = lot
            .iter()
            .flat_map(|&held| self.held[held].sound.iter().map(move |&(from, length)| Stretch { held, from, length }))
            .collect();
        let room: i128 =
            stretches.iter().map(|one| i128::from(one.length.nm()) * i128::from(self.width(one).nm())).sum();
        if wants.iter().map(|want| self.area(*want)).sum::<i128>() > room {
            return None;
        }
        // Shortest first: a short one takes what fits it.
        stretches.sort_by_key(|one| (one.length, one.held, one.from));
        let mut left: Vec<(usize, usize)> =
            wants.iter().flat_map(|&want| (0..self.way(want).parts.len()).map(move |part| (want, part))).collect();
        let mut laid = Vec::new();
        for stretch in &stretches {
            if left.is_empty() {
                break;
            }
            let (spots, gone) = self.fill(&left, stretch);
            laid.extend(spots);
            left.retain(|part| !gone.contains(part));
        }
        left.is_empty().then_some(laid)
    }

    fn width(&self, stretch: &Stretch) -> Length {
        self.held[stretch.held].usable.min(self.bolt.usable)
    }

    /// Which parts a stretch takes, and where.
    fn fill(&self, left: &[(usize, usize)], stretch: &Stretch) -> (Vec<Placed>, Vec<(usize, usize)>) {
        let held = &self.held[stretch.held];
        let width = self.width(stretch);
        // A narrower piece has lost its edges: nothing on it can be held to the pattern across, or to a selvage.
        let narrow = width < self.bolt.usable;
        // Where the first line of the pattern stands from the start of the stretch.
        let line = held.first_line.map(|line| (line - stretch.from).nm());
        let mut some: Vec<((usize, usize), Vec<usize>, Piece)> = Vec::new();
        for &(want, at) in left {
            let part = &self.way(want).parts[at];
            let kept = part.kept.0 + part.kept.1 > Length::ZERO;
            let fits = |way: &&(usize, Way)| {
                way.1.fits(width.nm()) && way.1.h <= stretch.length.nm() && !(narrow && (kept || way.1.x != Held::Free))
            };
            let ways: Vec<(usize, Way)> = part.piece.ways.iter().copied().enumerate().collect();
            let ways: Vec<&(usize, Way)> = ways.iter().filter(fits).collect();
            if ways.is_empty() {
                continue;
            }
            let seen = |way: &Way| match (way.y, line) {
                (Held::Every { at, every }, Some(line)) => Way { y: Held::every(at + line, every), ..*way },
                _ => *way,
            };
            let piece = Piece { ways: ways.iter().map(|(_, way)| seen(way)).collect() };
            some.push(((want, at), ways.iter().map(|(nth, _)| *nth).collect(), piece));
        }
        // A want goes onto a stretch with all its parts that are left, or with none.
        let whole = |want: usize| {
            left.iter().filter(|(of, _)| *of == want).count() == some.iter().filter(|((of, _), ..)| *of == want).count()
        };
        let whole: Vec<bool> = some.iter().map(|((want, _), ..)| whole(*want)).collect();
        let mut nth = whole.iter();
        some.retain(|_| *nth.next().unwrap_or(&false));
        if some.is_empty() {
            return (Vec::new(), Vec::new());
        }
        let repeat = self.bolt.repeat.filter(|_| held.first_line.is_none()).map(Length::nm);
        let matched = some.iter().any(|(_, _, piece)| piece.ways.iter().any(|way| way.y != Held::Free));
        // Its pattern may start anywhere: so much of it may be lost before the first line.
        let lost = repeat.filter(|_| matched).unwrap_or(0);
        let pieces: Vec<Piece> = some.iter().map(|(_, _, piece)| piece.clone()).collect();
        let groups: Vec<usize> = some.iter().map(|((want, _), ..)| *want).collect();
        let (spots, origin) = pack::fill(&pieces, &groups, width.nm(), stretch.length.nm() - lost, repeat, TRY);
        let mut placed = Vec::new();
        let mut gone = Vec::new();
        for spot in spots {
            let ((want, at), nth, piece) = &some[spot.piece];
            let part = &self.way(*want).parts[*at];
            let way = piece.ways[spot.way];
            let (keeps_left, keeps_right) = part.kept;
            placed.push(Placed {
                want: *want,
                part: part.of,
                on_hand: Some(stretch.held),
                x: Length::from_nm(spot.x) - keeps_left,
                y: stretch.from + Length::from_nm(spot.y),
                across: Length::from_nm(way.w) + keeps_left + keeps_right,
                along: Length::from_nm(way.h),
                selvage_left: keeps_left,
                selvage_right: keeps_right,
                turned: part.turned[nth[spot.way]],
                phase: match way.y {
                    Held::Every { every, .. } => {
                        Some(Length::from_nm((spot.y + origin - line.unwrap_or(0)).rem_euclid(every)))
                    }
                    _ => None,
                },
            });
            gone.push((*want, *at));
        }
        (placed, gone)
    }

    /// What lies on the shelf and what is bought as one plan.
    fn merged(&self, whole: &Plan, laid: Vec<Placed>, left: &[usize]) -> Result<Plan, ClothProblem> {
        let rest: Vec<Want> = left.iter().map(|want| self.wants[*want].clone()).collect();
        let bought = if rest.is_empty() { None } else { Some(super::plan(self.bolt, &rest)?) };
        let mut pieces = laid;
        pieces.sort_by_key(|piece| (piece.on_hand, piece.y, piece.x, piece.want));
        let mut seams: Vec<Seam> = (0..self.wants.len())
            .filter(|want| !left.contains(want))
            .flat_map(|want| self.way(want).seams.iter().map(move |seam| Seam { want, ..*seam }))
            .collect();
        if let Some(bought) = &bought {
            pieces.extend(bought.pieces.iter().map(|piece| Placed { want: left[piece.want], ..piece.clone() }));
            seams.extend(bought.seams.iter().map(|seam| Seam { want: left[seam.want], ..*seam }));
        }
        seams.sort_by_key(|seam| seam.want);
        let used = bought.as_ref().map_or(Length::ZERO, |bought| bought.used);
        let area: i128 = (0..self.wants.len()).map(|want| self.ways[want].iter().map(area_of).min().unwrap_or(0)).sum();
        let usable = i128::from(self.bolt.usable.nm());
        let held: i128 = self.held.iter().map(|held| i128::from(held.length.nm())).sum();
        let bound = i64::try_from(((area + usable - 1) / usable - held).max(0)).unwrap_or(i64::MAX);
        let bound = Length::from_nm(bound).min(used);
        Ok(Plan {
            used,
            first_line: bought.as_ref().and_then(|bought| bought.first_line),
            spare: bought.as_ref().map_or(Length::ZERO, |bought| bought.spare),
            buy: bought.as_ref().map_or(Length::ZERO, |bought| bought.buy),
            cost_cents: bought.as_ref().map_or_else(|| self.bolt.cost_cents(Length::ZERO), |bought| bought.cost_cents),
            bound,
            proven: used <= bound,
            one_after_another: whole.one_after_another,
            waste_permille: bought.as_ref().map_or(0, |bought| bought.waste_permille),
            not_on_hand: left.to_vec(),
            notes: self.notes(bought.as_ref(), &pieces),
            to_decide: choose::to_decide(self.bolt, self.wants, &seams),
            pieces,
            seams,
        })
    }

    fn notes(&self, bought: Option<&Plan>, pieces: &[Placed]) -> Vec<String> {
        let mut notes = bought.map_or_else(Vec::new, |bought| bought.notes.clone());
        let unit = self.bolt.unit;
        for (at, held) in self.held.iter().enumerate() {
            let mine: Vec<&Placed> = pieces.iter().filter(|piece| piece.on_hand == Some(at)).collect();
            let matched = mine.iter().any(|piece| piece.phase.is_some());
            if matched && held.first_line.is_none() {
                notes.push(format!(
                    "From the piece of {}: places are counted from where the plan starts in its pattern; find that line first",
                    held.words(unit)
                ));
            }
            if !mine.is_empty() && held.sound.len() > 1 {
                notes.push(format!("Nothing is cut over the flaws of the piece of {}", held.words(unit)));
            }
            if !mine.is_empty() && !held.kept {
                notes.push(format!(
                    "The piece of {} is not set aside for this house, and another may be planned on it too: set it aside before it is cut",
                    held.words(unit)
                ));
            }
        }
        notes
    }
}

fn area_of(way: &Joined) -> i128 {
    let least = |piece: &Piece| piece.ways.iter().map(|way| i128::from(way.w) * i128::from(way.h)).min().unwrap_or(0);
    way.parts.iter().map(|part| least(&part.piece)).sum()
}

/// A rectangle of cloth that a plan leaves.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Offcut {
    /// The piece at hand that it is left of; nothing for the cloth that is bought.
    pub of: Option<usize>,
    /// How long it is.
    pub length: Length,
    /// How wide.
    pub width: Length,
    /// From its end to the first line of the pattern, where that is known.
    pub first_line: Option<Length>,
    /// Where it lies: from the left of the usable width, and from the cut end.
    pub at: (Length, Length),
}

/// What a plan leaves that is at least so long and so wide, the largest first: of what is bought, and of every piece at
/// hand that is cut.
pub fn offcuts(bolt: &Bolt, shelved: &Shelved, length: Length, width: Length) -> Vec<Offcut> {
    let Shelved { plan, held } = shelved;
    let mut all = Vec::new();
    // What is spared for the pattern may be lost before the first line.
    let bought =
        (plan.used > Length::ZERO).then_some((None, Length::ZERO, plan.buy - plan.spare, bolt.usable, plan.first_line));
    let stretches =
        held.iter().enumerate().filter(|(at, _)| plan.pieces.iter().any(|piece| piece.on_hand == Some(*at)));
    let stretches = stretches.flat_map(|(at, held)| {
        held.sound
            .iter()
            .map(move |&(from, long)| (Some(at), from, from + long, held.usable.min(bolt.usable), held.first_line))
    });
    for (of, from, to, wide, line) in bought.into_iter().chain(stretches) {
        let lost = match (of, line, bolt.repeat) {
            // Where its pattern starts is found at the table: so much may go before the first line.
            (Some(_), None, Some(repeat))
                if plan.pieces.iter().any(|piece| piece.on_hand == of && piece.phase.is_some()) =>
            {
                repeat
            }
            _ => Length::ZERO,
        };
        let strip = Rect { x0: 0, x1: wide.nm(), y0: from.nm(), y1: (to - lost).nm() };
        let mut taken: Vec<Rect> = plan.pieces.iter().filter(|piece| piece.on_hand == of).map(Rect::of).collect();
        while let Some(free) = largest_free(&strip, &taken, length.nm(), width.nm()) {
            let y = Length::from_nm(free.y0);
            all.push(Offcut {
                of,
                length: Length::from_nm(free.y1 - free.y0),
                width: Length::from_nm(free.x1 - free.x0),
                first_line: line
                    .zip(bolt.repeat)
                    .map(|(line, repeat)| Length::from_nm((line - y).nm().rem_euclid(repeat.nm())))
                    .filter(|line| *line <= Length::from_nm(free.y1 - free.y0)),
                at: (Length::from_nm(free.x0), y),
            });
            taken.push(free);
        }
    }
    let grain = Grain::of_tape(bolt.unit);
    for offcut in &mut all {
        offcut.length = offcut.length.round(grain, Direction::Down);
        offcut.width = offcut.width.round(grain, Direction::Down);
    }
    all.retain(|offcut| offcut.length >= length && offcut.width >= width);
    all.sort_by_key(|offcut| std::cmp::Reverse(i128::from(offcut.length.nm()) * i128::from(offcut.width.nm())));
    all
}

#[derive(Clone, Copy)]
struct Rect {
    x0: i64,
    x1: i64,
    y0: i64,
    y1: i64,
}

impl Rect {
    fn of(piece: &Placed) -> Self {
        let (x, y) = (piece.x.nm(), piece.y.nm());
        Self { x0: x, x1: x + piece.across.nm(), y0: y, y1: y + piece.along.nm() }
    }

    fn area(&self) -> i128 {
        i128::from(self.x1 - self.x0) * i128::from(self.y1 - self.y0)
    }
}

/// The largest rectangle of a strip that nothing lies in, at least so long and so wide.
fn largest_free(strip: &Rect, taken: &[Rect], long: i64, wide: i64) -> Option<Rect> {
    let mut ys: Vec<i64> = taken.iter().flat_map(|rect| [rect.y0, rect.y1]).chain([strip.y0, strip.y1]).collect();
    ys.retain(|y| (strip.y0..=strip.y1).contains(y));
    ys.sort_unstable();
    ys.dedup();
    let mut best: Option<Rect> = None;
    for (i, &y0) in ys.iter().enumerate() {
        for &y1 in ys[i + 1..].iter().filter(|y1| **y1 - y0 >= long) {
            let mut blocked: Vec<(i64, i64)> =
                taken.iter().filter(|rect| rect.y0 < y1 && y0 < rect.y1).map(|rect| (rect.x0, rect.x1)).collect();
            blocked.sort_unstable();
            let mut x = strip.x0;
            for (from, to) in blocked.into_iter().chain([(strip.x1, strip.x1)]) {
                let free = Rect { x0: x, x1: from.min(strip.x1), y0, y1 };
                if free.x1 - free.x0 >= wide && best.is_none_or(|best| free.area() > best.area()) {
                    best = Some(free);
                }
                x = x.max(to);
            }
        }
    }
    best
}

/// The shelf's pieces of a cloth that a house may be planned on, without what was `taken` of them. Once its offcuts lie on
/// the shelf the house is cut, and only what was cut for it counts: so its plan stays as it is.
pub fn at_hand(
    shelf: &BTreeMap<Uuid, ShelfPiece>,
    house: Uuid,
    taken: &[CutFrom],
    cloth: &Cloth,
    bolt: &Bolt,
) -> Vec<AtHand> {
    let is_cut = shelf.values().any(|piece| {
        piece.cloth == cloth.name && (piece.offcut_of == Some(house) || (piece.gone && piece.cut_for == Some(house)))
    });
    let serves = |piece: &ShelfPiece| {
        piece.cloth == cloth.name && piece.serves(house) && (!is_cut || piece.cut_for == Some(house))
    };
    let there = shelf.iter().filter(|(_, piece)| serves(piece));
    there.map(|(id, piece)| AtHand::of(*id, piece, bolt).without(taken)).filter(|held| !held.sound.is_empty()).collect()
}
