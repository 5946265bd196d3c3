//! The house beside what is open in it, for screens that are wide enough for both.

use crate::HouseBook;
use crate::fault::BookFault;
use hangtrue_core::fact::Moment;
use hangtrue_core::walk::Event;
use hangtrue_core::walk::screen::Screen;

#[uniffi::export]
impl HouseBook {
    /// The screen of the house that is open, without going there: nothing moves and nothing is written. Nothing while no
    /// house is open.
    ///
    /// # Errors
    /// [`BookFault::NotKept`] when the book cannot be read.
    pub fn house_beside(&self) -> Result<Option<Screen>, BookFault> {
        let open = self.lock();
        let Some(house) = open.walk.house() else { return Ok(None) };
        // where nothing is written no moment is asked for
        let mut never = || Moment { ms: 0, random: [0; 10] };
        let step = open.walk.step(&Event::ShowHouse { house }, &open.world(), &mut never)?;
        Ok(Some(step.walk.screen(&open.world())))
    }
}
