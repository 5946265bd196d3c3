//! A house at a glance: its openings at one scale over the floors of their rooms, what stands in the way of cutting, and
//! the one step that comes next.

use super::desk::DeskProblem;
use super::figures::{self, Elevation};
use super::keys;
use super::leaves::Leaf;
use super::lengths::set;
use super::views::{Content, Crumb, Ways, far, is_outdoors, wrong};
use crate::asks::STILL_HAVE_IT;
use hangtrue_core::fact::{House, Removed};
use hangtrue_core::length::LengthUnit;
use hangtrue_core::mount::Catalogue;
use hangtrue_core::stand::{Reason, Stand};
use hangtrue_core::walk::screen::{HouseScreen, RoomRow, Shown, Touch};
use hangtrue_core::walk::{Event, Screen};
use hangtrue_core::work::{self, Worked, WorkedHouse};
use maud::{Markup, html};

/// The states, as they are counted.
const STANDS: [Stand; 4] = [Stand::NotMeasured, Stand::ReadAgain, Stand::Decide, Stand::Settled];
/// Reasons told of one opening before the rest is counted.
const REASONS: usize = 2;

/// A house worked out, or why it cannot be.
pub(super) fn worked(house: &House) -> Result<WorkedHouse<'_>, DeskProblem> {
    work::house(&house.job, Catalogue::standard(house.job.unit)).map_err(|problem| DeskProblem::Refused {
        what: problem.to_string(),
        right: "Put the number right in the settings of the house.".to_owned(),
    })
}

/// The page of one house.
pub(super) fn page(
    screen: &Screen,
    house: &House,
    unit: Option<LengthUnit>,
    token: &str,
) -> Result<Content, DeskProblem> {
    let job = &house.job;
    let title = job.name.clone();
    let trail = vec![Crumb::here("House", &job.name)];
    let outdoors = is_outdoors(screen);
    let Shown::House { screen: shown } = &screen.shown else {
        return Ok(Content { title, trail, outdoors, markup: wrong() });
    };
    let at = format!("/house/{}", shown.id);
    let ways = Ways { at: &at, token };
    let worked = worked(house)?;
    let any = !worked.openings.is_empty();
    let markup = html! {
        div.wrap.house {
            div.head {
                h1 { (job.name) }
                @if any { p { (far(shown.progress, "openings read")) } }
                (ways.hands(screen))
            }
            @if any {
                div.right-hand {
                    (next(&ways, shown, &worked, &at))
                    section.pane.sheets-pane {
                        h2 { "Sheets" }
                        nav.leaves aria-label="Of this house" {
                            @for leaf in Leaf::ALL { a href={ (at) "/sheets/" (leaf.name()) } aria-keyshortcuts=[(leaf == Leaf::Summary).then_some(keys::SHEETS)] { (leaf.words()) } }
                            a href={ (at) "/prices" } { "Prices and quotes" }
                            a href={ (at) "/days" } { "Days" }
                            a href={ (at) "/sheets/labels" } { "Labels" }
                            a href={ (at) "/leaving" } aria-keyshortcuts=(keys::LEAVING) { "Before you leave" }
                        }
                    }
                }
            }
            section.pane.rooms-pane aria-label="Rooms" {
                @if any { (counts(&worked)) } @else { (ways.flags(&shown.flags)) }
                @if shown.rooms.is_empty() {
                    p.lead { "Begin with the first room you measured: touch its name below, or type it." }
                    ol.steps {
                        li { "A room, and in it each window or door." }
                        li { "Its readings, one after the other: what does not hold together is said at once." }
                        li { "The sheets: what to cut, make, hang and buy." }
                    }
                }
                div.rooms { @for row in &shown.rooms { (room(&ways, row, &worked, &at, unit.unwrap_or(job.unit))) } }
                @if any {
                    p.soft.note {
                        "All at one scale, seen from the room, at their height above the floor; a dotted line down: that height was not measured, heads are drawn in line. "
                        "Dashed opening: not measured, a sketch. Dashed over it: the shade as it would hang. Filled: settled."
                    }
                }
            }
            @if any { (before(&ways, shown, &worked, &at)) }
            section.pane.manage {
                h2 { "Add a room" }
                (ways.naming(&shown.add_room))
                details {
                    summary { "Name, address, client, year" }
                    (ways.naming(&shown.rename))
                    @for about in &shown.about { (ways.naming(about)) }
                    @for note in &job.notes { p { (note.text) } }
                    (ways.button(&shown.away, "small"))
                }
                @if !house.removed.is_empty() {
                    details {
                        summary { "Taken out (" (house.removed.len()) ")" }
                        p { "Nothing of it is lost: a touch brings it back with its readings." }
                        div.offers { @for removed in &house.removed { (ways.button(&brought_back(removed), "small")) } }
                    }
                }
                details {
                    summary { "Erase the house for good" }
                    form.taking method="post" action={ (at) "/erase" } data-plain="yes" {
                        input type="hidden" name="token" value=(token);
                        p { "Its readings, words and photos go from this book at once, and from every device that hears of it. Nothing brings them back. " (STILL_HAVE_IT) }
                        label { span { "Its whole name, to be sure" } input type="text" name="name" required maxlength="400" autocomplete="off" data-id="erase_name"; }
                        button type="submit" data-id="erase" { "Erase it" }
                    }
                }
                p.more { a href={ (at) "/cloths" } { "Cloths" } " " a href={ (at) "/settings" } { "Settings" } " " a href={ (at) "/file" } { "Job file" } }
            }
        }
    };
    Ok(Content { title, trail, outdoors, markup })
}

/// How many openings stand where: the legend of the drawings, too.
fn counts(worked: &WorkedHouse<'_>) -> Markup {
    html! {
        ul.stands aria-label="Openings by state" {
            @for stand in STANDS {
                @let count = worked.openings.iter().filter(|one| one.stand() == stand).count();
                li.none[count == 0] { (figures::mark(stand)) " " b { (count) } }
            }
        }
    }
}

fn title(one: &Worked<'_>) -> String {
    format!("{}, {}", one.room.name, one.opening.name)
}

/// The next step of the day: what is not measured first, then what stands worst, then paper.
fn next(ways: &Ways<'_>, shown: &HouseScreen, worked: &WorkedHouse<'_>, at: &str) -> Markup {
    let measured = match &shown.walk.event {
        Event::Measure { opening } if shown.walk.live => worked.opening(*opening),
        _ => None,
    };
    let worst = || worked.openings.iter().filter(|one| one.stand() != Stand::Settled).min_by_key(|one| one.stand());
    let one = measured.or_else(worst);
    html! {
        section.pane.next aria-labelledby="next" {
            p.note.soft { "Next" }
            @if let Some(one) = one {
                h2 #next { (title(one)) }
                (figures::alone(one).0)
                p { (figures::mark(one.stand())) }
                @if let Some(reason) = one.standing.reasons.first() { p { (set(&reason.says)) } }
                @if measured.is_some() {
                    (ways.button(&shown.walk, "main"))
                } @else {
                    a.as-button.main href={ (at) "/opening/" (one.opening.id) } aria-keyshortcuts=(keys::NEXT) { "Open " (one.opening.name) }
                }
            } @else {
                h2 #next { "Every opening is settled" }
                p { "What is cut, made, hung and bought is on the sheets." }
                a.as-button.main href={ (at) "/sheets/" (Leaf::Summary.name()) } aria-keyshortcuts=(keys::NEXT) { "To the sheets" }
            }
        }
    }
}

/// What stands in the way of cutting, the worst first; what is asked of several openings once, above them all.
fn before(ways: &Ways<'_>, shown: &HouseScreen, worked: &WorkedHouse<'_>, at: &str) -> Markup {
    let of_house = |reason: &&Reason| shown.flags.iter().any(|card| card.says == reason.says);
    let mut open: Vec<&Worked<'_>> = worked.openings.iter().filter(|one| one.stand() != Stand::Settled).collect();
    open.sort_by_key(|one| match one.stand() {
        Stand::ReadAgain => 0,
        Stand::Decide => 1,
        _ => 2,
    });
    html! {
        section.pane.before {
            h2 { "Before cutting" }
            (ways.flags(&shown.flags))
            @if open.is_empty() { p { "Nothing stands in the way." } }
            ol.wait {
                @for one in open {
                    li {
                        h3 { a href={ (at) "/opening/" (one.opening.id) } { (title(one)) } }
                        p.stands { (figures::mark(one.stand())) }
                        @let own: Vec<&Reason> = one.standing.reasons.iter().filter(|reason| !of_house(reason)).collect();
                        @for reason in own.iter().take(REASONS) { p { (set(&reason.says)) } }
                        @if own.len() > REASONS { p.soft { "And " (own.len() - REASONS) " more." } }
                        @if own.is_empty() && !one.standing.reasons.is_empty() { p { "As is asked above." } }
                    }
                }
            }
        }
    }
}

/// One room: its openings over its floor.
fn room(ways: &Ways<'_>, row: &RoomRow, worked: &WorkedHouse<'_>, at: &str, unit: LengthUnit) -> Markup {
    let Some(room) = worked.job.rooms.iter().find(|room| room.id == row.id) else { return html! {} };
    let elevation = Elevation::of(room, &worked.openings);
    html! {
        section.room #{ "room-" (row.id) } {
            h2 { (row.name) }
            div.openings {
                @for each in &row.openings {
                    @if let Some(one) = worked.opening(each.id) {
                        article.opening {
                            div.fig { (elevation.figure(one)) }
                            div.lab {
                                h3 { a href={ (at) "/opening/" (each.id) } { (one.opening.name) } }
                                @match one.mounts.advised() {
                                    Some(mounting) => {
                                        p.size { span.nb { (set(&mounting.width.total.show(unit))) span.unit { " wide," } } " " span.nb { (set(&mounting.length.total.show(unit))) span.unit { " long" } } }
                                        p.soft { (mounting.form.words()) }
                                    }
                                    None => p.soft { "No size yet." },
                                }
                                p { (figures::mark(one.stand())) }
                                @if one.stand() == Stand::NotMeasured { p.soft { (each.says) } }
                                @if let Some(asked) = &each.asked { p.asked { (set(asked)) } }
                            }
                        }
                    }
                }
            }
            @if row.openings.is_empty() { p { "Which window or door of this room is the first?" } (ways.naming(&row.add_opening)) }
            details {
                summary { @if row.openings.is_empty() { "Change the room" } @else { "Add an opening, or change the room" } }
                @if !row.openings.is_empty() { (ways.naming(&row.add_opening)) }
                @for each in &row.openings {
                    div.row {
                        b { (each.open.label) }
                        (ways.button(&each.measure, "small"))
                        a.as-button href={ (at) "/opening/" (each.id) "/note" } { "From paper" }
                        (ways.button(&each.earlier, "small plain"))
                        (ways.button(&each.remove, "small plain"))
                    }
                }
                (ways.naming(&row.rename))
                (ways.button(&row.earlier, "small plain"))
                (ways.button(&row.remove, "small plain"))
            }
        }
    }
}

/// The button that brings back what was taken out.
fn brought_back(removed: &Removed) -> Touch {
    let id = format!("bring_back_{}", removed.on);
    let label = format!("Bring back {}", removed.name);
    let event = Event::BringBack { on: removed.on };
    Touch { id, spoken: label.clone(), label, live: true, chosen: false, event }
}

/// The openings of a house beside one of them: where each stands, and the way there.
pub(super) fn beside(worked: &WorkedHouse<'_>, here: uuid::Uuid) -> Markup {
    let ids: Vec<uuid::Uuid> = worked.openings.iter().map(|one| one.opening.id).collect();
    let place = ids.iter().position(|id| *id == here);
    let key = |id: uuid::Uuid| {
        let at = ids.iter().position(|each| *each == id)?;
        if Some(at + 1) == place {
            Some(keys::PREVIOUS)
        } else if place.map(|place| place + 1) == Some(at) {
            Some(keys::FOLLOWING)
        } else {
            None
        }
    };
    html! {
        nav.pane.beside-house aria-label="Openings of this house" {
            @for room in &worked.job.rooms {
                @let mine = || worked.openings.iter().filter(|one| one.room.id == room.id);
                @if mine().next().is_some() {
                    p.note.soft { (room.name) }
                    ul {
                        @for one in mine() {
                            li {
                                a href={ "/house/" (worked.job.id) "/opening/" (one.opening.id) } aria-keyshortcuts=[key(one.opening.id)] aria-current=[(one.opening.id == here).then_some("page")] { (one.opening.name) }
                                (figures::mark(one.stand()))
                            }
                        }
                    }
                }
            }
        }
    }
}
