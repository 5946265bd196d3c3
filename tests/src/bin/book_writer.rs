//! Writes in a book until it is killed, and says on standard output what was acknowledged: the other half of the kill
//! tests (`tests/store_kill.rs`).
//!
//! `book_writer BOOK ROUND`: begins a house of its own for the round, then goes on: a half-typed draft, a
//! reading that clears it; now and then a merge, a photo, a pause. A line is printed only after the call returned.

use hangtrue_core::fact::{Body, Moment, Pen, Stamp};
use hangtrue_core::house::{Place, Reading};
use hangtrue_core::length::{LengthUnit, Typed};
use hangtrue_core::store::{Book, Draft};
use hangtrue_tests::kill;
use std::io::Write;
use uuid::Uuid;

type Failed = Box<dyn std::error::Error>;

fn main() -> Result<(), Failed> {
    let mut arguments = std::env::args().skip(1);
    let (Some(path), Some(round)) = (arguments.next(), arguments.next()) else {
        return Err("book_writer BOOK ROUND".into());
    };
    let round: u64 = round.parse()?;
    let mut moments = kill::moments(round);
    let mut book = Book::open(path.as_ref(), &mut moments)?;
    let mut out = std::io::stdout().lock();
    let mut say = move |kind: &str, what: &str| -> Result<(), Failed> {
        writeln!(out, "{kind} {what}")?;
        out.flush()?;
        Ok(())
    };
    say("open", "")?;
    let (job, room, opening) = (kill::job(round), moments().uuid(), moments().uuid());
    let bodies = [
        Body::HouseOpened { name: format!("House {round}"), unit: LengthUnit::Inch },
        Body::RoomAdded { room, name: "Study".to_owned() },
        Body::OpeningAdded { opening, room, name: "North".to_owned() },
    ];
    for fact in book.write(job, "Ida", LengthUnit::Inch, &bodies, &mut moments)? {
        say("fact", &fact.id.to_string())?;
    }
    for i in 0_u64.. {
        let typed = kill::draft(round, i);
        book.set_draft("walk", Some(&typed))?;
        say("draft", &typed)?;
        let reading = body(opening, moments());
        let clear = Draft { key: "walk", value: None };
        let facts = book.write_with(job, "Ida", LengthUnit::Inch, &[reading], Some(clear), &mut moments)?;
        say("reading", &facts[0].id.to_string())?;
        if i % 5 == 1 {
            let mut pen = Pen::new(Uuid::from_u128(u128::from(round) << 64), Stamp::default());
            let others: Vec<_> = (0..8)
                .map(|_| {
                    let reading = body(opening, moments());
                    pen.write(moments(), job, "Bo", LengthUnit::Inch, &reading)
                })
                .collect();
            book.merge(&others)?;
            for fact in others {
                say("fact", &fact.id.to_string())?;
            }
        }
        if (i + round) % 7 == 2 {
            say("photo", &book.photos().keep(format!("photo {i} of round {round}").as_bytes())?)?;
        }
        if (i + round) % 11 == 4 {
            book.pause()?;
        }
    }
    Ok(())
}

fn body(opening: Uuid, moment: Moment) -> Body {
    Body::ReadingTaken {
        opening,
        reading: Reading {
            id: moment.uuid(),
            place: Place::WidthTop,
            typed: Typed::read("34 3/8", LengthUnit::Inch).expect("a length"),
            at: moment.time(),
            by: "Ida".to_owned(),
            with: String::new(),
            amends: None,
            answers: None,
            withdrawn: None,
        },
    }
}
