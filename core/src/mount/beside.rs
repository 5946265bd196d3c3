//! Several shades in one opening: what is worked out for the whole is shared among those that hang side by side; what hangs
//! before another clears it.

use super::{Form, Line, Mounting, Read, Refusal, Wedge, Working};
use crate::flag::{Flag, Severity};
use crate::house::Place;
use crate::length::{Direction, Grain, Length};

/// Where one of several shades side by side hangs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Beside {
    /// The width of all of them and of what is left between.
    pub whole: Length,
    /// From the left end of the whole to the left end of this one.
    pub from_left: Length,
    /// From the left edge of the trim, or of the opening where there is none, to the left end of this one; negative where it
    /// passes that edge.
    pub from_edge: Length,
}

/// What hangs behind a shade, in the same opening.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Behind {
    /// How it is mounted.
    pub form: Form,
    /// How far its front stands off the wall; inside, how deep its board is.
    pub out: Length,
}

impl Behind {
    /// What a mounting is to the shade in front of it.
    pub fn of(mounting: &Mounting) -> Self {
        let out = if mounting.form == Form::Inside { mounting.board.width } else { mounting.projection };
        Self { form: mounting.form, out }
    }
}

/// Gives a shade that hangs beside others its part of what was worked out for the whole.
///
/// # Errors
/// A refusal where no room is left for it.
pub(super) fn share(read: &Read<'_>, mut mounting: Mounting) -> Result<Mounting, Refusal> {
    let Some((nth, count)) = read.part.and_then(crate::house::Part::beside) else { return Ok(mounting) };
    let (unit, grain) = (read.unit, Grain::of_tape(read.unit));
    let apart = read.settings.shades_apart;
    let whole = mounting.width.total;
    let refuse =
        |why: String, would: &str| Refusal { form: mounting.form, why, would: would.to_owned(), missing: Vec::new() };
    let posts: Vec<Length> =
        [Place::PostFirst, Place::PostSecond].into_iter().filter_map(|place| Some(read.at(place)?.value)).collect();
    let wanted = &[Place::PostFirst, Place::PostSecond][..usize::try_from(count - 1).unwrap_or_default().min(2)];
    // A post that was read and is not followed would be cut past.
    if !posts.is_empty()
        && let Some(missing) = wanted.iter().copied().find(|place| read.at(*place).is_none())
    {
        mounting.flags.push(Flag::new(
            "post_not_read",
            Severity::TakeAgain,
            &[missing],
            format!(
                "The {} was not measured: the shades are as wide as each other, whatever posts there are.",
                missing.words()
            ),
            "Read from the left jamb to the middle of each post.",
        ));
    }
    let narrow = read.smallest_width().map(|found| found.value);
    let lines = vec![Line::new("all that hang side by side", whole, mounting.width.rule.clone())];
    let by_posts = narrow.filter(|_| i64::try_from(posts.len()) == Ok(count - 1));
    let (from_left, width) = if let Some(narrow) = by_posts {
        // A post is read from the left jamb, and the whole is even about the opening.
        let before = (whole - narrow).split(2, 1);
        let half = apart.split(2, 1);
        let at = |n: usize| posts[n] + before;
        let index = usize::try_from(nth).unwrap_or_default();
        let left = if index == 0 { Length::ZERO } else { (at(index - 1) + half).round(grain, Direction::Up) };
        let right = posts.get(index).map_or(whole, |_| at(index) - half);
        let mut lines = lines;
        lines.push(Line::new("left of it", -left, "up to the middle of the post, and half of what is left between"));
        lines.push(Line::new(
            "right of it",
            right - whole,
            "from the middle of the post, and half of what is left between",
        ));
        lines.retain(|line| line.value != Length::ZERO);
        (left, Working::of("between posts", lines))
    } else {
        let between = apart * (count - 1);
        let share = (whole - between).scale(1, count, Direction::Down).round(grain, Direction::Down);
        let mut lines = lines;
        lines.push(Line::new("left between them", -between, "shades_apart"));
        lines.push(Line::new(
            format!("for the other{}", if count == 2 { "" } else { "s" }),
            share - (whole - between),
            "each has as much, rounded down",
        ));
        ((share + apart) * nth, Working::of("an even part", lines))
    };
    if width.total <= Length::ZERO || from_left.is_negative() || from_left + width.total > whole {
        let show = |length: Length| length.show_marked(unit);
        return Err(refuse(
            format!("no room is left for {} in {}", read.part.map_or("it", crate::house::Part::words), show(whole)),
            "Read the posts again, each from the left jamb to its middle, or hang fewer side by side.",
        ));
    }
    let edge = if mounting.form == Form::Inside {
        narrow.map_or(Length::ZERO, |narrow| (narrow - whole).split(2, 1))
    } else {
        -mounting.overlap
    };
    mounting.width = width.rounded(unit, Direction::Down, "what must fit is rounded down");
    mounting.width_other = None;
    mounting.board_length = read.board_length(&mounting.width);
    mounting.beside = Some(Beside { whole, from_left, from_edge: edge + from_left });
    // What is told of the corners of the opening is told of the whole.
    mounting.corner_gaps = None;
    if nth > 0 {
        mounting.ends_clear[0] = Length::ZERO;
    }
    if nth + 1 < count {
        mounting.ends_clear[1] = Length::ZERO;
    }
    let part = |wedge: Wedge| Wedge {
        opens: wedge.opens.scale(mounting.width.total.nm(), whole.nm(), Direction::Up).round(grain, Direction::Up),
        ..wedge
    };
    mounting.wedge = mounting.wedge.map(part);
    Ok(mounting)
}
