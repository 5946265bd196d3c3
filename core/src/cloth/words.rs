//! What a joined cut asks of the maker's hands, one step a line.

use super::{Bolt, Edge, PartOf, Placed, Plan, Seam, Want};
use crate::flag::listed;
use crate::length::Length;

impl Plan {
    /// How a want is cut in pieces and sewn up, one step a line; empty where it is one piece.
    pub fn join_steps(&self, bolt: &Bolt, wants: &[Want], want: usize) -> Vec<String> {
        let show = |length: Length| length.show_marked(bolt.unit);
        let mut pieces: Vec<&Placed> = self.pieces.iter().filter(|piece| piece.want == want).collect();
        if pieces.len() < 2 {
            return Vec::new();
        }
        pieces.sort_by_key(|piece| order(piece.part));
        let turned = pieces[0].turned;
        let sizes = pieces.iter().map(|piece| format!("{} {}", piece.part.words(), show(piece.across)));
        let mut steps = vec![format!(
            "Cut it in {} pieces: {}, {} {}, seams included",
            pieces.len(),
            listed(sizes),
            if turned { "high, each run" } else { "wide, each" },
            show(pieces[0].along)
        )];
        // A selvage is kept where a seam lies in it, at the inner edges alone: one line says them all where it is as wide.
        let edges = |piece: &Placed| [(piece.selvage_left, "left"), (piece.selvage_right, "right")];
        let kept: Vec<Length> = pieces
            .iter()
            .flat_map(|piece| edges(piece))
            .filter_map(|(kept, _)| (kept > Length::ZERO).then_some(kept))
            .collect();
        if kept.len() == 2 * (pieces.len() - 1) && kept.iter().all(|each| *each == kept[0]) {
            steps
                .push(format!("Keep {} of the selvage at every edge that is sewn; the seams lie in it", show(kept[0])));
        } else {
            for piece in &pieces {
                let words = edges(piece)
                    .into_iter()
                    .filter(|(kept, _)| *kept > Length::ZERO)
                    .map(|(kept, edge)| format!("{} of the selvage at its {edge} edge", show(kept)));
                let words: Vec<String> = words.collect();
                if !words.is_empty() {
                    steps.push(format!(
                        "{}: keep {}; the seam lies in it",
                        capital(&piece.part.words()),
                        listed(words)
                    ));
                }
            }
        }
        let print = wants.get(want).is_some_and(|want| want.match_line.is_some()) && bolt.is_patterned();
        let seams: Vec<&Seam> = self.seams_of(want).collect();
        // Where no print has to meet and all seams are alike, one line says them all.
        if let Some(first) = seams.first().filter(|first| !print && seams.iter().all(|seam| seam.takes == first.takes))
        {
            steps.push(format!("Sew them in this order, {} from both edges of each seam", show(first.takes)));
            return steps;
        }
        for seam in seams {
            steps.push(format!(
                "Sew the {}, {} from both edges{}; the seam is then {} from the {} cut edge",
                seam.words(),
                show(seam.takes),
                if print && seam.first_edge == Edge::Right { ", the print going on across it" } else { "" },
                show(seam.at),
                if seam.first_edge == Edge::Right { "left" } else { "top" },
            ));
        }
        let across = bolt.repeat_across.is_some();
        if print && !across && !turned {
            steps.push("Before cutting: see where the print goes on across; its repeat across is not known".to_owned());
        }
        steps
    }
}

/// From left to right, or from the top.
fn order(part: PartOf) -> (i64, u32) {
    match part {
        PartOf::Left(n) => (-i64::from(n), 0),
        PartOf::Whole | PartOf::Centre => (0, 0),
        PartOf::Right(n) => (i64::from(n), 0),
        PartOf::Band(n) => (0, n),
    }
}

fn capital(words: &str) -> String {
    let mut chars = words.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + chars.as_str())
}
