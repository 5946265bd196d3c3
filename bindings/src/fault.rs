//! What crosses the boundary when something cannot be done: two kinds, one for each thing a shell does about it.

use hangtrue_core::house::file::FileProblem;
use hangtrue_core::store::StoreProblem;
use hangtrue_core::walk::Refusal;

/// Why a call did nothing. What was acknowledged before stands.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error, uniffi::Error)]
pub enum BookFault {
    /// What was asked does not fit. Say the reason and draw the screen again.
    #[error("{reason}; {advice}")]
    Refused {
        /// What is wrong.
        reason: String,
        /// What would be right.
        advice: String,
        /// What it concerns, when it is one thing.
        id: Option<String>,
    },
    /// The disk or the file did not take it. Say the reason, leave the screen as it is, and do it again when the
    /// advice was followed: nothing is marked as kept.
    #[error("{reason}; {advice}")]
    NotKept {
        /// What is wrong.
        reason: String,
        /// What would be right.
        advice: String,
        /// The file, when it is one.
        id: Option<String>,
    },
}

impl BookFault {
    pub(crate) fn refused(reason: impl Into<String>, advice: impl Into<String>) -> Self {
        Self::Refused { reason: reason.into(), advice: advice.into(), id: None }
    }
}

impl From<Refusal> for BookFault {
    fn from(refusal: Refusal) -> Self {
        Self::Refused { reason: refusal.reason, advice: refusal.advice, id: refusal.id.map(|id| id.to_string()) }
    }
}

impl From<FileProblem> for BookFault {
    fn from(problem: FileProblem) -> Self {
        let reason = format!("line {}: {}", problem.line, problem.what);
        Self::Refused { reason, advice: problem.right, id: (!problem.path.is_empty()).then_some(problem.path) }
    }
}

impl From<StoreProblem> for BookFault {
    fn from(problem: StoreProblem) -> Self {
        let said = problem.to_string();
        // The store says what is wrong, then what would be right, after the last semicolon.
        let (reason, advice) = said.rsplit_once("; ").unwrap_or((&said, "do it again"));
        let (reason, advice) = (reason.to_owned(), advice.to_owned());
        match problem {
            StoreProblem::NoHouse { job } => Self::Refused { reason, advice, id: Some(job.to_string()) },
            StoreProblem::PhotoName { name } => Self::Refused { reason, advice, id: Some(name) },
            StoreProblem::PhotoPart { sha256, .. } => Self::Refused { reason, advice, id: Some(sha256) },
            StoreProblem::Newer { path, .. }
            | StoreProblem::NotABook { path, .. }
            | StoreProblem::Full { path, .. }
            | StoreProblem::Busy { path }
            | StoreProblem::Damaged { path, .. }
            | StoreProblem::Disk { path, .. }
            | StoreProblem::PhotoDamaged { path } => {
                Self::NotKept { reason, advice, id: Some(path.display().to_string()) }
            }
            StoreProblem::IdTaken => Self::NotKept { reason, advice, id: None },
        }
    }
}
