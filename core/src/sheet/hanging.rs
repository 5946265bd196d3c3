//! The hanging sheet: one page with where every hole goes, what to bring, and the work in its order.

use super::drawing::{Anchor, Drawing, real};
use super::frame::{Block, Sheet, Stop, WIDE, many, text_mm};
use super::set::set;
use super::{Heading, PAPER_WIDTH, alike, name_of};
use crate::care::{Caution, NOT_A_STATEMENT, Topic};
use crate::fixing::{Fixing, Ground, Hanging, Job, ScrewJob, letter, steps};
use crate::flag::{listed, sentence};
use crate::length::{Length, LengthUnit};
use crate::makeup::Amount;
use crate::mount::{Edge, Form, Mounting};
use crate::work::{Shade, Worked};
use maud::{Markup, PreEscaped, html};

/// The hanging sheet of one opening.
pub fn hanging(heading: &Heading<'_>, worked: &Worked<'_>) -> Markup {
    let name = name_of(worked);
    let mut sheet = Sheet::of("Hanging", "Opening", &name, Vec::new());
    sheet.stop = Stop::of(worked.stop_hanging());
    let blocks = match (&worked.shade, worked.mounts.advised()) {
        (Some(shade), Some(mounting)) => {
            // Large, to be read from a ladder; where that takes a second page, small.
            let large = hung(heading, worked, shade, mounting, true);
            if large.iter().map(Block::high).sum::<f64>() <= heading.room(&sheet) {
                large
            } else {
                hung(heading, worked, shade, mounting, false)
            }
        }
        _ => vec![cannot(heading, worked)],
    };
    sheet.blocks = blocks;
    heading.pages(&sheet)
}

fn cannot<'a>(heading: &Heading<'_>, worked: &Worked<'_>) -> Block<'a> {
    let ways: Vec<String> = worked
        .mounts
        .cannot
        .iter()
        .map(|way| format!("{} {} {}", sentence(way.form.words()), sentence(&way.why), sentence(&way.would)))
        .collect();
    let because = sentence(&worked.mounts.because);
    let offers: Vec<String> = worked.offers.iter().map(|offer| sentence(&offer.words)).collect();
    let mm = 16.0
        + text_mm(&because, WIDE, 10.0, 1.35)
        + offers.iter().map(|text| text_mm(text, WIDE, 10.0, 1.28) + 1.2).sum::<f64>()
        + ways.iter().map(|text| text_mm(text, WIDE, 10.0, 1.28) + 1.2).sum::<f64>();
    let content = html! {
        p { b { (heading.set(&because)) } }
        @if !offers.is_empty() { h3 { "What would work" } @for each in &offers { p { (heading.set(each)) } } }
        @for each in &ways { p { (heading.set(each)) } }
    };
    Block::whole(content, mm)
}

fn hung<'a>(
    heading: &Heading<'_>,
    worked: &Worked<'_>,
    shade: &Shade,
    mounting: &Mounting,
    large: bool,
) -> Vec<Block<'a>> {
    let show = |length: Length| heading.show_marked(length);
    let mut blocks = Vec::new();
    let weight = shade.makeup.as_ref().map_or_else(
        |_| String::new(),
        |made| format!(" Weight {}.", Amount::Grams(made.weight.total).shown(heading.unit())),
    );
    let by_hand: String = mounting.by_hand(heading.unit()).iter().map(|each| format!(" {}", sentence(each))).collect();
    let mut packing = String::new();
    if mounting.packing > Length::ZERO {
        packing.push_str(&format!(", packing of {} behind it", show(mounting.packing)));
    }
    if mounting.off_wall > Length::ZERO {
        packing.push_str(&format!(", its back edge {} off the wall", show(mounting.off_wall)));
    }
    let said = format!(
        "{}{by_hand} Board {}, {} long{packing}.{weight}",
        sentence(mounting.form.words()),
        mounting.board.size.name(),
        show(mounting.board_length.total)
    );
    let size = format!(
        "{}{} wide, {} long",
        alike(worked.opening),
        heading.show(mounting.width.total),
        heading.show(mounting.length.total)
    );
    // Beside the size where there is room, else below it.
    let size_wide = many(size.chars().count()) * 4.1;
    let beside = (WIDE - size_wide).max(60.0);
    let head = html! { div.top { h1 { (heading.set(&size)) } p { (heading.set(&said)) } } };
    blocks.push(Block::whole(head, text_mm(&said, beside - 6.0, 10.0, 1.28).max(7.9) + 3.0));
    if let Err(problem) = &shade.makeup {
        let text = format!("{} {}", sentence(&problem.what), sentence(&problem.right));
        blocks.push(Block::whole(html! { p { b { (heading.set(&text)) } } }, text_mm(&text, WIDE, 10.0, 1.35) + 1.5));
    }
    let Some(fixing) = &shade.fixing else { return blocks };
    let (drawing, high) = elevation(heading, mounting, shade, fixing);
    blocks.push(Block::whole(html! { figure { (PreEscaped(drawing)) } }, high + 1.6));
    let (side, side_mm) = section(heading, mounting, if large { 46.0 } else { 34.0 });
    let (bring, bring_mm) = bring(heading, mounting, fixing, large);
    blocks.push(Block::whole(
        html! { div.sides { figure { (PreEscaped(side)) } div { (bring) } } },
        side_mm.max(bring_mm) + 2.0,
    ));
    for fails in fixing.fails.iter().chain(&fixing.would) {
        let mm = text_mm(fails, WIDE, 10.0, 1.35) + 1.5;
        blocks.push(Block::whole(html! { p { b { (heading.set(&sentence(fails))) } } }, mm));
    }
    let settings = heading.job.settings().unwrap_or_default();
    let choices = &worked.opening.choices;
    let wall = &worked.opening.wall;
    let at_the_hole: Vec<&str> = shade.care.iter().filter_map(Caution::at_the_hole).collect();
    let order = steps(&Hanging {
        mounting,
        fixing,
        choices,
        wall,
        at_the_hole: &at_the_hole,
        settings: &settings,
        unit: heading.unit(),
    });
    let bench = order.bench.iter().enumerate().map(|(n, step)| {
        let mm = text_mm(step, WIDE / 2.0 - 16.5, 10.5, 1.22).max(5.0) + 1.0;
        (numbered(heading, n + 1, step), mm)
    });
    blocks.push(Block::parts(9.2, bench.collect(), 2, |parts, _| {
        html! { h2 { "At the bench, in order" } ol.steps.two-up { @for part in parts { (part) } } }
    }));
    blocks.push(at_the_window(heading, &order.window, order.bench.len(), large));
    blocks.push(minding(shade));
    blocks
}

fn at_the_window<'a>(heading: &Heading<'_>, steps: &[String], before: usize, large: bool) -> Block<'a> {
    let parts = steps.iter().enumerate().map(|(n, step)| {
        let mm = if large {
            text_mm(step, WIDE - 17.5, 12.5, 1.16).max(6.0) + 0.9
        } else {
            text_mm(step, WIDE / 2.0 - 16.5, 10.5, 1.22).max(5.0) + 1.0
        };
        (numbered(heading, before + n + 1, step), mm)
    });
    Block::parts(9.2, parts.collect(), if large { 1 } else { 2 }, move |parts, first| {
        html! {
            h2 {
                "At the window, in order" @if !first { " (goes on)" }
                @if first { " " span.aside { "Ladder: foot out a quarter of its length; never on the top two steps." } }
            }
            ol.steps.ladder[large].two-up[!large] { @for part in parts { (part) } }
        }
    })
}

fn numbered(heading: &Heading<'_>, n: usize, step: &str) -> Markup {
    html! { li { span.box {} span.no { (n) } span { (heading.set(step)) } } }
}

/// What to mind that is no step: cords and children first.
fn minding<'a>(shade: &Shade) -> Block<'a> {
    let mut notes: Vec<String> = shade
        .care
        .iter()
        // What is a step, or is seen at the bench, is not said again.
        .filter(|caution| match caution.topic {
            Topic::Cord => caution.code != "cord_behind",
            Topic::Flame | Topic::Way | Topic::Wiring => true,
            Topic::Ladder => caution.code == "ladder_on_stairs",
            Topic::Rings | Topic::Load | Topic::Drilling | Topic::OldPaint => false,
        })
        .map(Caution::short)
        .collect();
    if notes.is_empty() {
        return Block::parts(0.0, Vec::new(), 1, |_, _| html! {});
    }
    notes.push(NOT_A_STATEMENT.to_owned());
    let text = notes.join(" ");
    let mm = text_mm(&format!("Mind. {text}"), WIDE, 8.5, 1.25) + 1.6;
    Block::whole(html! { p.mind { b { "Mind." } " " span.care { (set(&text)) } } }, mm)
}

/// What to bring, and its height.
fn bring(heading: &Heading<'_>, mounting: &Mounting, fixing: &Fixing, large: bool) -> (Markup, f64) {
    let show = |length: Length| length.show_marked(heading.unit());
    let tape = |length: Length| heading.show_marked(length);
    let imperial = heading.unit().is_imperial();
    let bit_words = |length: Length| if imperial { length.show(LengthUnit::Inch) } else { show(length) };
    let mut rows: Vec<(String, String, String)> = Vec::new();
    let mut bits: Vec<String> = Vec::new();
    let bit = |bits: &mut Vec<String>, length: Length| {
        let words = bit_words(length);
        if !bits.contains(&words) {
            bits.push(words);
        }
    };
    for screw in fixing.screws.iter().filter(|screw| screw.job != Job::IntoAnchor) {
        let ScrewJob { job, count, length, lead, through, .. } = screw;
        bit(&mut bits, *through);
        bit(&mut bits, *lead);
        rows.push((
            count.to_string(),
            format!("{} {} x {}", if *count == 1 { "screw" } else { "screws" }, screw.screw, show(*length)),
            format!("{}; pilot {} bit", brief(*job), bit_words(*lead)),
        ));
    }
    if let Some(anchor) = &fixing.anchor {
        bit(&mut bits, anchor.hole);
        let own = fixing.screws.iter().filter(|screw| screw.job == Job::IntoAnchor);
        let own: Vec<String> = own
            .map(|screw| {
                bit(&mut bits, screw.through);
                format!("{} x {}", screw.count, show(screw.length))
            })
            .collect();
        let own = if own.is_empty() { String::new() } else { format!("; screws {}", listed(own)) };
        rows.push((
            anchor.count.to_string(),
            anchor.anchor.clone(),
            format!("hole {} bit{own}", bit_words(anchor.hole)),
        ));
    }
    if let Some(bracket) = &mounting.bracket {
        rows.push((
            fixing.fixed.len().to_string(),
            format!("{} {}", if fixing.fixed.len() == 1 { "bracket" } else { "brackets" }, bracket.name),
            format!("leg {}, arm {}", tape(bracket.leg), tape(bracket.arm)),
        ));
    }
    if let Some(lift) = &fixing.lift {
        rows.push(("1".to_owned(), lift.name.clone(), String::new()));
    }
    let bits = listed(bits.into_iter().map(|words| format!("{words} bit")));
    rows.push((
        String::new(),
        (if mounting.bracket.is_some() { "level, awl, finder" } else { "level, awl, finder, scrap wood" }).to_owned(),
        bits,
    ));
    let wide = WIDE - 58.0 - 5.0 - 18.0;
    let (least, between) = if large { (5.6, 1.2) } else { (4.2, 0.8) };
    let mm = 9.0
        + rows
            .iter()
            .map(|(_, what, sub)| text_mm(&format!("{what} {sub}"), wide, 8.6, 1.3).max(least) + between)
            .sum::<f64>();
    let markup = html! {
        h2 { "Bring" }
        table.close[!large] {
            tbody {
                @for (count, what, sub) in &rows {
                    tr { td.tick { span.box.small[!large] {} } td.n { b { (count) } } td { b { (heading.set(what)) } " " span.note { (heading.set(sub)) } } }
                }
            }
        }
    };
    (markup, mm)
}

/// The board from the room, with fixings, screw eyes and the trim, all at one scale.
fn elevation(heading: &Heading<'_>, mounting: &Mounting, shade: &Shade, fixing: &Fixing) -> (String, f64) {
    let long = real(mounting.board_length.total);
    let flat = !mounting.form.is_on_face();
    let thick = real(if flat { mounting.board.thickness } else { mounting.board.width });
    let leg = mounting.bracket.as_ref().map_or(0.0, |bracket| real(bracket.leg));
    let screwed_up = mounting.form.is_screwed_up();
    let mut d = Drawing::fit_in(
        "The board from the room",
        (0.0, -leg),
        (long, thick),
        (PAPER_WIDTH, 48.0),
        (14.0, 12.0),
        (8.5, 11.5),
    );
    // The board is drawn at least 2.4 mm high on paper, so that its eyes can be seen; its length is to scale.
    let thick = thick.max(d.on_wall(2.4));
    d.rect((0.0, 0.0), (long, thick), "wood");
    let eyes = shade.makeup.iter().flat_map(|made| &made.grid.columns);
    for column in eyes {
        d.dot((real(column.on_board.exact), d.on_wall(0.9).min(thick / 2.0)), 0.8, "hole");
    }
    let half = mounting.bracket.as_ref().map_or(0.0, |bracket| real(bracket.across) / 2.0);
    for (i, each) in fixing.fixed.iter().enumerate() {
        let x = real(each.at);
        if leg > 0.0 {
            let half = half.max(d.on_wall(1.2));
            d.rect((x - half, -leg), (x + half, 0.0), "cut");
        } else {
            d.cross((x, thick / 2.0), 2.4, "thick");
        }
        d.line((x, thick + d.on_wall(0.6)), (x, thick + d.on_wall(2.2)), "thin");
        d.text((x, thick), 3.2, Anchor::Middle, "large", &heading.show(each.at));
        let low = -leg - d.on_wall(4.6);
        d.dot((x, low), 2.5, "hole");
        d.text((x, low), -1.3, Anchor::Middle, "measure", &letter(i));
        if each.on == Ground::Stud {
            d.text((x + d.on_wall(3.0), low), -1.2, Anchor::Start, "small", "stud");
        }
    }
    d.line((0.0, thick), (0.0, thick + d.on_wall(2.2)), "thin");
    if fixing.fixed.first().is_none_or(|first| d.on_paper(real(first.at)) > 12.0) {
        d.text((0.0, thick), 3.2, Anchor::Middle, "measure", "0");
    }
    if !screwed_up {
        d.line((-d.on_wall(6.0), -leg), (long + d.on_wall(6.0), -leg), "hidden");
        let inset = (mounting.width.total - mounting.board_length.total).split(2, 1);
        let past = mounting.left_past() - inset;
        let edge = if mounting.edge == Edge::Trim { "trim" } else { "opening" };
        let x = real(past);
        if past > Length::ZERO {
            let y = -leg - d.on_wall(9.5);
            d.line((x, -leg - real(mounting.above_trim)), (x, y), "thick");
            d.line((0.0, -d.on_wall(0.4)), (0.0, y), "thin");
            d.line((0.0, y), (x, y), "dim");
            let words = format!("{} past the {edge}", heading.show(past));
            d.text((x + d.on_wall(1.0), y), -1.2, Anchor::Start, "measure", &words);
        }
    }
    let high = d.high();
    (d.svg(), high)
}

/// Wall, bracket and board from the side, at most so many millimetres of paper high, and how high it is.
fn section(heading: &Heading<'_>, mounting: &Mounting, most: f64) -> (String, f64) {
    let side = Side::of(mounting);
    let high = (side.back + side.deep.max(side.arm) + 6.0, side.top() + 8.0);
    let left = -12.0 - if mounting.form == Form::OutsideCeiling { real(mounting.off_wall) } else { 0.0 };
    // What it projects is written across its middle, and is wider than it.
    let mut d =
        Drawing::fit_in("The fixing from the side", (left, side.low), high, (58.0, most), (14.0, 11.5), (6.0, 10.0));
    side.draw(&mut d, heading, mounting, (0.0, 0.0));
    let paper = d.high();
    (d.svg(), paper)
}

/// Sizes of a fixing seen from the side, in millimetres for drawing.
pub(super) struct Side {
    deep: f64,
    high: f64,
    leg: f64,
    arm: f64,
    leaf: f64,
    low: f64,
    /// How far the back of the board stands off the wall.
    back: f64,
    /// How far what it is set on does.
    bearing: f64,
}

impl Side {
    pub(super) fn of(mounting: &Mounting) -> Self {
        let (deep, high) = if mounting.form.is_on_face() {
            (mounting.board.thickness, mounting.board.width)
        } else {
            (mounting.board.width, mounting.board.thickness)
        };
        let bracket = mounting.bracket.as_ref();
        Self {
            deep: real(deep),
            high: real(high),
            leg: bracket.map_or(0.0, |bracket| real(bracket.leg)),
            arm: bracket.map_or(0.0, |bracket| real(bracket.arm)),
            leaf: bracket.map_or(0.0, |bracket| real(bracket.leaf)),
            low: -18.0,
            back: real(mounting.bearing + mounting.packing),
            bearing: real(mounting.bearing),
        }
    }

    fn top(&self) -> f64 {
        self.leg + self.high
    }

    pub(super) fn draw(&self, d: &mut Drawing, heading: &Heading<'_>, mounting: &Mounting, at: (f64, f64)) {
        let p = |x: f64, y: f64| (at.0 + x, at.1 + y);
        let Self { deep, high, leg, arm, leaf, low, back, bearing } = *self;
        if mounting.form == Form::OutsideCeiling {
            let off = real(mounting.off_wall);
            d.rect(p(-off - 12.0, high), p(deep + 4.0, high + 8.0), "wall");
            d.rect(p(-off - 12.0, low), p(-off, high), "wall");
            d.line(p(-off, high), p(deep + 4.0, high), "thick");
            d.line(p(-off, low), p(-off, high), "thick");
            d.rect(p(0.0, 0.0), p(deep, high), "wood");
            d.line(p(deep / 2.0, -3.0), p(deep / 2.0, high + 6.0), "thick");
            d.line(p(deep, high), p(deep, low), "thick");
            d.text(p(deep + d.on_wall(0.8), low + d.on_wall(1.0)), 0.0, Anchor::Start, "small", "fabric");
            let projects = format!("projects {}", heading.show(mounting.projection));
            d.dimension_across(at.0 - off, at.0 + deep, at.1 + low, -4.0, &projects);
            d.dimension_up(at.1, at.1 + high, at.0 + deep, -7.0, &heading.show(mounting.board.thickness));
            return;
        }
        if mounting.form == Form::Inside {
            d.rect(p(-12.0, high), p(deep + 4.0, high + 8.0), "wall");
            d.line(p(-12.0, high), p(deep + 4.0, high), "thick");
            d.rect(p(0.0, 0.0), p(deep, high), "wood");
            d.line(p(deep / 2.0, -3.0), p(deep / 2.0, high + 6.0), "thick");
            d.line(p(deep, high), p(deep, low), "thick");
            d.text(p(deep + d.on_wall(0.8), low + d.on_wall(1.0)), 0.0, Anchor::Start, "small", "fabric");
            d.dimension_across(at.0, at.0 + deep, at.1 + low, -3.0, &heading.show(mounting.board.width));
            d.dimension_up(at.1, at.1 + high, at.0, 5.0, &heading.show(mounting.board.thickness));
            return;
        }
        let top = self.top();
        d.rect(p(-12.0, low), p(0.0, top + 8.0), "wall");
        d.line(p(0.0, low), p(0.0, top + 8.0), "thick");
        if bearing > 0.0 {
            d.rect(p(0.0, low), p(bearing, top), "glass");
        }
        if back > bearing {
            d.rect(p(bearing, 0.0), p(back, top), "wood hidden");
        }
        if mounting.bracket.is_some() {
            d.rect(p(back, 0.0), p(back + leaf, leg), "solid");
            d.rect(p(back, leg - leaf), p(back + arm, leg), "solid");
            for hole in mounting.bracket.iter().flat_map(|bracket| &bracket.wall_holes) {
                d.line(p(-10.0, real(*hole)), p(back + leaf + 3.0, real(*hole)), "thick");
            }
        } else {
            d.line(p(-10.0, high / 2.0), p(back + deep + 1.5, high / 2.0), "thick");
        }
        d.rect(p(back, leg), p(back + deep, top), "wood");
        d.line(p(back + deep, top), p(back + deep, low), "thick");
        d.text(p(back + deep + d.on_wall(0.8), low + d.on_wall(1.0)), 0.0, Anchor::Start, "small", "fabric");
        d.dimension_up(at.1, at.1 + top, at.0 - 12.0, 4.0, &format!("adds {}", heading.show(mounting.adds_above)));
        d.dimension_across(
            at.0,
            at.0 + back + deep,
            at.1 + low,
            -4.0,
            &format!("projects {}", heading.show(mounting.projection)),
        );
    }
}

/// A screw's job in the fewest words.
const fn brief(job: Job) -> &'static str {
    match job {
        Job::BoardToHead => "board into head",
        Job::BoardToCeiling => "board into ceiling",
        Job::BoardToWall => "board into wall",
        Job::BracketToWall => "legs into wall",
        Job::BracketToBoard => "arms into board",
        Job::IntoAnchor => "into anchors",
    }
}
