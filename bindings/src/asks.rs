//! What the workroom asks to be measured again and nobody has answered: for a shell that says so while its screens are
//! away.

use crate::HouseBook;
use crate::fault::BookFault;
use uuid::Uuid;

/// An ask that stands open.
#[derive(Clone, PartialEq, Eq, Debug, uniffi::Record)]
pub struct OpenAsk {
    /// The ask; never used again.
    pub id: Uuid,
    /// The house.
    pub house: Uuid,
    /// Its name.
    pub house_name: String,
    /// The opening.
    pub opening: Uuid,
    /// Room and opening: "Kitchen, Window".
    pub opening_name: String,
    /// What to read again: "top width, left height"; empty when it is all of the opening.
    pub places: String,
    /// Why, in the workroom's words.
    pub why: String,
}

#[uniffi::export]
impl HouseBook {
    /// Every ask that nobody has answered, in houses that are not put away. Moves no screen and holds up no touch.
    ///
    /// # Errors
    /// [`BookFault::NotKept`] when the book cannot be read.
    pub fn open_asks(&self) -> Result<Vec<OpenAsk>, BookFault> {
        let book = self.lock().book.beside()?;
        let mut all = Vec::new();
        for line in book.houses()?.into_iter().filter(|line| line.asked > 0 && !line.away) {
            let Some(job) = book.job(line.job)? else { continue };
            for (room, opening) in job.openings() {
                for ask in opening.asks.iter().filter(|ask| !opening.is_answered(ask)) {
                    let places: Vec<&str> = ask.places.iter().map(|place| place.words()).collect();
                    all.push(OpenAsk {
                        id: ask.id,
                        house: job.id,
                        house_name: job.name.clone(),
                        opening: opening.id,
                        opening_name: format!("{}, {}", room.name, opening.name),
                        places: places.join(", "),
                        why: ask.why.clone(),
                    });
                }
            }
        }
        Ok(all)
    }
}
