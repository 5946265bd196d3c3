//! Pieces out of stock lengths: boards, bars, ribs, tubes. Read this first if you change how sticks are bought or cut.
//!
//! [`plan`] buys the fewest sticks, of those mixes the cheapest (the least length, where no prices are given), and
//! of its plans one that leaves a long offcut; or, where prices are given and it is asked for
//! ([`Request::cheapest_first`]), the cheapest mix, of those the one of the fewest sticks. Offcuts on hand cost nothing and are all at its disposal. Every
//! number is proven, or stands beside a bound that holds even where the search was stopped ([`Plan::bought_at_least`]
//! and its like). Effort is counted in steps, never by a clock: the same request gives the same plan everywhere.
//!
//! The rule of the saw: each cut takes one kerf, beyond the piece. The last cut of a stick takes no more than
//! there is: none where the piece ends just at the end, and only what is left where less than a kerf is left. So
//! pieces fit a stick when their lengths, and one kerf between each two, are no more than its usable length. What
//! is left beyond the last kerf is the offcut.
//!
//! Bought sticks are trimmed at both ends by `trim`, its cut included: their usable length is the length less two
//! trims. Offcuts on hand are taken to be square already. An offcut is counted without the trim at its foot.
//!
//! How it searches is in `search`; `check` adds every stick up again, on its own, before an answer leaves here.

pub mod calculator;
mod check;
mod problem;
mod search;

pub use check::{Miscount, check};
pub use problem::CutProblem;

use crate::length::Length;
use crate::settings::Settings;
use search::{Answer, Bought, Pattern, Question, Short, Work};
use std::collections::BTreeMap;

/// What is to be cut, and out of what.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Request {
    /// What a cut takes.
    pub kerf: Length,
    /// What comes off each end of a bought stick before it is used, the cut included.
    pub trim: Length,
    /// An offcut shorter than this is scrap.
    pub smallest_offcut: Length,
    /// The sticks that can be bought.
    pub stock: Vec<Stock>,
    /// The offcuts that are there already.
    pub on_hand: Vec<OnHand>,
    /// The pieces.
    pub pieces: Vec<Piece>,
    /// True to buy the cheapest mix where every stick has a price, and not the fewest sticks.
    pub cheapest_first: bool,
    /// How many steps the search may take: [`Request::USUAL_STEPS`] unless there is a reason.
    pub steps: u64,
}

/// A stick that can be bought.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Stock {
    /// Its length as sold.
    pub length: Length,
    /// Price of one, in hundredths of the currency. Given for every stick or for none.
    pub cents: Option<u64>,
    /// How many there are to be had; `None` for as many as it takes.
    pub count: Option<u32>,
}

/// Offcuts on hand, of one length.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct OnHand {
    /// Length, square at both ends.
    pub length: Length,
    /// How many.
    pub count: u32,
}

/// Pieces of one length and name.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Piece {
    /// What the maker calls it; may be empty.
    pub name: String,
    /// Cut length.
    pub length: Length,
    /// How many.
    pub count: u32,
}

impl Request {
    /// Steps of the usual search: a few seconds on a laptop at the very most, and seldom reached.
    pub const USUAL_STEPS: u64 = 3_000_000_000;

    /// An empty request with the house's kerf, trim and smallest offcut.
    pub fn of_house(settings: &Settings) -> Self {
        Self {
            kerf: settings.saw_kerf,
            trim: settings.stick_trim,
            smallest_offcut: settings.smallest_offcut,
            stock: Vec::new(),
            on_hand: Vec::new(),
            pieces: Vec::new(),
            cheapest_first: false,
            steps: Self::USUAL_STEPS,
        }
    }

    /// The usable length of a bought stick.
    fn usable(&self, stock: &Stock) -> Length {
        stock.length - self.trim * 2
    }
}

/// Where a stick comes from.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Source {
    /// Bought: the place in [`Request::stock`].
    Stock(usize),
    /// On hand: the place in [`Request::on_hand`].
    OnHand(usize),
}

/// One piece as it comes off a stick.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Cut {
    /// The place in [`Request::pieces`].
    pub piece: usize,
    /// Its length.
    pub length: Length,
}

/// One stick and what is cut from it, in the order of cutting.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Stick {
    /// Where it comes from.
    pub source: Source,
    /// Its whole length.
    pub length: Length,
    /// The pieces, longest first.
    pub cuts: Vec<Cut>,
    /// What the saw takes, all cuts together.
    pub sawn: Length,
    /// What is left after the last cut, without the trim at the foot.
    pub offcut: Length,
    /// True when the offcut is long enough to keep.
    pub keep: bool,
}

/// What the bought sticks come to, beside what they come to at least.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Spend {
    /// In hundredths of the currency.
    Cents {
        /// This plan.
        total: u64,
        /// No plan of as many sticks costs less; where the cheapest was asked for, no plan at all.
        at_least: u64,
    },
    /// In length, where no prices were given.
    Bought {
        /// This plan.
        total: Length,
        /// No plan of as many sticks is of less length.
        at_least: Length,
    },
}

/// The plan.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Plan {
    /// Every stick that is cut, the longest first.
    pub sticks: Vec<Stick>,
    /// How many of them are bought.
    pub bought: u32,
    /// No plan buys fewer; where the cheapest was asked for, none that costs as little.
    pub bought_at_least: u32,
    /// What they come to.
    pub spend: Spend,
    /// The longest offcut of the bought sticks (of those on hand, where none is bought); zero when none of them is
    /// worth keeping.
    pub longest_offcut: Length,
    /// No plan of as many sticks for as much or less leaves a longer one.
    pub longest_offcut_at_most: Length,
    /// Steps the search took.
    pub steps: u64,
}

impl Plan {
    /// How many sticks too many this may be, at most.
    pub fn too_many_at_most(&self) -> u32 {
        self.bought - self.bought_at_least
    }

    /// True when no plan buys fewer sticks, and none of as many is cheaper; where the cheapest was asked for, when no plan
    /// is cheaper, and none as cheap buys fewer.
    pub fn is_proven(&self) -> bool {
        self.too_many_at_most() == 0
            && match self.spend {
                Spend::Cents { total, at_least } => total == at_least,
                Spend::Bought { total, at_least } => total == at_least,
            }
    }
}

/// The most pieces one request may ask for: more is a slip of the hand.
const MOST_PIECES: u64 = 20_000;
/// The dearest stick, in hundredths: more is a slip of the hand.
const DEAREST_CENTS: u64 = 100_000_000_000;

/// Plans the cutting.
///
/// ```
/// use hangtrue_core::cutlist::{Piece, Request, Stock, plan};
/// use hangtrue_core::{length::Length, settings::Settings};
/// let mut request = Request::of_house(&Settings::INCHES);
/// request.stock.push(Stock { length: Length::whole_inches(96), cents: Some(410), count: None });
/// request.pieces.push(Piece { name: "kitchen board".into(), length: Length::inches(141, 4), count: 4 });
/// let plan = plan(&request).unwrap();
/// assert_eq!((plan.bought, plan.bought_at_least), (2, 2));
/// assert_eq!(plan.sticks[0].offcut, Length::inches(101, 4)); // 96 - 2 x 35 1/4 - 2 kerfs of 1/8
/// ```
///
/// # Errors
/// [`CutProblem`]: pieces longer than any stick (all are named), too little stock, or a number that cannot be meant.
pub fn plan(request: &Request) -> Result<Plan, CutProblem> {
    let table = Table::of(request)?;
    if table.question.sizes.is_empty() {
        return Ok(table.plan(request, &Answer::empty(), 0));
    }
    let mut work = Work::new(request.steps);
    let answer = table.question.answer(&mut work).map_err(|short| match short {
        Short::Proven => CutProblem::TooLittle,
        Short::Unknown => CutProblem::NoneFound,
    })?;
    let plan = table.plan(request, &answer, work.used());
    check(request, &plan).map_err(CutProblem::Miscounted)?;
    Ok(plan)
}

/// Where sticks of one kind come from, and how many from each.
type Sources = Vec<(Source, Option<u32>)>;

/// The request in whole steps, and the way back.
struct Table {
    /// Nanometres in a step.
    step: i64,
    question: Question,
    /// Pieces of each size, in the order in which they are handed out: places in the request, one a piece.
    pieces: Vec<Vec<usize>>,
    /// Sources of each kind, one a stick for what is on hand or limited.
    sources: Vec<Sources>,
    priced: bool,
}

impl Table {
    fn of(request: &Request) -> Result<Self, CutProblem> {
        problem::refuse(request)?;
        let kerf = request.kerf;
        let priced = request.stock.iter().any(|s| s.cents.is_some());
        let mut sizes: BTreeMap<i64, Vec<usize>> = BTreeMap::new();
        let mut places: Vec<usize> = (0..request.pieces.len()).collect();
        places.sort_by(|a, b| (&request.pieces[*a].name, a).cmp(&(&request.pieces[*b].name, b)));
        for place in places {
            let piece = &request.pieces[place];
            let copies = std::iter::repeat_n(place, piece.count as usize);
            if piece.count > 0 {
                sizes.entry((piece.length + kerf).nm()).or_default().extend(copies);
            }
        }
        let mut bought: BTreeMap<(i64, u64), Sources> = BTreeMap::new();
        for (place, stock) in request.stock.iter().enumerate() {
            let room = (request.usable(stock) + kerf).nm();
            let price = stock.cents.unwrap_or(stock.length.nm().unsigned_abs());
            if stock.count != Some(0) {
                bought.entry((-room, price)).or_default().push((Source::Stock(place), stock.count));
            }
        }
        let mut held: BTreeMap<i64, Sources> = BTreeMap::new();
        for (place, offcut) in request.on_hand.iter().enumerate() {
            if offcut.count > 0 {
                let room = (offcut.length + kerf).nm();
                held.entry(-room).or_default().push((Source::OnHand(place), Some(offcut.count)));
            }
        }
        let rooms = bought.keys().map(|(room, _)| -room).chain(held.keys().map(|room| -room));
        let step = rooms.chain(sizes.keys().copied()).fold(0, gcd).max(1);
        let total = |sources: &Sources| sources.iter().map(|(_, count)| *count).sum::<Option<u32>>();
        let question = Question {
            sizes: sizes.keys().rev().map(|size| size / step).collect(),
            demand: sizes.values().rev().map(|places| u32::try_from(places.len()).expect("counted before")).collect(),
            bought: bought
                .iter()
                .map(|((room, price), sources)| Bought { room: -room / step, price: *price, limit: total(sources) })
                .collect(),
            held: held.iter().map(|(room, sources)| (-room / step, total(sources).unwrap_or(0))).collect(),
            cheapest_first: request.cheapest_first && priced,
            useful: ((request.smallest_offcut + kerf).nm() - 1).max(0) / step + 1,
        };
        Ok(Self {
            step,
            question,
            pieces: sizes.into_values().rev().collect(),
            sources: bought.into_values().chain(held.into_values()).collect(),
            priced,
        })
    }

    fn plan(&self, request: &Request, answer: &Answer, steps: u64) -> Plan {
        let mut patterns: Vec<&Pattern> = answer.sticks.iter().filter(|p| !p.take.is_empty()).collect();
        patterns.sort_by(|a, b| a.kind.cmp(&b.kind).then_with(|| a.take.cmp(&b.take)));
        let mut pieces: Vec<std::slice::Iter<usize>> = self.pieces.iter().map(|places| places.iter()).collect();
        let mut sources = self.sources.clone();
        let mut sticks = Vec::new();
        for pattern in patterns {
            let mut cuts = Vec::new();
            for (item, copies) in &pattern.take {
                for _ in 0..*copies {
                    let piece = *pieces[*item as usize].next().expect("the search cuts what was asked");
                    cuts.push(Cut { piece, length: request.pieces[piece].length });
                }
            }
            let source = take_one(&mut sources[pattern.kind as usize]);
            sticks.push(stick(request, source, cuts));
        }
        let bought = count(sticks.iter().filter(|s| matches!(s.source, Source::Stock(_))));
        let total: u64 = answer.sticks.iter().filter(|p| !p.take.is_empty()).map(|p| self.price(p)).sum();
        let at_least = answer.price_at_least.min(total);
        let nm = |nm: u64| Length::from_nm(i64::try_from(nm).expect("lengths of a house do not overflow"));
        let spend = if self.priced {
            Spend::Cents { total, at_least }
        } else {
            Spend::Bought { total: nm(total), at_least: nm(at_least) }
        };
        let counts = |s: &&Stick| s.keep && (bought == 0 || matches!(s.source, Source::Stock(_)));
        let longest_offcut = sticks.iter().filter(counts).map(|s| s.offcut).max().unwrap_or(Length::ZERO);
        let most = Length::from_nm(answer.offcut_at_most * self.step) - request.kerf;
        Plan {
            bought,
            bought_at_least: answer.bought_at_least.min(bought),
            spend,
            longest_offcut,
            longest_offcut_at_most: if most < request.smallest_offcut { Length::ZERO } else { most }
                .max(longest_offcut),
            steps,
            sticks,
        }
    }

    fn price(&self, pattern: &Pattern) -> u64 {
        self.question.bought.get(pattern.kind as usize).map_or(0, |bought| bought.price)
    }
}

/// The next stick of a kind: from the first source that still has one.
fn take_one(sources: &mut [(Source, Option<u32>)]) -> Source {
    let (source, left) = sources
        .iter_mut()
        .find(|(_, left)| left.is_none_or(|n| n > 0))
        .expect("the search uses no more sticks than there are");
    if let Some(left) = left {
        *left -= 1;
    }
    *source
}

/// Lays the cuts along the stick.
fn stick(request: &Request, source: Source, cuts: Vec<Cut>) -> Stick {
    let (length, usable) = match source {
        Source::Stock(place) => (request.stock[place].length, request.usable(&request.stock[place])),
        Source::OnHand(place) => (request.on_hand[place].length, request.on_hand[place].length),
    };
    let between = request.kerf * i64::from(count(cuts.iter()).saturating_sub(1));
    let rest = usable - cuts.iter().map(|cut| cut.length).sum::<Length>() - between;
    let last = rest.min(request.kerf);
    let offcut = rest - last;
    let keep = offcut > Length::ZERO && offcut >= request.smallest_offcut;
    Stick { source, length, cuts, sawn: between + last, offcut, keep }
}

fn count(things: impl Iterator) -> u32 {
    u32::try_from(things.count()).expect("no more than the pieces of a request")
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { gcd(b, a % b) }
}
