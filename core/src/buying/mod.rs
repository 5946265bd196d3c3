//! One list a house: everything to bring home, by section of the shop, in the units it is sold in.
//!
//! Cloth is planned on its bolt ([`crate::cloth`]), sticks on their stock lengths ([`crate::cutlist`]); rings, screws and
//! the like go up to whole packs. What is on hand is taken off first. Lengths, packs, prices and what is on hand come
//! from a [`Shop`], a file that a workroom edits. Money is whole hundredths of the currency.

mod shop;

pub use shop::{LiningStock, Pack, PackStock, Shop, StickLength, StickStock};

use crate::cloth::calculator::sold;
use crate::cloth::{self, AtHand, Belongs, Bolt, ClothProblem, Offcut, Shelved, Want};
use crate::cutlist::{self, CutProblem};
use crate::fixing::Fixing;
use crate::house::{BoardSize, Choices, Cloth, ClothDirection, ControlSide, Lift, LiftKind, Lining};
use crate::length::{Direction, Grain, Length, LengthUnit};
use crate::makeup::{Join, Makeup, Material, Part, StickUse};
use crate::settings::Settings;
use std::collections::BTreeMap;
use uuid::Uuid;

/// Where the pattern of a house's shades starts, so that all of them match at one height.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum MatchAt {
    /// At the finished head.
    Head,
    /// At the finished foot.
    #[default]
    Foot,
}

/// One shade of the house, as far as it is bought for.
#[derive(Clone, Copy, Debug)]
pub struct Shade<'a> {
    /// Its opening.
    pub opening: Uuid,
    /// Whose it is: `Study, north`.
    pub name: &'a str,
    /// Its room: what hangs in one is cut of one lot.
    pub room: Uuid,
    /// What it is made of.
    pub makeup: &'a Makeup,
    /// What was chosen for it.
    pub choices: &'a Choices,
    /// Its cloth; what is not chosen cannot be bought and is listed as missing.
    pub cloth: Option<&'a Cloth>,
    /// Its board.
    pub board: BoardSize,
    /// Its bracket's name, on brackets.
    pub bracket: Option<&'a str>,
    /// How it is fixed, where that is known.
    pub fixing: Option<&'a Fixing>,
    /// Where shades of its room are cut already of the same cloth: of which lot, and nothing in it where no lot was noted.
    pub lot: Option<&'a str>,
}

/// One line of the list.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Item {
    /// What it is asked for by.
    pub what: String,
    /// What the house needs of it, in words.
    pub need: String,
    /// What is taken from what is on hand, in words; empty when nothing is.
    pub on_hand: String,
    /// What to buy, in the units it is sold in; `nothing` where all is on hand.
    pub buy: String,
    /// What that costs, where prices are given.
    pub cost_cents: Option<u64>,
    /// What it is charged at where a pack or a spool is shared: its part of one, up to a whole hundredth; else the cost.
    pub share_cents: Option<u64>,
    /// How it comes about: the plan's bound, the spare, the waste.
    pub why: String,
}

/// One section of the shop.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Section {
    /// Its name in the shop file.
    pub name: String,
    /// Its items.
    pub items: Vec<Item>,
}

/// A cloth with its plan.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ClothPlan {
    /// The cloth.
    pub bolt: Bolt,
    /// What is cut from it.
    pub wants: Vec<Want>,
    /// The opening of each, in the same order.
    pub openings: Vec<Uuid>,
    /// Where each piece lies.
    pub plan: cloth::Plan,
    /// The pieces at hand, where the shelf has some: what [`cloth::Placed::on_hand`] counts then.
    pub held: Vec<AtHand>,
}

impl ClothPlan {
    /// What it leaves that is worth keeping, by the house's numbers.
    pub fn offcuts(&self, settings: &Settings) -> Vec<Offcut> {
        let shelved = Shelved { plan: self.plan.clone(), held: self.held.clone() };
        cloth::offcuts(&self.bolt, &shelved, settings.offcut_length_least, settings.offcut_width_least)
    }

    /// What is at hand, in words.
    pub fn held_words(&self, at: usize) -> String {
        let of_roll = || self.bolt.on_hand.get(at).map_or_else(String::new, |length| length.show(self.bolt.unit));
        self.held.get(at).map_or_else(of_roll, |held| held.words(self.bolt.unit))
    }
}

/// Sticks of one kind with their plan.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct StickPlan {
    /// `board 1x2`, `bottom bar`, `rib`.
    pub what: String,
    /// What is cut, out of what.
    pub request: cutlist::Request,
    /// Every stick.
    pub plan: cutlist::Plan,
}

/// All that a house buys.
#[derive(Clone, PartialEq, Debug)]
pub struct Buying {
    /// The list, in the order of the shop's sections.
    pub sections: Vec<Section>,
    /// The plan of every cloth and lining.
    pub cloths: Vec<ClothPlan>,
    /// The plan of every kind of stick.
    pub sticks: Vec<StickPlan>,
    /// What could not be worked out, one sentence each.
    pub problems: Vec<String>,
    /// The cost of all items; `None` as soon as one has no price.
    pub cost_cents: Option<u64>,
}

impl Buying {
    /// True where a shade of this opening is planned here.
    pub fn plans_for(&self, opening: Uuid) -> bool {
        self.cloths.iter().any(|planned| planned.openings.contains(&opening))
    }

    /// How the parts of an opening's shades are joined: nothing for those of one piece. Shades alike that are joined each in
    /// its own way are told apart by their names.
    pub fn joins(&self, opening: Uuid) -> Vec<Join> {
        let mut joins: Vec<(Part, Vec<Steps>)> = Vec::new();
        for ClothPlan { bolt, wants, openings, plan, .. } in &self.cloths {
            for (i, want) in wants.iter().enumerate().filter(|(i, _)| openings[*i] == opening) {
                let Some((name, words)) = want.name.rsplit_once(": ") else { continue };
                let Some(part) = Part::ALL.into_iter().find(|part| part.words() == words) else { continue };
                let at = joins.iter().position(|(known, _)| *known == part).unwrap_or_else(|| {
                    joins.push((part, Vec::new()));
                    joins.len() - 1
                });
                joins[at].1.push((name.to_owned(), plan.join_steps(bolt, wants, i)));
            }
        }
        let one = |(part, alike): (Part, Vec<Steps>)| {
            let first = &alike[0].1;
            let steps = if alike.iter().all(|(_, steps)| steps == first) {
                first.clone()
            } else {
                let named = |(name, steps): &Steps| match steps.as_slice() {
                    [] => vec![format!("{name}: it is of one piece")],
                    steps => steps.iter().map(|step| format!("{name}: {step}")).collect(),
                };
                alike.iter().flat_map(named).collect()
            };
            (!steps.is_empty()).then_some(Join { part, steps })
        };
        joins.into_iter().filter_map(one).collect()
    }
}

/// How the parts of a shade would be joined if it were planned alone: for one that no plan has yet. A cloth that may be
/// turned may be joined another way beside other shades, and then the steps say so.
pub fn joins_alone(shade: &Shade<'_>, match_at: MatchAt, settings: &Settings, unit: LengthUnit) -> Vec<Join> {
    let mut joins = Vec::new();
    for (cut, (material, want)) in shade.makeup.cuts.iter().zip(wants(shade, match_at)) {
        let bolt = match (material, shade.cloth) {
            (Material::Face, Some(cloth)) => Bolt::of(cloth, settings, unit),
            (Material::Face, None) => continue,
            (material, _) => Ok(Bolt::lining(material.words(), settings, unit)),
        };
        let Ok(bolt) = bolt else { continue };
        if want.width <= bolt.usable {
            continue;
        }
        let wants = [want];
        let Ok(plan) = cloth::plan(&bolt, &wants) else { continue };
        let mut steps = plan.join_steps(&bolt, &wants, 0);
        if !steps.is_empty() {
            if bolt.direction == ClothDirection::AnyWay {
                steps.push("Compare with the cutting sheet: beside other shades it may be cut another way".to_owned());
            }
            joins.push(Join { part: cut.part, steps });
        }
    }
    joins
}

/// Works out the list of a house.
pub fn buy(shades: &[Shade<'_>], match_at: MatchAt, settings: &Settings, shop: &Shop, unit: LengthUnit) -> Buying {
    buy_from(shades, match_at, settings, shop, unit, &|_, _| Vec::new())
}

/// What lies at hand of a cloth: see [`cloth::at_hand`].
pub type Shelf<'a> = &'a dyn Fn(&Cloth, &Bolt) -> Vec<AtHand>;

/// Works out the list of a house, first on what lies on the shelf.
pub fn buy_from(
    shades: &[Shade<'_>],
    match_at: MatchAt,
    settings: &Settings,
    shop: &Shop,
    unit: LengthUnit,
    shelf: Shelf<'_>,
) -> Buying {
    let mut list = List { shop, unit, shelf, sections: BTreeMap::new(), problems: Vec::new() };
    let cloths = list.cloths(shades, match_at, settings);
    let sticks = list.sticks(shades, settings);
    list.cord(shades);
    list.packs(shades);
    let order = |name: &str| shop.sections.iter().position(|known| known == name).unwrap_or(usize::MAX);
    let mut sections: Vec<Section> = list.sections.into_iter().map(|(name, items)| Section { name, items }).collect();
    sections.sort_by_key(|section| order(&section.name));
    let cost_cents = sections.iter().flat_map(|section| &section.items).map(|item| item.cost_cents).sum();
    Buying { sections, cloths, sticks, problems: list.problems, cost_cents }
}

/// A shade's name, and how a part of it is joined.
type Steps = (String, Vec<String>);

/// A cloth with all that is cut of it.
struct ToPlan<'a> {
    bolt: Bolt,
    cloth: Option<&'a Cloth>,
    wants: Vec<Want>,
    openings: Vec<Uuid>,
    /// The room that each is seen in.
    rooms: Vec<Option<Uuid>>,
    /// The lot that each must be of.
    lots: Vec<Option<String>>,
}

impl ToPlan<'_> {
    /// What each want belongs to: its room, or itself where it is not seen.
    fn together(&self) -> Vec<usize> {
        let first = |room: &Option<Uuid>| self.rooms.iter().position(|other| other == room);
        self.rooms
            .iter()
            .enumerate()
            .map(|(at, room)| if room.is_some() { first(room).unwrap_or(at) } else { at })
            .collect()
    }
}

/// The list being written.
struct List<'a> {
    shop: &'a Shop,
    unit: LengthUnit,
    shelf: Shelf<'a>,
    sections: BTreeMap<String, Vec<Item>>,
    problems: Vec<String>,
}

impl List<'_> {
    fn put(&mut self, section: &str, item: Item) {
        self.sections.entry(section.to_owned()).or_default().push(item);
    }

    fn cloths<'a>(&mut self, shades: &[Shade<'a>], match_at: MatchAt, settings: &Settings) -> Vec<ClothPlan> {
        let mut bolts: Vec<ToPlan<'a>> = Vec::new();
        let mut add = |bolt: Bolt, shade: &Shade<'a>, want: Want, cloth: Option<&'a Cloth>| {
            let at = bolts.iter().position(|known| known.bolt.name == bolt.name).unwrap_or_else(|| {
                let (openings, rooms, lots) = (Vec::new(), Vec::new(), Vec::new());
                bolts.push(ToPlan { bolt, cloth, wants: Vec::new(), openings, rooms, lots });
                bolts.len() - 1
            });
            // What is not seen (a board's cover, a facing) may be of any lot.
            let seen = want.match_line.is_some();
            let lot = shade.lot.filter(|_| seen && cloth.is_some()).map(str::to_owned);
            bolts[at].wants.push(want);
            bolts[at].openings.push(shade.opening);
            bolts[at].rooms.push(seen.then_some(shade.room));
            bolts[at].lots.push(lot);
        };
        for shade in shades {
            if shade.cloth.is_none() {
                self.problems.push(format!("{}: no cloth is chosen, so none is on the list", shade.name));
            }
            for (material, want) in wants(shade, match_at) {
                let bolt = match material {
                    Material::Face => match shade.cloth.map(|cloth| Bolt::of(cloth, settings, self.unit)) {
                        None => continue,
                        Some(Ok(bolt)) => bolt,
                        Some(Err(problem)) => {
                            let said = format!("{}: {problem}", shade.name);
                            if !self.problems.contains(&said) {
                                self.problems.push(said);
                            }
                            continue;
                        }
                    },
                    Material::Lining if shade.choices.lining == Lining::Blackout => {
                        self.lining("blackout lining", settings)
                    }
                    Material::Lining => self.lining("plain lining", settings),
                    Material::Interlining => self.lining("interlining", settings),
                };
                add(bolt, shade, want, shade.cloth.filter(|_| material == Material::Face));
            }
        }
        let mut plans = Vec::new();
        for one in bolts {
            let shelf = one.cloth.map_or_else(Vec::new, |cloth| (self.shelf)(cloth, &one.bolt));
            let together = one.together();
            let ToPlan { bolt, cloth, wants, openings, lots, .. } = one;
            match cloth::plan_from(&bolt, &wants, &Belongs { together: &together, lots: &lots }, &shelf) {
                Ok(Shelved { plan, held }) => {
                    let short = cloth.is_some_and(|cloth| cloth.no_more) && plan.buy > Length::ZERO;
                    if short {
                        let short = sold(plan.used, bolt.unit);
                        self.problems.push(format!(
                            "{}: no more of it is to be had, and what is at hand is too short by {short}",
                            bolt.name
                        ));
                    }
                    self.put("cloth", cloth_item(&bolt, &wants, &plan, &held, short));
                    plans.push(ClothPlan { bolt, wants, openings, plan, held });
                }
                Err(ClothProblem { place, what, right }) => {
                    self.problems.push(format!("{}, {place}: {what}; {right}", bolt.name));
                }
            }
        }
        plans
    }

    fn lining(&self, kind: &str, settings: &Settings) -> Bolt {
        let mut bolt = Bolt::lining(kind, settings, self.unit);
        if let Some(stock) = self.shop.linings.iter().find(|stock| stock.kind == kind) {
            bolt.width = stock.width;
            bolt.usable = stock.width;
            bolt.sold_by = stock.sold_by;
            bolt.price_cents = stock.price_cents;
            bolt.price_per = None;
            bolt.on_hand.clone_from(&stock.on_hand);
        }
        bolt
    }

    fn sticks(&mut self, shades: &[Shade<'_>], settings: &Settings) -> Vec<StickPlan> {
        let mut kinds: BTreeMap<(StickUse, Option<BoardSize>), Vec<cutlist::Piece>> = BTreeMap::new();
        for shade in shades {
            for stick in &shade.makeup.sticks {
                // A top rail is cut from the same stock as the board.
                let part = if stick.part == StickUse::TopRail { StickUse::Board } else { stick.part };
                let size = (part == StickUse::Board).then_some(shade.board);
                kinds.entry((part, size)).or_default().push(cutlist::Piece {
                    name: format!("{}: {}", shade.name, stick.part.words()),
                    length: stick.length,
                    count: u32::try_from(stick.count).unwrap_or(u32::MAX),
                });
            }
        }
        let mut plans = Vec::new();
        for ((part, size), pieces) in kinds {
            let what = size.map_or_else(|| part.words().to_owned(), |size| format!("board {}", size.name()));
            let Some(stock) = self.shop.stick(part.words(), &what) else {
                self.problems.push(format!("{what}: the shop file sells none; add it to \"sticks\""));
                continue;
            };
            let mut request = cutlist::Request::of_house(settings);
            request.stock = stock
                .lengths
                .iter()
                .map(|length| cutlist::Stock { length: length.length, cents: length.cents, count: None })
                .collect();
            request.on_hand =
                stock.on_hand.iter().map(|length| cutlist::OnHand { length: *length, count: 1 }).collect();
            request.pieces = pieces;
            request.cheapest_first = settings.cheapest_sticks_first != 0;
            let mut planned = cutlist::plan(&request);
            if let Err(CutProblem::TooLong { pieces }) = &planned {
                // Only what is too long goes: each is named with its opening, and the rest is planned.
                self.problems.extend(pieces.iter().map(|piece| piece.sentence(self.unit)));
                let mut place = 0;
                request.pieces.retain(|_| {
                    place += 1;
                    pieces.iter().all(|piece| piece.place + 1 != place)
                });
                if request.pieces.is_empty() {
                    continue;
                }
                planned = cutlist::plan(&request);
            }
            match planned {
                Ok(plan) => {
                    let item = self.stick_item(&what, &request, &plan);
                    self.put(&stock.section.clone(), item);
                    plans.push(StickPlan { what, request, plan });
                }
                Err(problem) => self.problems.push(format!("{what}: {}", said(&problem, self.unit))),
            }
        }
        plans
    }

    fn stick_item(&self, what: &str, request: &cutlist::Request, plan: &cutlist::Plan) -> Item {
        let mut bought: BTreeMap<Length, u32> = BTreeMap::new();
        let mut held = 0;
        for stick in &plan.sticks {
            match stick.source {
                cutlist::Source::Stock(_) => *bought.entry(stick.length).or_default() += 1,
                cutlist::Source::OnHand(_) => held += 1,
            }
        }
        let pieces: u32 = request.pieces.iter().map(|piece| piece.count).sum();
        let length: Length = request.pieces.iter().map(|piece| piece.length * i64::from(piece.count)).sum();
        let sticks: Vec<String> = bought
            .iter()
            .rev()
            .map(|(length, count)| format!("{count} of {}", length.show_marked(self.unit)))
            .collect();
        Item {
            what: what.to_owned(),
            need: match pieces {
                1 => format!("1 piece, {}", length.show_marked(self.unit)),
                n => format!("{n} pieces, {} together", length.show_marked(self.unit)),
            },
            on_hand: if held > 0 { counted(held, "offcut") } else { String::new() },
            buy: if sticks.is_empty() { "nothing".to_owned() } else { sticks.join(", ") },
            cost_cents: spent(plan),
            share_cents: spent(plan),
            why: match plan.spend {
                cutlist::Spend::Cents { .. } if request.cheapest_first && plan.is_proven() => {
                    "the cheapest there is, proven".to_owned()
                }
                cutlist::Spend::Cents { at_least, .. } if request.cheapest_first => {
                    format!("no mix costs less than {}.{:02}", at_least / 100, at_least % 100)
                }
                _ if plan.is_proven() => "fewest sticks, proven".to_owned(),
                _ => format!("at most {} sticks more than need be", plan.too_many_at_most()),
            },
        }
    }

    fn cord(&mut self, shades: &[Shade<'_>]) {
        let need: Length = shades.iter().map(|shade| shade.makeup.cords.to_buy).sum();
        if need == Length::ZERO {
            return;
        }
        let cord = &self.shop.cord;
        let held = cord.on_hand.unwrap_or(Length::ZERO).min(need);
        let left = need - held;
        let spools = left.count_up(cord.sold_by).unwrap_or(0);
        let item = Item {
            what: "lift cord".to_owned(),
            need: need.show_marked(self.unit),
            on_hand: if held > Length::ZERO { held.show_marked(self.unit) } else { String::new() },
            buy: match spools {
                0 => "nothing".to_owned(),
                n => format!("{n} of {}", sold(cord.sold_by, self.unit)),
            },
            share_cents: cord.price_cents.and_then(|price| part_of(price, left.nm(), cord.sold_by.nm())),
            cost_cents: if spools == 0 {
                Some(0)
            } else {
                cord.price_cents.and_then(|price| price.checked_mul(u64::try_from(spools).ok()?))
            },
            why: "every run with its waste".to_owned(),
        };
        self.put(&cord.section.clone(), item);
    }

    fn packs(&mut self, shades: &[Shade<'_>]) {
        // What it is asked for by, with its kind: the kind says how it is packed.
        let mut needs: BTreeMap<(&'static str, String), u64> = BTreeMap::new();
        let mut need = |kind: &'static str, what: String, count: usize| {
            *needs.entry((kind, what)).or_default() += count as u64;
        };
        for shade in shades {
            need("ring", "rings".to_owned(), shade.makeup.rings());
            let eyes = shade.makeup.grid.columns.len() + shade.makeup.cords.rail_eyes.len();
            need("screw eye", "screw eyes".to_owned(), eyes);
            let side = shade.choices.control;
            match shade.fixing {
                None => need("lift", lift_words(shade.choices).to_owned(), 1),
                Some(Fixing { lift: Some(kind), .. }) => need("lift", lift_name(kind, side), 1),
                Some(_) => self.problems.push(format!("{}: no lift raises it, so none is on the list", shade.name)),
            }
            let cleats = match shade.choices.lift {
                Lift::CordLock => 1,
                Lift::TopDownBottomUp => 2,
                _ => 0,
            };
            if cleats > 0 {
                need("cord cleat", "cord cleats".to_owned(), cleats);
            }
            if let Some(around) = shade.makeup.cords.around {
                let of = if shade.choices.lift == Lift::ChainLoop { "chain" } else { "cord" };
                let what = format!("endless {of}, {} once around", around.show_marked(self.unit));
                need("endless loop", what, 1);
                need("tensioner", "tensioners".to_owned(), 1);
            }
            let Some(fixing) = shade.fixing else { continue };
            if !fixing.holds {
                // What would not hold is not bought.
                let why = fixing.fails.first().map_or("", String::as_str);
                self.problems
                    .push(format!("{}: no fixings are on the list, because they would not hold. {why}", shade.name));
                continue;
            }
            if let (true, Some(name)) = (fixing.brackets, shade.bracket) {
                need("bracket", format!("{name} brackets"), fixing.fixed.len());
            }
            for screw in &fixing.screws {
                let what = format!("{} screws, {}", screw.screw, screw.length.show_marked(self.unit));
                need("screw", what, screw.count);
            }
            if let Some(anchor) = &fixing.anchor {
                need("anchor", anchor.anchor.clone(), anchor.count);
            }
        }
        for ((kind, what), count) in needs {
            let Some(stock) = self.shop.pack(kind, &what) else {
                self.problems.push(format!("{what}: the shop file sells none; add \"{kind}\" to \"packs\""));
                continue;
            };
            if count > MOST_PACKED as u64 {
                self.problems
                    .push(format!("{what}: {count} of them are more than any house takes; read the sizes again"));
                continue;
            }
            let held = stock.on_hand.min(count);
            let packs = fewest_packs(count - held, &stock.sizes);
            let words: Vec<String> = packs
                .iter()
                .filter(|(_, n)| *n > 0)
                .map(|(pack, n)| match (pack.count, *n) {
                    (1, n) => n.to_string(),
                    (count, 1) => format!("1 pack of {count}"),
                    (count, n) => format!("{n} packs of {count}"),
                })
                .collect();
            let cost = packs
                .iter()
                .filter(|(_, n)| *n > 0)
                .map(|(pack, n)| pack.cents.and_then(|cents| cents.checked_mul(*n)))
                .sum::<Option<u64>>();
            let bought: u64 = packs.iter().map(|(pack, n)| u64::from(pack.count) * n).sum();
            let item = Item {
                what,
                need: count.to_string(),
                on_hand: if held > 0 { held.to_string() } else { String::new() },
                buy: if words.is_empty() { "nothing".to_owned() } else { words.join(", ") },
                cost_cents: cost,
                share_cents: packs
                    .iter()
                    .filter(|(_, n)| *n > 0)
                    .map(|(pack, _)| {
                        let left = i64::try_from(count - held).ok()?;
                        part_of(pack.cents?, left, i64::from(pack.count))
                    })
                    .min()
                    .unwrap_or(Some(0)),
                why: match bought + held - count {
                    0 => "no spare".to_owned(),
                    spare => format!("{spare} to spare"),
                },
            };
            self.put(&stock.section.clone(), item);
        }
    }
}

/// The cuts of a shade as wants of their cloths. The face and the valance match in the pattern; their fold lines hide
/// seams of turned cloth.
pub fn wants(shade: &Shade<'_>, match_at: MatchAt) -> Vec<(Material, Want)> {
    shade
        .makeup
        .cuts
        .iter()
        .map(|cut| {
            let rows = &shade.makeup.grid.rows;
            let fold_lines: Vec<Length> = match cut.part {
                Part::Face => rows.iter().map(|row| row.on_face.exact).collect(),
                Part::Lining => rows.iter().map(|row| row.on_lining.exact).collect(),
                Part::Interlining => rows.iter().map(|row| row.from_head.exact).collect(),
                _ => Vec::new(),
            };
            // A valance hangs from the head over the shade: its pattern goes on from the shade's only at the head.
            let line =
                if match_at == MatchAt::Head || cut.part == Part::Valance { cut.head_line } else { cut.foot_line };
            let want = Want {
                name: format!("{}: {}", shade.name, cut.part.words()),
                width: cut.width,
                length: cut.length,
                match_line: cut.matched.then_some(line),
                fold_lines,
            };
            (cut.material, want)
        })
        .collect()
}

/// So many of a thing: "1 cut", "3 cuts".
fn counted(n: usize, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}

/// `need` out of `whole` at the price of the whole, up to a whole hundredth.
fn part_of(price: u64, need: i64, whole: i64) -> Option<u64> {
    let exact = u128::from(price) * u128::try_from(need).ok()?;
    u64::try_from(exact.div_ceil(u128::try_from(whole).ok()?.max(1))).ok()
}

/// What a plan of sticks costs, where every stick has a price.
const fn spent(plan: &cutlist::Plan) -> Option<u64> {
    match plan.spend {
        cutlist::Spend::Cents { total, .. } => Some(total),
        cutlist::Spend::Bought { .. } if plan.bought == 0 => Some(0),
        cutlist::Spend::Bought { .. } => None,
    }
}

fn cloth_item(bolt: &Bolt, wants: &[Want], plan: &cloth::Plan, held: &[AtHand], short: bool) -> Item {
    let show = |length: Length| length.round(Grain::of_tape(bolt.unit), Direction::Up).show_marked(bolt.unit);
    let mut cut: Vec<usize> =
        plan.pieces.iter().filter(|piece| piece.on_hand.is_some()).map(|piece| piece.want).collect();
    cut.sort_unstable();
    cut.dedup();
    let off_hand = if held.is_empty() { wants.len() - plan.not_on_hand.len() } else { cut.len() };
    let none_at_hand = bolt.on_hand.is_empty() && held.is_empty();
    let mut why = vec![if plan.proven {
        "the least there is, proven".to_owned()
    } else {
        format!(
            "no plan uses less than {}",
            plan.bound.round(Grain::of_tape(bolt.unit), Direction::Down).show_marked(bolt.unit)
        )
    }];
    if plan.spare > Length::ZERO {
        why.push(format!("{} of it to spare", show(plan.spare)));
    }
    if short {
        why.push("no more of it is to be had".to_owned());
    }
    if plan.saved() > Length::ZERO && none_at_hand {
        why.push(format!("one after another would take {}", show(plan.one_after_another)));
    }
    Item {
        what: bolt.name.clone(),
        need: format!("{} for {}", show(plan.used), counted(wants.len(), "cut")),
        on_hand: if none_at_hand || off_hand == 0 { String::new() } else { counted(off_hand, "cut") },
        buy: if plan.buy == Length::ZERO { "nothing".to_owned() } else { sold(plan.buy, bolt.unit) },
        cost_cents: if plan.buy == Length::ZERO { Some(0) } else { plan.cost_cents },
        share_cents: if plan.buy == Length::ZERO { Some(0) } else { plan.cost_cents },
        why: why.join("; "),
    }
}

/// What is bought of a cloth, as a shop sells it, with its price where there is one.
pub fn cloth_sold(planned: &ClothPlan) -> String {
    let ClothPlan { bolt, plan, .. } = planned;
    if plan.buy == Length::ZERO {
        return "nothing".to_owned();
    }
    let buy = sold(plan.buy, bolt.unit);
    plan.cost_cents.map_or_else(|| buy.clone(), |cents| format!("{buy} for {}.{:02}", cents / 100, cents % 100))
}

fn said(problem: &CutProblem, unit: LengthUnit) -> String {
    match problem {
        CutProblem::TooLong { pieces } => pieces.iter().map(|piece| piece.sentence(unit)).collect::<Vec<_>>().join(" "),
        other => format!("{other}; {}", other.right()),
    }
}

const fn lift_words(choices: &Choices) -> &'static str {
    match (choices.lift, choices.control) {
        (Lift::NoReachableCord, _) => "spring lift, no reachable cord",
        (Lift::CordLock, ControlSide::Left) => "cord lock, left",
        (Lift::CordLock, ControlSide::Right) => "cord lock, right",
        (Lift::ChainLoop, ControlSide::Left) => "chain lift with tensioner, left",
        (Lift::ChainLoop, ControlSide::Right) => "chain lift with tensioner, right",
        (Lift::Motor, _) => "motor lift",
        (Lift::EndlessCord, ControlSide::Left) => "endless cord lift with tensioner, left",
        (Lift::EndlessCord, ControlSide::Right) => "endless cord lift with tensioner, right",
        (Lift::TopDownBottomUp, _) => "pair of cord locks, top rail and foot",
    }
}

/// A lift as it is asked for: with its side where its control hangs at one.
fn lift_name(kind: &LiftKind, side: ControlSide) -> String {
    let handed = kind.lift.is_reachable() && kind.lift != Lift::TopDownBottomUp;
    match (handed, side) {
        (false, _) => kind.name.clone(),
        (true, ControlSide::Left) => format!("{}, left", kind.name),
        (true, ControlSide::Right) => format!("{}, right", kind.name),
    }
}

/// Packs that hold `need`: the cheapest where every size has a price, else the fewest pieces, then the fewest packs.
fn fewest_packs(need: u64, sizes: &[Pack]) -> Vec<(Pack, u64)> {
    let priced = sizes.iter().all(|pack| pack.cents.is_some());
    let need = usize::try_from(need).unwrap_or(MOST_PACKED).min(MOST_PACKED);
    // The best way to hold at least n: value, then packs, with the size taken last.
    let mut best: Vec<(u64, u64, usize)> = vec![(0, 0, 0); need + 1];
    for n in 1..=need {
        best[n] = sizes
            .iter()
            .enumerate()
            .map(|(i, pack)| {
                let rest = best[n.saturating_sub(pack.count as usize)];
                let value = if priced { pack.cents.unwrap_or(0) } else { u64::from(pack.count) };
                (rest.0.saturating_add(value), rest.1 + 1, i)
            })
            .min()
            .unwrap_or((0, 0, 0));
    }
    let mut packs: Vec<(Pack, u64)> = sizes.iter().map(|pack| (*pack, 0)).collect();
    let mut left = need;
    while left > 0 && !sizes.is_empty() {
        let size = best[left].2;
        packs[size].1 += 1;
        left = left.saturating_sub(sizes[size].count as usize);
    }
    packs
}

/// More of one thing than any house takes: beyond it a count is a slip.
const MOST_PACKED: usize = 1_000_000;

#[cfg(test)]
mod tests;
