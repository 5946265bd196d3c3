//! What was cut, against what is known now: the one question between a bench and a later reading.

use super::Worked;
use crate::flag::{Flag, Severity};
use crate::house::Job;

/// Asks about a shade that was cut and would be cut otherwise now; nothing while it is the size that it was cut to.
pub(super) fn cut_otherwise(job: &Job, worked: &Worked<'_>) -> Option<Flag> {
    let cut = worked.opening.progress.cut.as_ref()?;
    let mut all = Vec::new();
    match worked.mounts.advised() {
        None => all.push("it has no size any more".to_owned()),
        Some(mounting) => {
            let sizes = [("width", &cut.width, mounting.width.total), ("length", &cut.length, mounting.length.total)];
            for (what, was, is) in sizes {
                if let Some(was) = was.as_ref().filter(|was| was.value() != is) {
                    let (was, is) = (was.value().show_marked(job.unit), is.show_marked(job.unit));
                    all.push(format!("its finished {what} was {was} and would be {is}"));
                }
            }
        }
    }
    let chosen = &worked.opening.choices.cloth;
    if cut.cloth != *chosen {
        let name = |cloth: &Option<String>| cloth.clone().unwrap_or_else(|| "no cloth".to_owned());
        all.push(format!("it was {} and {} is chosen", name(&cut.cloth), name(chosen)));
    }
    (!all.is_empty()).then(|| {
        Flag::new(
            "cut_otherwise",
            Severity::Decide,
            &[],
            format!("It is cut already, and by what is known now it would be cut otherwise: {}.", all.join("; ")),
            "Hold what was cut against the opening before it is sewn on; then leave it as it is, or cut it anew and mark it again.",
        )
    })
}
