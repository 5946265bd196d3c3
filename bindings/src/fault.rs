//! What crosses the boundary when something cannot be done: two kinds, one for each thing a shell does about it.

use hangtrue_core::house::file::FileProblem;
use hangtrue_core::store::StoreProblem;
use hangtrue_core::sync::pairing::PairProblem;
use hangtrue_core::sync::{FirmProblem, HttpProblem, SyncProblem};
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

/// What a platform's HTTP client reports. What a hub refuses is no fault: it is an answer with its status.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error, uniffi::Error)]
pub enum HttpFault {
    /// Nothing was sent: no route, nobody listens, another certificate. The next address is tried.
    #[error("{reason}")]
    NotReached {
        /// What happened, in the client's words.
        reason: String,
    },
    /// It may have been sent, and no whole answer came: a time-out, a connection that was cut.
    #[error("{reason}")]
    BrokenOff {
        /// What happened, in the client's words.
        reason: String,
    },
}

impl From<uniffi::UnexpectedUniFFICallbackError> for HttpFault {
    fn from(error: uniffi::UnexpectedUniFFICallbackError) -> Self {
        Self::BrokenOff { reason: error.reason }
    }
}

/// What the core says, in its two parts: what is wrong, then what would be right, after the last semicolon.
fn parts(problem: &impl ToString, otherwise: &str) -> (String, String) {
    let said = problem.to_string();
    let (reason, advice) = said.rsplit_once("; ").unwrap_or((&said, otherwise));
    (reason.to_owned(), advice.to_owned())
}

/// A refusal in the core's words, with this advice where those hold none.
pub(crate) fn said(problem: &impl ToString, otherwise: &str) -> BookFault {
    let (reason, advice) = parts(problem, otherwise);
    BookFault::refused(reason, advice)
}

impl From<PairProblem> for BookFault {
    fn from(problem: PairProblem) -> Self {
        said(&problem, "show a new code at the workroom and start again")
    }
}

impl From<HttpProblem> for BookFault {
    fn from(problem: HttpProblem) -> Self {
        Self::refused(
            format!("the workroom is not reached: {}", problem.what),
            "see that this device is on the workroom's network, or type the workroom's address",
        )
    }
}

impl From<FirmProblem> for BookFault {
    fn from(problem: FirmProblem) -> Self {
        let (reason, advice) = parts(&problem, "do it again");
        match problem {
            FirmProblem::Another(mark) => Self::Refused { reason, advice, id: Some(mark) },
            FirmProblem::Unreadable { path, .. } | FirmProblem::NotKept { path, .. } => {
                Self::NotKept { reason, advice, id: Some(path.display().to_string()) }
            }
        }
    }
}

impl From<SyncProblem> for BookFault {
    fn from(problem: SyncProblem) -> Self {
        match problem {
            SyncProblem::Book(problem) => problem.into(),
            SyncProblem::Fact(_) | SyncProblem::Place(_) => said(&problem, "exchange again"),
        }
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
        let (reason, advice) = parts(&problem, "do it again");
        match problem {
            StoreProblem::NoHouse { job } => Self::Refused { reason, advice, id: Some(job.to_string()) },
            StoreProblem::PhotoName { name } => Self::Refused { reason, advice, id: Some(name) },
            StoreProblem::PhotoPart { sha256, .. } => Self::Refused { reason, advice, id: Some(sha256) },
            StoreProblem::Newer { path, .. }
            | StoreProblem::NoBook { path }
            | StoreProblem::NotABook { path, .. }
            | StoreProblem::Full { path, .. }
            | StoreProblem::Busy { path }
            | StoreProblem::Damaged { path, .. }
            | StoreProblem::Disk { path, .. }
            | StoreProblem::PhotoDamaged { path } => {
                Self::NotKept { reason, advice, id: Some(path.display().to_string()) }
            }
            StoreProblem::TooLong { .. } => Self::Refused { reason, advice, id: None },
            StoreProblem::IdTaken => Self::NotKept { reason, advice, id: None },
        }
    }
}
