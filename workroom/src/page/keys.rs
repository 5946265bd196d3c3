//! Keys for what is done often. A control says its own key in `aria-keyshortcuts`; the script only presses what says so, and
//! a person may turn letters off (a voice or a stray hand presses them, too: WCAG 2.2, 2.1.4).

use super::views::Content;
use axum::http::{HeaderMap, header};
use maud::html;

/// A key, and what it does.
pub(super) struct Key {
    /// As a browser names it.
    pub(super) key: &'static str,
    /// What it does.
    pub(super) does: &'static str,
}

macro_rules! keys {
    ( $( $name:ident $key:literal $does:literal ; )* ) => {
        $( #[doc = $does] pub(super) const $name: &str = $key; )*
        /// Every key, in the order of the list.
        pub(super) const ALL: &[Key] = &[ $( Key { key: $key, does: $does }, )* ];
    };
}

keys! {
    FIND "/" "Find a house, a room, an opening, an address or a cloth";
    HOUSES "h" "The list of houses";
    UP "u" "One step up: from an opening to its house";
    NEXT "n" "The solid button: the next step";
    PREVIOUS "k" "The opening before, in the order of the walk";
    FOLLOWING "j" "The opening after";
    PAPER "p" "An opening's paper note";
    SHEETS "s" "The sheets of the house or the opening";
    LEAVING "l" "What is missing before you leave";
    UNDO "z" "Undo";
    REDO "y" "Redo";
    LIST "?" "This list";
}

/// True when a person turned the letters off in this browser.
pub(super) fn are_off(headers: &HeaderMap) -> bool {
    let cookies = headers.get(header::COOKIE).and_then(|value| value.to_str().ok()).unwrap_or_default();
    cookies.split("; ").any(|cookie| cookie == "keys=off")
}

/// The list of keys.
pub(super) fn page(off: bool, token: &str) -> Content {
    let markup = html! {
        section.pane {
            h1 { "Keys" }
            p { "They work wherever nothing is being typed. " @if off { "They are turned off in this browser." } }
            table.list.keys {
                thead { tr { th { "Key" } th { "Does" } } }
                tbody { @for Key { key, does } in ALL { tr { td { kbd { (key) } } td { (does) } } } }
            }
            form.touch method="post" action="/keys" data-plain="yes" {
                input type="hidden" name="token" value=(token);
                button type="submit" name="keys" value=(if off { "on" } else { "off" }) data-id="keys" { @if off { "Turn them on" } @else { "Turn them off" } }
            }
            h2 { "Where lengths are typed" }
            table.list.keys {
                thead { tr { th { "Key" } th { "Does" } } }
                tbody {
                    tr { td { kbd { "0" } " to " kbd { "9" } } td { "In the walk: to the field of the reading, wherever the focus is" } }
                    tr { td { kbd { "Enter" } } td { "In the walk: keep the reading. In a paper note: the next row; behind the last one the button that keeps" } }
                    tr { td { kbd { "Shift" } " and " kbd { "Enter" } } td { "In a paper note: the row above" } }
                    tr { td { kbd { "Tab" } } td { "In a paper note: to a second reading of the same place" } }
                }
            }
        }
    };
    Content::plain("Keys", markup)
}
