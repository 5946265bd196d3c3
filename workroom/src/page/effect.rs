//! What a change of the workroom's numbers would change in its houses: shown before it is made, because a size that was
//! told to a client is another afterwards.

use super::lengths::set;
use super::views::{Content, Crumb};
use hangtrue_core::house::Workroom;
use hangtrue_core::work::Differs;
use maud::html;

/// Lines of one house at most; the rest are counted.
const LINES: usize = 12;

/// The page that shows it and asks.
pub(super) fn page(
    changes: &[(String, Vec<Differs>)],
    at: &str,
    event: &str,
    text: Option<&str>,
    token: &str,
) -> Content {
    let mut openings: Vec<_> = changes.iter().flat_map(|(_, all)| all.iter().map(|one| one.opening)).collect();
    openings.sort_unstable();
    openings.dedup();
    let many = |n: usize, what: &str| if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") };
    let sum = format!("It changes {} in {}.", many(openings.len(), "opening"), many(changes.len(), "house"));
    let markup = html! {
        section.pane {
            h1 { "What this changes" }
            p.lead role="status" { (sum) }
            p { "What was cut already stays as it was cut: hold the numbers of such a house in its settings first, or put it away." }
            @for (house, all) in changes {
                h2 { (house) }
                ul {
                    @for one in all.iter().take(LINES) {
                        li { b { (one.name) } ": " (one.what) " " (set(&one.before)) " becomes " b { (set(&one.after)) } }
                    }
                    @if all.len() > LINES { li { "and " (all.len() - LINES) " more" } }
                }
            }
            div.row {
                form.touch method="post" action="/act" {
                    input type="hidden" name="token" value=(token);
                    input type="hidden" name="at" value=(at);
                    input type="hidden" name="event" value=(event);
                    @if let Some(text) = text { input type="hidden" name="text" value=(text); }
                    input type="hidden" name="sure" value="yes";
                    button.main type="submit" data-id="change_it" { "Change it" }
                }
                a.as-button href=(at) { "Leave it as it is" }
            }
        }
    };
    let numbers = format!("/house/{}/settings", Workroom::ID);
    Content {
        title: "What this changes".to_owned(),
        trail: vec![Crumb::to("Workroom", "The workroom's numbers", numbers)],
        outdoors: false,
        markup,
    }
}
