//! Forms of many fields: each with its words, what was typed, and beside it what is wrong with it.

use super::lengths::set;
use crate::cloths::{Field, MOST_CHARS, Slip, Typing};
use maud::{Markup, html};

/// The fields of a form, in their order. `lists` names a list of what may be typed there: field, id of the list.
pub(super) fn fields(all: &[Field], typing: &Typing, slips: &[Slip], lists: &[(&str, &str)]) -> Markup {
    html! {
        div.fields {
            @for field in all {
                @let slip = slips.iter().find(|slip| slip.field == field.name);
                @let list = lists.iter().find(|(name, _)| *name == field.name).map(|(_, list)| *list);
                @let about = format!("about-{}", field.name);
                div.field {
                    label for={ "f-" (field.name) } { span { (field.label) } }
                    @if field.options.is_empty() {
                        input type="text" id={ "f-" (field.name) } name=(field.name) value=(typing.get(field.name)) maxlength=(MOST_CHARS) autocomplete="off" list=[list]
                            aria-invalid=[slip.map(|_| "true")] aria-describedby=(about);
                    } @else {
                        select id={ "f-" (field.name) } name=(field.name) aria-invalid=[slip.map(|_| "true")] aria-describedby=(about) {
                            @for (value, words) in field.options { option value=(value) selected[typing.get(field.name) == *value] { (words) } }
                        }
                    }
                    p.note id=(about) {
                        @if let Some(slip) = slip { strong.slip { (set(&capital(&slip.what))) "." } " " (set(&capital(&slip.right))) "." }
                        @else { span.soft { (set(field.hint)) } }
                    }
                }
            }
        }
    }
}

/// What stands above a form that was refused: nothing was kept, and which fields are to be put right.
pub(super) fn refused(all: &[Field], slips: &[Slip]) -> Markup {
    html! {
        @if !slips.is_empty() {
            div.refusal role="alert" {
                strong { @if slips.len() == 1 { "Not kept: one field cannot be used." } @else { "Not kept: " (slips.len()) " fields cannot be used." } }
                ul {
                    @for slip in slips {
                        @let label = all.iter().find(|field| field.name == slip.field).map_or(slip.field, |field| field.label);
                        li { a href={ "#f-" (slip.field) } { (label) } ": " (set(&slip.what)) "; " (set(&slip.right)) "." }
                    }
                }
            }
        }
    }
}

/// What was typed, to go with a form that only asks whether to go on.
pub(super) fn carried(all: &[Field], typing: &Typing) -> Markup {
    html! { @for field in all { input type="hidden" name=(field.name) value=(typing.get(field.name)); } }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + chars.as_str())
}
