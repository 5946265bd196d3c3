//! The hanging sheet: where every hole goes, with what, what carries what, and what to mind.

use super::drawing::{Anchor, Drawing, real};
use super::{Heading, PAPER_WIDTH, flag, sentence};
use crate::care::NOT_A_STATEMENT;
use crate::fixing::{Fixing, Ground, shown_force, steps};
use crate::length::Length;
use crate::mount::{Form, Mounting, Working};
use crate::work::{Shade, Worked};
use maud::{Markup, PreEscaped, html};

/// The hanging sheet of one opening.
pub fn hanging(heading: &Heading<'_>, worked: &Worked<'_>) -> Markup {
    let content = match (&worked.shade, worked.mounts.advised()) {
        (Some(shade), Some(mounting)) => hung(heading, worked, shade, mounting),
        _ => html! {
            p { strong { "No way of mounting can be worked out yet." } }
            (cannot(worked))
        },
    };
    heading.sheet("Hanging", &format!("{}, {}", worked.room.name, worked.opening.name), &content)
}

fn hung(heading: &Heading<'_>, worked: &Worked<'_>, shade: &Shade, mounting: &Mounting) -> Markup {
    html! {
        p {
            strong.size { (heading.show(mounting.width.total)) " wide, " (heading.show(mounting.length.total)) " long" }
            "; " (mounting.form.words()) "; board " (mounting.board.size.name()) ", " (heading.show(mounting.board_length.total)) " long"
            @if let Some(bracket) = &mounting.bracket { "; bracket " (bracket.name) }
            "; stops " (mounting.stop.words()) "."
        }
        p { (sentence(&worked.mounts.because)) }
        @if let Some(fixing) = &shade.fixing {
            figure {
                (PreEscaped(elevation(heading, mounting, shade, fixing)))
                figcaption { "The board, seen from the room. Measures from its left end. Crosses: fixings; rings: screw eyes; broken lines: studs. Its height is drawn three times as large." }
            }
            (fixings(heading, fixing))
            h2 { "In order" }
            ol.tick { @for step in steps(mounting, fixing, heading.unit()) { li { (step) } } }
        }
        @if let Err(problem) = &shade.makeup { p { strong { (sentence(&problem.what)) } " " (sentence(&problem.right)) } }
        div.two {
            figure {
                (PreEscaped(section(heading, mounting)))
                figcaption { "The fixing from the side; wall or head shaded." }
            }
            div {
                h2 { "Finished size" }
                (working(heading, "Width", &mounting.width))
                (working(heading, "Length", &mounting.length))
                (working(heading, "Board", &mounting.board_length))
                (room_for(heading, mounting))
            }
        }
        @for each in &mounting.flags { (flag(each)) }
        @if let Some(fixing) = &shade.fixing {
            @for each in &fixing.flags { (flag(each)) }
            (loads(heading, fixing))
        }
        (ways(heading, worked))
        (minding(shade))
    }
}

/// The cautions, each with its source.
fn minding(shade: &Shade) -> Markup {
    html! {
        @if !shade.care.is_empty() {
            h2 { "Mind" }
            ul.care.columns {
                @for caution in &shade.care {
                    li { (sentence(&caution.says)) " " span.soft { "(" (caution.source) "; " (caution.known.words()) ")" } }
                }
            }
            p.care { strong { (NOT_A_STATEMENT) } }
        }
    }
}

fn fixings(heading: &Heading<'_>, fixing: &Fixing) -> Markup {
    html! {
        div.two.uneven {
            div {
                h2 { @if fixing.brackets { "Brackets" } @else { "Screws through the board" } }
                table {
                    thead { tr { th.n { "From left" } th { "Into" } th { "Why there" } } }
                    tbody {
                        @for each in &fixing.fixed {
                            tr { td.n.size { (heading.show(each.at)) } td { (each.on.words()) } td { (each.reason) } }
                        }
                    }
                }
                @for fails in &fixing.fails { p { strong { (sentence(fails)) } } }
                @if !fixing.would.is_empty() { p { "What would hold:" } ul { @for would in &fixing.would { li { (sentence(would)) } } } }
            }
            div {
                h2 { "Bring" }
                table {
                    thead { tr { th.n { "Count" } th { "What" } th.n { "Pilot" } th.n { "Through" } th { "Job" } } }
                    tbody {
                        @for screw in &fixing.screws {
                            tr {
                                td.n { (screw.count) }
                                td { (screw.screw) " x " (heading.show(screw.length)) }
                                td.n { (heading.show(screw.lead)) }
                                td.n { (heading.show(screw.through)) }
                                td {
                                    (screw.job.words()) "; bites " (heading.show(screw.bites))
                                    @if !screw.stays_in { strong { "; comes through: use a shorter one" } }
                                    @if let Some(left) = screw.left { "; " (heading.show(left)) " left before its point" }
                                    @if screw.split.is_some_and(|split| !split.holds()) { strong { "; may split the board" } }
                                }
                            }
                        }
                        @if let Some(anchor) = &fixing.anchor {
                            tr { td.n { (anchor.count) } td { (anchor.anchor) } td.n { (heading.show(anchor.hole)) } td {} td { "in the wall; its stated pull of " (shown_force(anchor.stated_lbf, heading.unit())) " divided by " (anchor.factor) } }
                        }
                    }
                }
            }
        }
    }
}

fn loads(heading: &Heading<'_>, fixing: &Fixing) -> Markup {
    let unit = heading.unit();
    let lbf = |value: f64| shown_force(value, unit);
    html! {
        h2 { "What the fixings carry" }
        table {
            thead { tr { th.n { "From left" } th.n { "Down" } th.n { "Pull on one" } th.n { "may take" } th.n { "Across one" } th.n { "may take" } th.n { "Used" } } }
            tbody {
                @for each in &fixing.fixed {
                    tr {
                        td.n { (heading.show(each.at)) }
                        td.n { (lbf(each.load.down_lbf)) }
                        td.n { (lbf(each.load.pull_lbf)) }
                        td.n { (lbf(each.load.pull_allowed_lbf)) }
                        td.n { (lbf(each.load.across_lbf)) }
                        td.n { (lbf(each.load.across_allowed_lbf)) }
                        td.n { (format!("{:.0} %", each.load.used * 100.0)) @if each.load.while_pulled { " (while pulled)" } }
                    }
                }
            }
        }
        div.workings.all {
            table {
                thead { tr { th colspan="2" { "The hardest loaded one" } } }
                tbody { @for figure in &fixing.statics { tr { td { (figure.term) " " span.soft { (figure.why) } } td.n { (figure.shown(unit)) } } } }
            }
        }
        @if let Some(sag) = &fixing.board_sag { p { "The board sags " (sag.shown(unit)) " at most; the limit is " (heading.show(sag.limit)) "." } }
        @if let Some(sag) = &fixing.bar_sag { p { "The bottom bar sags " (sag.shown(unit)) " at most; the limit is " (heading.show(sag.limit)) "." } }
        @if !fixing.assumed.is_empty() { p.soft { "Assumed: " (fixing.assumed.join(" ")) } }
    }
}

fn working(heading: &Heading<'_>, words: &str, working: &Working) -> Markup {
    html! {
        table {
            thead { tr { th { (words) ": " (working.rule) } th.n { (heading.show(working.total)) } } }
            tbody { @for line in &working.lines { tr { td { (line.term) " " span.soft { (line.reason) } } td.n { (heading.show(line.value)) } } } }
        }
        @if let Some(rounding) = &working.rounding { p.soft { (rounding) } }
    }
}

fn room_for(heading: &Heading<'_>, mounting: &Mounting) -> Markup {
    html! {
        @if let Some(gaps) = &mounting.corner_gaps {
            table {
                thead { tr { th { "Gap beside the shade" } th.n { "Left" } th.n { "Right" } } }
                tbody {
                    tr { td { "at the head" } td.n { (heading.show(gaps.top_left)) } td.n { (heading.show(gaps.top_right)) } }
                    tr { td { "at the sill" } td.n { (heading.show(gaps.bottom_left)) } td.n { (heading.show(gaps.bottom_right)) } }
                }
            }
        }
        @if let Some(wedge) = &mounting.wedge {
            p { "The head slopes: a wedge of light opens " (heading.show(wedge.opens)) " at the " (if wedge.at_right { "right" } else { "left" }) "." }
        }
        @if !mounting.clear.is_empty() {
            table {
                thead { tr { th { "Must be clear" } th.n { "Needs" } th.n { "Has" } th { "So it is" } } }
                tbody {
                    @for clear in &mounting.clear {
                        tr {
                            td { (clear.what) } td.n { (heading.show(clear.needs)) } td.n { (clear.has.map_or_else(|| "not read".to_owned(), |has| heading.show(has))) }
                            td { (match clear.holds { Some(true) => "clear", Some(false) => "too little", None => "look" }) }
                        }
                    }
                }
            }
        }
    }
}

/// Every way side by side, and those that cannot be.
fn ways(heading: &Heading<'_>, worked: &Worked<'_>) -> Markup {
    let show = |length: Length| heading.show(length);
    html! {
        h2 { "Every way this opening allows" }
        table {
            thead { tr { th { "Way" } th.n { "Wide" } th.n { "Long" } th.n { "Stands out" } th.n { "Adds above" } th { "Taken here" } } }
            tbody {
                @for way in &worked.mounts.can {
                    tr {
                        td { (way.form.words()) } td.n { (show(way.width.total)) } td.n { (show(way.length.total)) }
                        td.n { (show(way.projection)) } td.n { (show(way.adds_above)) }
                        td { @if worked.mounts.advised == Some(way.form) { strong { "this one" } } }
                    }
                }
            }
        }
        (cannot(worked))
    }
}

fn cannot(worked: &Worked<'_>) -> Markup {
    html! {
        @for way in &worked.mounts.cannot { p { strong { (sentence(way.form.words())) } " " (sentence(&way.why)) " " (sentence(&way.would)) } }
    }
}

/// The board from the room, with fixings, screw eyes and studs at their places.
fn elevation(heading: &Heading<'_>, mounting: &Mounting, shade: &Shade, fixing: &Fixing) -> String {
    let length = real(mounting.board_length.total);
    let flush = mounting.form == Form::OutsideFlush;
    // A board's height is small beside its length: it is drawn three times as large, and said so.
    let height = 3.0 * real(if flush { mounting.board.width } else { mounting.board.thickness });
    let mut d = Drawing::fit("The board", (0.0, 0.0), (length, height), (PAPER_WIDTH, 60.0), 14.0);
    d.rect((0.0, 0.0), (length, height), "wood");
    for each in &fixing.fixed {
        let x = real(each.at);
        if each.on == Ground::Stud {
            d.line((x, -d.on_wall(9.0)), (x, height + d.on_wall(9.0)), "centre thick");
        }
        if let Some(bracket) = &mounting.bracket {
            let half = real(bracket.across) / 2.0;
            d.rect((x - half, -d.on_wall(3.0)), (x + half, 0.0), "glass");
        }
        d.cross((x, if mounting.bracket.is_some() { -d.on_wall(1.5) } else { height / 2.0 }), 2.4, "thick");
    }
    for (i, each) in fixing.fixed.iter().enumerate() {
        let lift = if i % 2 == 0 { 2.0 } else { 5.0 };
        d.text((real(each.at), height), lift, Anchor::Middle, "measure", &heading.show(each.at));
    }
    if let Ok(made) = &shade.makeup {
        for (i, column) in made.grid.columns.iter().enumerate() {
            let x = real(column.on_board.exact);
            d.dot((x, height * 0.2), 0.9, "hole");
            let drop = if i % 2 == 0 { -6.5 } else { -9.3 };
            d.text((x, 0.0), drop, Anchor::Middle, "small", &heading.show(column.on_board.mark));
        }
    }
    d.dimension_across(0.0, length, height, 9.5, &heading.show(mounting.board_length.total));
    let scale = format!("scale 1:{}", d.scale());
    d.text((0.0, 0.0), -12.5, Anchor::Start, "small", &scale);
    d.svg()
}

/// Wall, bracket and board from the side.
fn section(heading: &Heading<'_>, mounting: &Mounting) -> String {
    let side = Side::of(mounting);
    let high = (side.deep.max(side.arm) + 4.0, side.top() + 8.0);
    let mut d =
        Drawing::fit("The fixing from the side", (-12.0, side.low), high, (PAPER_WIDTH / 2.0 - 3.0, 110.0), 12.0);
    side.draw(&mut d, heading, mounting, (0.0, 0.0));
    let scale = format!("scale 1:{}", d.scale());
    d.text((-12.0, side.low), -9.0, Anchor::Start, "small", &scale);
    d.svg()
}

/// The fixing from the side at full size, on a sheet of its own with bars to check the print with.
pub fn full_size(heading: &Heading<'_>, worked: &Worked<'_>) -> Option<Markup> {
    let mounting = worked.mounts.advised()?;
    let mut d = Drawing::full_size("The fixing from the side, full size");
    Side::of(mounting).draw(&mut d, heading, mounting, (45.0, 50.0));
    let content = html! {
        p {
            "Lay a rule on the bars at the left and below: both are right within 0.5 mm (1/32 in), or the print was scaled; then \
             print it again at 100 %. Hold the drawing to the trim, the handle and the sill before drilling."
        }
        figure { (PreEscaped(d.svg())) figcaption { (mounting.form.words()) "; board " (mounting.board.size.name()) @if let Some(bracket) = &mounting.bracket { "; bracket " (bracket.name) } ". Scale 1:1." } }
    };
    Some(heading.sheet("Full size", &format!("{}, {}", worked.room.name, worked.opening.name), &content))
}

/// Sizes of a fixing seen from the side, in millimetres for drawing.
struct Side {
    deep: f64,
    high: f64,
    leg: f64,
    arm: f64,
    leaf: f64,
    low: f64,
}

impl Side {
    fn of(mounting: &Mounting) -> Self {
        let (deep, high) = if mounting.form == Form::OutsideFlush {
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
            low: if mounting.form == Form::Inside { -25.0 } else { 0.0 },
        }
    }

    fn top(&self) -> f64 {
        self.leg + self.high
    }

    fn draw(&self, d: &mut Drawing, heading: &Heading<'_>, mounting: &Mounting, at: (f64, f64)) {
        let p = |x: f64, y: f64| (at.0 + x, at.1 + y);
        let Self { deep, high, leg, arm, leaf, low } = *self;
        if mounting.form == Form::Inside {
            d.rect(p(-12.0, high), p(deep + 4.0, high + 8.0), "wall");
            d.line(p(-12.0, high), p(deep + 4.0, high), "thick");
            d.rect(p(0.0, 0.0), p(deep, high), "wood");
            d.line(p(deep, high), p(deep, low), "thick");
            d.dimension_across(at.0, at.0 + deep, at.1 + low, -3.0, &heading.show(mounting.board.width));
            d.dimension_up(at.1, at.1 + high, at.0, 5.0, &heading.show(mounting.board.thickness));
            return;
        }
        let top = self.top();
        d.rect(p(-12.0, 0.0), p(0.0, top + 8.0), "wall");
        d.line(p(0.0, 0.0), p(0.0, top + 8.0), "thick");
        if mounting.bracket.is_some() {
            d.rect(p(0.0, 0.0), p(leaf, leg), "solid");
            d.rect(p(0.0, leg - leaf), p(arm, leg), "solid");
        }
        d.rect(p(0.0, leg), p(deep, top), "wood");
        d.line(p(deep, top), p(deep, 0.0), "thick");
        d.dimension_up(at.1, at.1 + top, at.0 - 12.0, 4.0, &format!("adds {}", heading.show(mounting.adds_above)));
        d.dimension_across(at.0, at.0 + deep, at.1, -4.0, &format!("projects {}", heading.show(mounting.projection)));
    }
}
