//! Sheets of labels as they are bought: how many, how large, and where each is, in exact lengths.
//!
//! The usual ones are told by their measures alone: from memory, no source. All of them are the same at the left as at the
//! right and at the top as at the bottom; whoever has another sheet gives its measures.

use crate::length::{Length, LengthUnit};

/// The paper a sheet of labels is cut from.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Paper {
    /// 8 1/2 x 11 in (ANSI/ASME Y14.1, size A).
    Letter,
    /// 210 x 297 mm (ISO 216).
    A4,
}

impl Paper {
    /// Its width and height.
    pub const fn size(self) -> (Length, Length) {
        match self {
            Self::Letter => (Length::inches(17, 2), Length::whole_inches(11)),
            Self::A4 => (Length::mm(210), Length::mm(297)),
        }
    }

    /// Its name.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Letter => "Letter",
            Self::A4 => "A4",
        }
    }

    /// Its name where a program reads it.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Letter => "letter",
            Self::A4 => "a4",
        }
    }

    /// The unit its labels are usually named in.
    pub const fn unit(self) -> LengthUnit {
        match self {
            Self::Letter => LengthUnit::Inch,
            Self::A4 => LengthUnit::Millimetre,
        }
    }
}

/// A sheet of labels.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Stock {
    /// Its paper.
    pub paper: Paper,
    /// Labels side by side.
    pub columns: u32,
    /// Labels one under the other.
    pub rows: u32,
    /// Width of a label.
    pub width: Length,
    /// Height of a label.
    pub height: Length,
    /// From the paper's left edge to the first label.
    pub left: Length,
    /// From its top edge.
    pub top: Length,
    /// Between two labels side by side.
    pub gap_across: Length,
    /// Between two labels one under the other.
    pub gap_down: Length,
}

/// A sheet of labels that cannot be.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{what}; {right}")]
pub struct StockProblem {
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub right: String,
}

impl Stock {
    /// The usual sheets.
    pub const USUAL: [Self; 7] = [
        Self::centred(Paper::Letter, (3, 10), (Length::inches(21, 8), Length::whole_inches(1)), Length::inches(1, 8)),
        Self::centred(
            Paper::Letter,
            (2, 10),
            (Length::whole_inches(4), Length::whole_inches(1)),
            Length::inches(3, 16),
        ),
        Self::centred(Paper::Letter, (2, 5), (Length::whole_inches(4), Length::whole_inches(2)), Length::inches(3, 16)),
        Self::centred(Paper::A4, (3, 8), (Length::mm(70), Length::mm(37)), Length::ZERO),
        Self::centred(Paper::A4, (3, 7), (tenths(635), tenths(381)), tenths(25)),
        Self::centred(Paper::A4, (2, 7), (tenths(991), tenths(381)), tenths(25)),
        Self::centred(Paper::A4, (2, 4), (tenths(991), tenths(677)), tenths(25)),
    ];

    /// The smallest label that takes what is printed on one.
    pub const LEAST: (Length, Length) = (Length::mm(60), Length::mm(25));

    /// The usual sheet for a house of this unit.
    pub const fn usual(unit: LengthUnit) -> Self {
        if unit.is_imperial() { Self::USUAL[0] } else { Self::USUAL[3] }
    }

    /// A sheet with equal margins at both sides and no gap between rows.
    const fn centred(paper: Paper, count: (u32, u32), size: (Length, Length), gap_across: Length) -> Self {
        let (columns, rows) = count;
        let (width, height) = size;
        let whole = paper.size();
        let across = columns as i64 * (width.nm() + gap_across.nm()) - gap_across.nm();
        let down = rows as i64 * height.nm();
        Self {
            paper,
            columns,
            rows,
            width,
            height,
            left: Length::from_nm((whole.0.nm() - across) / 2),
            top: Length::from_nm((whole.1.nm() - down) / 2),
            gap_across,
            gap_down: Length::ZERO,
        }
    }

    /// The usual sheet of this code.
    pub fn named(code: &str) -> Option<Self> {
        Self::USUAL.into_iter().find(|stock| stock.code() == code)
    }

    /// Its name where a program reads it: `letter-3x10`.
    pub fn code(&self) -> String {
        format!("{}-{}x{}", self.paper.code(), self.columns, self.rows)
    }

    /// Its name: `Letter, 3 x 10 of 2 5/8 x 1 in`.
    pub fn words(&self) -> String {
        let unit = self.paper.unit();
        format!(
            "{}, {} x {} of {} x {}",
            self.paper.words(),
            self.columns,
            self.rows,
            self.width.show(unit),
            self.height.show_marked(unit)
        )
    }

    /// Labels on one sheet.
    pub const fn count(&self) -> usize {
        self.columns as usize * self.rows as usize
    }

    /// Where the label at this position is, counted from 0 along the rows: its left and top edge.
    pub fn place(&self, position: usize) -> (Length, Length) {
        let columns = self.columns.max(1) as usize;
        let times = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
        let x = self.left + (self.width + self.gap_across) * times(position % columns);
        let y = self.top + (self.height + self.gap_down) * times(position / columns);
        (x, y)
    }

    /// Checks that the labels are on the paper and large enough.
    ///
    /// # Errors
    /// [`StockProblem`] says which measure is wrong.
    pub fn check(&self) -> Result<(), StockProblem> {
        let unit = self.paper.unit();
        let problem = |what: String, right: String| Err(StockProblem { what, right });
        if !(1..=20).contains(&self.columns) || !(1..=50).contains(&self.rows) {
            return problem(
                format!("a sheet of {} x {} labels", self.columns, self.rows),
                "it has 1 to 20 side by side and 1 to 50 one under the other".to_owned(),
            );
        }
        if self.width < Self::LEAST.0 || self.height < Self::LEAST.1 {
            return problem(
                format!("a label of {} x {}", self.width.show(unit), self.height.show_marked(unit)),
                format!(
                    "a label takes at least {} x {}, or its code cannot be read",
                    Self::LEAST.0.show(LengthUnit::Millimetre),
                    Self::LEAST.1.show_marked(LengthUnit::Millimetre)
                ),
            );
        }
        for (what, length) in [
            ("left margin", self.left),
            ("top margin", self.top),
            ("gap between columns", self.gap_across),
            ("gap between rows", self.gap_down),
        ] {
            if length.is_negative() {
                return problem(format!("the {what} is negative"), "write 0 or more".to_owned());
            }
        }
        let (x, y) = self.place(self.count() - 1);
        let (right, bottom) = (x + self.width, y + self.height);
        let (wide, high) = self.paper.size();
        for (what, reach, paper) in [("across", right, wide), ("down", bottom, high)] {
            if reach > paper {
                return problem(
                    format!("the labels reach {} {what}", reach.show_marked(unit)),
                    format!("{} is {} {what}", self.paper.words(), paper.show_marked(unit)),
                );
            }
        }
        Ok(())
    }
}

const fn tenths(n: i64) -> Length {
    Length::from_nm(n * crate::length::NM_PER_MM / 10)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_sheets_fill_their_paper_evenly() {
        for stock in Stock::USUAL {
            stock.check().unwrap();
            let (x, y) = stock.place(stock.count() - 1);
            let (wide, high) = stock.paper.size();
            assert_eq!((x + stock.width + stock.left, y + stock.height + stock.top), (wide, high), "{}", stock.words());
            assert_eq!(Stock::named(&stock.code()), Some(stock));
        }
        // From memory: half an inch above, 3/16 in at the left.
        let three_by_ten = Stock::USUAL[0];
        assert_eq!(three_by_ten.words(), "Letter, 3 x 10 of 2 5/8 x 1 in");
        assert_eq!((three_by_ten.left, three_by_ten.top), (Length::inches(3, 16), Length::inches(1, 2)));
        assert_eq!(three_by_ten.place(4), (Length::inches(47, 16), Length::inches(3, 2)));
        assert_eq!(Stock::USUAL[4].words(), "A4, 3 x 7 of 63.5 x 38.1 mm");
        assert_eq!((Stock::USUAL[3].left, Stock::USUAL[3].top), (Length::ZERO, Length::from_nm(500_000)));
    }

    #[test]
    fn a_sheet_that_cannot_be_says_what_is_wrong() {
        let usual = Stock::USUAL[3];
        for (stock, words) in [
            (Stock { columns: 0, ..usual }, "0 x 8 labels"),
            (Stock { columns: 4, ..usual }, "reach 280 mm across; A4 is 210 mm across"),
            (Stock { rows: 9, ..usual }, "down"),
            (Stock { width: Length::mm(20), ..usual }, "at least 60 x 25 mm"),
            (Stock { left: Length::mm(-1), ..usual }, "left margin is negative"),
        ] {
            let said = stock.check().unwrap_err().to_string();
            assert!(said.contains(words), "{said}");
        }
    }
}
