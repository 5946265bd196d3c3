//! The core's records as they cross the boundary: each is said again here, field by field, and the compiler checks that
//! it is the same. Nothing is converted and nothing decided.

use hangtrue_core::flag::Severity;
use hangtrue_core::house::{Place, Step};
use hangtrue_core::length::LengthUnit;
use hangtrue_core::mount::Form;
use hangtrue_core::walk::screen::{
    AskRow, ChoiceGroup, Drawing, Figure, FigureRow, FlagCard, HouseRow, HouseScreen, Houses, HowFar, Ink, Leaving,
    LeavingRow, MarkKind, Naming, Notice, OpeningRow, OpeningScreen, PenLine, PenMark, PenWords, PlaceChip, PlaceState,
    ReadingRow, ReadingScreen, RoomRow, Screen, SettingRow, SettingsScreen, Shown, SyncScreen, Touch, Way,
};
use hangtrue_core::walk::{Change, Event, Hand, PadKey, Theme};
use uuid::Uuid;

// An id crosses as its text, a place as its code (`width_top`).
uniffi::custom_type!(Uuid, String, {
    remote,
    lower: |id| id.to_string(),
    try_lift: |text| Ok(Uuid::parse_str(&text)?),
});
uniffi::custom_type!(Place, String, {
    remote,
    lower: |place| place.code().to_owned(),
    try_lift: |code| Place::from_code(&code).ok_or_else(|| uniffi::deps::anyhow::anyhow!("there is no place \"{code}\"")),
});

/// How much a flag asks of a person.
#[uniffi::remote(Enum)]
pub enum Severity {
    /// Worth knowing; nothing needs to be done.
    Know,
    /// A choice is to be made before cutting.
    Decide,
    /// Take the reading again before leaving the house.
    TakeAgain,
}

/// The unit a length is written in, or that a bare number takes.
#[uniffi::remote(Enum)]
pub enum LengthUnit {
    /// Inches and fractions: `34 3/8`.
    #[default]
    Inch,
    /// Feet, inches and fractions: `2' 10 3/8"`.
    Foot,
    /// Millimetres: `873`.
    Millimetre,
    /// Centimetres: `87.3`.
    Centimetre,
    /// Metres: `0.873`.
    Metre,
}

/// The ways a shade is mounted.
#[uniffi::remote(Enum)]
pub enum Form {
    /// Between the jambs, the board laid flat under the head and screwed up into it.
    Inside,
    /// On the wall, the board on its face, screwed straight through.
    OutsideFlush,
    /// On the wall, the board flat on the arms of L brackets.
    OutsideBrackets,
    /// Before the wall, the board flat under the ceiling and screwed up into it.
    OutsideCeiling,
    /// On the face of a beam or frame, the board on its own face, screwed straight through.
    OutsideFace,
}

/// A step of a shade's way.
#[uniffi::remote(Enum)]
pub enum Step {
    /// Cloth ordered.
    Ordered,
    /// Cloth here.
    Here,
    /// Cut.
    Cut,
    /// Made.
    Made,
    /// Hung.
    Hung,
}

/// What a hand did. Every button carries the event that it stands for.
#[uniffi::remote(Enum)]
pub enum Event {
    /// To the list of houses.
    ShowHouses,
    /// Into a house.
    ShowHouse {
        /// The house.
        house: Uuid,
    },
    /// To what an opening's readings say.
    ShowOpening {
        /// The opening.
        opening: Uuid,
    },
    /// To what is missing before leaving.
    ShowLeaving,
    /// To the settings.
    ShowSettings,
    /// To the sync state.
    ShowSync,
    /// Reads on at an opening, at whatever comes next there.
    Measure {
        /// The opening.
        opening: Uuid,
    },
    /// Reads at one place: the first time, or again.
    GoTo {
        /// The opening.
        opening: Uuid,
        /// The place.
        place: Place,
    },
    /// One screen back.
    Back,
    /// Words were typed into a [`screen::Naming`]; they are kept half typed.
    TypeWords {
        /// The naming's slot.
        slot: String,
        /// All that is typed there.
        text: String,
    },
    /// The words of a [`screen::Naming`] are given.
    GiveWords {
        /// The naming's slot.
        slot: String,
        /// The words.
        text: String,
    },
    /// Takes a room or an opening out of the house.
    Remove {
        /// The room or opening.
        on: Uuid,
    },
    /// Brings back a room or an opening that was taken out.
    BringBack {
        /// The room or opening.
        on: Uuid,
    },
    /// A key of the pad.
    Press {
        /// The key.
        key: PadKey,
    },
    /// Keeps the number and goes on.
    Accept,
    /// Goes on without reading.
    Later,
    /// Leaves the place out.
    Skip {
        /// Why.
        why: String,
    },
    /// Corrects the typing of a reading: the next number accepted takes its place.
    Amend {
        /// The reading.
        reading: Uuid,
    },
    /// Takes a reading back.
    Withdraw {
        /// The reading.
        reading: Uuid,
        /// Why; may be empty.
        why: String,
    },
    /// Takes the last thing back.
    Undo,
    /// Does again what was last taken back.
    Redo,
    /// Gives a field a value.
    Choose {
        /// The house, room or opening.
        on: Uuid,
        /// The field: `choices.mount`.
        field: String,
        /// The value as text; nothing for the default.
        value: Option<String>,
    },
    /// Chooses a way of mounting: mount, and how an outside board is held.
    ChooseWay {
        /// The opening.
        opening: Uuid,
        /// The way.
        form: Form,
    },
    /// Gives several fields their values in one touch: what would work, one length for a set.
    SetAll {
        /// The fields and their values.
        changes: Vec<Change>,
    },
    /// Answers a question of an opening, or of the set that it hangs in: it is left as it is, and this is why.
    Decide {
        /// The opening; any of a set.
        opening: Uuid,
        /// The code of the flag that asks.
        flag: String,
        /// The places that it names.
        places: Vec<Place>,
        /// Why.
        why: String,
    },
    /// Takes an answer back: the question is open again.
    AskAgain {
        /// The opening; any of a set.
        opening: Uuid,
        /// The code of the flag that asks.
        flag: String,
        /// The places that it names.
        places: Vec<Place>,
    },
    /// Begins a shade that is made as one that hangs: a new opening with its choices and readings, two of which are asked again.
    Again {
        /// The opening whose shade hangs.
        opening: Uuid,
    },
    /// Goes to the opening that a label's code tells of.
    OpenLabel {
        /// What the code says.
        code: String,
    },
    /// Marks all that the house's plan cuts now as cut, at once.
    MarkAll {},
    /// Marks a step of a shade as done, or takes the mark back.
    Mark {
        /// The opening.
        opening: Uuid,
        /// The step.
        step: Step,
    },
    /// Reads what an ask of the workroom names.
    Answer {
        /// The ask.
        ask: Uuid,
    },
    /// Closes an ask without reading.
    CloseAsk {
        /// The ask.
        ask: Uuid,
    },
    /// The pad's unit from now on. Digits that are typed stay as they were typed.
    UseUnit {
        /// The unit.
        unit: LengthUnit,
    },
    /// The hand that holds the device.
    UseHand {
        /// The hand.
        hand: Hand,
    },
    /// The colours.
    UseTheme {
        /// The colours.
        theme: Theme,
    },
}

/// A field and the value that it is to have.
#[uniffi::remote(Record)]
pub struct Change {
    /// The house, room or opening.
    pub on: Uuid,
    /// The field: `choices.board`.
    pub field: String,
    /// The value as text; nothing for the default.
    pub value: Option<String>,
}

/// The hand that holds the device.
#[uniffi::remote(Enum)]
pub enum Hand {
    /// The right one.
    #[default]
    Right,
    /// The left one.
    Left,
}

/// The colours of the screens.
#[uniffi::remote(Enum)]
pub enum Theme {
    /// For a room.
    #[default]
    Indoors,
    /// For bright light behind the glass: the strongest contrast.
    Outdoors,
}

/// One key of the pad that adds to a number or takes off it.
#[uniffi::remote(Enum)]
pub enum PadKey {
    /// A digit, 0 to 9.
    Digit(u8),
    /// The first two digits of a long number in one touch, 10 to 24: millimetres only.
    Pair(u8),
    /// A fraction of an inch in sixteenths, 1 to 15; a second one takes the place of the first.
    Sixteenths(u8),
    /// What was typed are feet: inches follow.
    Feet,
    /// The decimal point before the tenths of a millimetre.
    Point,
    /// The other sign, where a reading has a side.
    Sign,
    /// Takes off the last key.
    Erase,
}

/// Everything one screen shows.
#[uniffi::remote(Record)]
pub struct Screen {
    /// Its title.
    pub title: String,
    /// The colours to draw it in.
    pub theme: Theme,
    /// The hand that holds the device: keys and the accept key lean to its side.
    pub hand: Hand,
    /// Leads back one screen; nothing is lost by it.
    pub back: Option<Touch>,
    /// Leads to the house, from what belongs to one opening of it.
    pub house: Option<Touch>,
    /// Takes the last thing back, saying what; it can be done again.
    pub undo: Option<Touch>,
    /// Does again what was last taken back.
    pub redo: Option<Touch>,
    /// What the last touch did, to be said aloud at once.
    pub notice: Option<Notice>,
    /// What it shows.
    pub shown: Shown,
}

/// What a screen shows.
#[uniffi::remote(Enum)]
pub enum Shown {
    /// All houses.
    Houses {
        /// What is on it.
        screen: Houses,
    },
    /// One house: its rooms and openings.
    House {
        /// What is on it.
        screen: HouseScreen,
    },
    /// The walk: one reading.
    Reading {
        /// What is on it.
        screen: ReadingScreen,
    },
    /// What an opening's readings say, and the choices for it.
    Opening {
        /// What is on it.
        screen: OpeningScreen,
    },
    /// What is missing before leaving.
    Leaving {
        /// What is on it.
        screen: Leaving,
    },
    /// The numbers of the house, and the ways of this device.
    Settings {
        /// What is on it.
        screen: SettingsScreen,
    },
    /// What is here, and what the workroom has.
    Sync {
        /// What is on it.
        screen: SyncScreen,
    },
}

/// What a touch did, or why it did nothing.
#[uniffi::remote(Record)]
pub struct Notice {
    /// One sentence.
    pub says: String,
    /// True when something was written durably: the tick.
    pub kept: bool,
}

/// Something to touch. The shell draws it and hands its event back.
#[uniffi::remote(Record)]
pub struct Touch {
    /// A stable name, the same on every device: `digit_3`, `accept`, `place_width_top`.
    pub id: String,
    /// What is written on it.
    pub label: String,
    /// What a screen reader says.
    pub spoken: String,
    /// False when it would do nothing now: drawn faint, not hidden.
    pub live: bool,
    /// True when it is the one that is chosen: shown by shape, not by colour alone.
    pub chosen: bool,
    /// What to hand back when it is touched.
    pub event: Event,
}

/// A number as it is shown and said.
#[uniffi::remote(Record)]
pub struct Figure {
    /// Its words as typed, or in the house's unit, with the unit: `34 3/8 in`.
    pub text: String,
    /// The same in the other unit: `873.1 mm`, with `about` where it is rounded.
    pub echo: String,
    /// As it is said: "thirty-four and three eighths inches".
    pub spoken: String,
}

/// A flag as it is drawn.
#[uniffi::remote(Record)]
pub struct FlagCard {
    /// Its stable code.
    pub code: String,
    /// How much it asks.
    pub severity: Severity,
    /// The severity in words, so that it is not told by colour alone.
    pub asks: String,
    /// One plain sentence.
    pub says: String,
    /// What would settle it.
    pub settle: String,
    /// Leads to the place that would settle it, when there is one.
    pub go: Option<Touch>,
}

/// How far something is.
#[uniffi::remote(Record)]
pub struct HowFar {
    /// Done.
    pub done: u32,
    /// Left out with a reason.
    pub skipped: u32,
    /// Of so many.
    pub of: u32,
}

/// The houses on this device.
#[uniffi::remote(Record)]
pub struct Houses {
    /// One row a house, the latest first; at most as many as were asked for.
    pub rows: Vec<HouseRow>,
    /// How many houses are in the list, shown or not.
    pub count: u32,
    /// What a house is looked for by: what is typed narrows the list at once.
    pub find: Naming,
    /// Begins a house.
    pub begin: Naming,
    /// Leads to the sync state.
    pub sync: Touch,
}

/// One house in the list.
#[uniffi::remote(Record)]
pub struct HouseRow {
    /// The house.
    pub id: Uuid,
    /// Leads into it.
    pub open: Touch,
    /// "3 openings, 21 readings".
    pub says: String,
}

/// A name being given: what is typed so far is kept like digits are.
#[uniffi::remote(Record)]
pub struct Naming {
    /// What the name is for: to be handed back with what is typed.
    pub slot: String,
    /// "Name of the house".
    pub prompt: String,
    /// What is typed so far.
    pub typed: String,
    /// Names that one touch gives.
    pub offers: Vec<Touch>,
    /// Gives the name that is typed.
    pub give: Touch,
}

/// One house.
#[uniffi::remote(Record)]
pub struct HouseScreen {
    /// The house.
    pub id: Uuid,
    /// Its rooms, in the order of the walk.
    pub rooms: Vec<RoomRow>,
    /// How far the house is, in openings.
    pub progress: HowFar,
    /// Adds a room.
    pub add_room: Naming,
    /// Gives the house another name.
    pub rename: Naming,
    /// What else is known of it: address, client, year, a remark.
    pub about: Vec<Naming>,
    /// Puts it away, or back into the list of houses.
    pub away: Touch,
    /// Goes on with the walk at the first thing that stands open.
    pub walk: Touch,
    /// Leads to what is missing before leaving.
    pub leaving: Touch,
    /// Leads to the settings.
    pub settings: Touch,
    /// Leads to the sync state.
    pub sync: Touch,
    /// What two devices set apart, and what could not be used.
    pub flags: Vec<FlagCard>,
}

/// One room of a house.
#[uniffi::remote(Record)]
pub struct RoomRow {
    /// The room.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// Its openings, in the order of the walk.
    pub openings: Vec<OpeningRow>,
    /// Adds an opening to it.
    pub add_opening: Naming,
    /// Gives it another name.
    pub rename: Naming,
    /// Puts it before the one that it follows in the walk.
    pub earlier: Touch,
    /// Takes it out of the house; undo brings it back.
    pub remove: Touch,
}

/// One opening of a room.
#[uniffi::remote(Record)]
pub struct OpeningRow {
    /// The opening.
    pub id: Uuid,
    /// Leads to what it is.
    pub open: Touch,
    /// Goes on with its readings.
    pub measure: Touch,
    /// How far it is, in places.
    pub progress: HowFar,
    /// "4 of 8 read; depth skipped".
    pub says: String,
    /// The worst that its flags ask, in words; empty when there is nothing.
    pub asks: String,
    /// The workroom's ask, when one is unanswered.
    pub asked: Option<String>,
    /// Gives it another name.
    pub rename: Naming,
    /// Puts it before the one that it follows in the walk.
    pub earlier: Touch,
    /// Takes it out of the house; undo brings it back.
    pub remove: Touch,
}

/// The walk at one place.
#[uniffi::remote(Record)]
pub struct ReadingScreen {
    /// The opening.
    pub opening: Uuid,
    /// The place's code: `width_top`.
    pub place: String,
    /// What to read, in a few words: "Top width".
    pub prompt: String,
    /// How the tape is laid there.
    pub how: String,
    /// Why this one, when it is not merely the next: the workroom asks, or the readings leave a doubt, or a reading
    /// is being corrected.
    pub because: String,
    /// A question about the opening that is answered in one touch; nothing waits for it.
    pub ask: Option<ChoiceGroup>,
    /// The drawing with the place lit.
    pub drawing: Drawing,
    /// The digits typed so far, as they were typed; empty when there are none.
    pub typed: String,
    /// The unit on the pad, short: `in`.
    pub unit: String,
    /// The number in the other unit; empty while there is none.
    pub echo: String,
    /// The number as it is said; "nothing typed" while there is none.
    pub spoken: String,
    /// Why what is typed is no length yet; empty when it is one, or nothing is typed.
    pub problem: String,
    /// The digits, 1 to 9 and then 0.
    pub digits: Vec<Touch>,
    /// Fractions of an inch, or the first two digits of a long number in millimetres: one touch each.
    pub quick: Vec<Touch>,
    /// Erase, then feet or point, then the sign where there is one.
    pub edit: Vec<Touch>,
    /// The units.
    pub units: Vec<Touch>,
    /// Keeps the number and goes on: the widest key.
    pub accept: Touch,
    /// Goes on without reading; it stays open.
    pub later: Touch,
    /// Reasons to leave the place out, one touch each.
    pub skips: Vec<Touch>,
    /// A reason in own words.
    pub skip_words: Naming,
    /// Flags while the tape is in hand: those that touch this place first.
    pub flags: Vec<FlagCard>,
    /// What was read here before, the newest first, also what no longer stands.
    pub before: Vec<ReadingRow>,
    /// All places of the opening, those needed first; each leads there.
    pub places: Vec<PlaceChip>,
    /// How far the opening is, in places.
    pub opening_progress: HowFar,
    /// How far the house is, in openings.
    pub house_progress: HowFar,
    /// Leads to the opening's result.
    pub result: Touch,
    /// Switches colours.
    pub theme: Touch,
    /// Switches hands.
    pub hand: Touch,
}

/// One reading that was taken.
#[uniffi::remote(Record)]
pub struct ReadingRow {
    /// The reading.
    pub id: Uuid,
    /// Where.
    pub place: String,
    /// Where, in words.
    pub place_words: String,
    /// What was read.
    pub figure: Figure,
    /// When, in milliseconds since 1970.
    pub at_ms: i64,
    /// By whom.
    pub by: String,
    /// True when it counts.
    pub stands: bool,
    /// Why it does not count; empty when it does.
    pub says: String,
    /// Corrects its typing: the new number takes its place.
    pub amend: Touch,
    /// Takes it back: it is kept, and no longer counts.
    pub withdraw: Touch,
}

/// How a place stands.
#[uniffi::remote(Enum)]
pub enum PlaceState {
    /// To be read.
    Open,
    /// Half typed: digits stand on its pad.
    Begun,
    /// Read.
    Read,
    /// Read, and a flag asks to take it again.
    Doubtful,
    /// Left out, with a reason.
    Skipped,
    /// Not needed; may be read.
    Welcome,
}

/// One place of the opening, to go to.
#[uniffi::remote(Record)]
pub struct PlaceChip {
    /// Leads there.
    pub go: Touch,
    /// How it stands.
    pub state: PlaceState,
    /// What was last read there, or typed so far; empty when nothing.
    pub text: String,
}

/// A drawing in a box of 1000 by 1000, y down. Numbers are for drawing alone.
#[uniffi::remote(Record)]
pub struct Drawing {
    /// What it shows, for who cannot see it.
    pub spoken: String,
    /// Lines, drawn in this order.
    pub lines: Vec<PenLine>,
    /// Words.
    pub labels: Vec<PenWords>,
    /// Arrow heads and hooks.
    pub marks: Vec<PenMark>,
}

/// How a line is drawn.
#[uniffi::remote(Enum)]
pub enum Ink {
    /// The opening's edges.
    Edge,
    /// Trim, sill, wall, floor: thin.
    Around,
    /// A place that was read.
    Read,
    /// The place to read now: thick.
    Lit,
    /// A place in doubt: dashed.
    Doubt,
    /// The shade.
    Shade,
}

/// One line.
#[uniffi::remote(Record)]
pub struct PenLine {
    /// From, across.
    pub x1: i32,
    /// From, down.
    pub y1: i32,
    /// To, across.
    pub x2: i32,
    /// To, down.
    pub y2: i32,
    /// How.
    pub ink: Ink,
}

/// Words on a drawing, centred on a point.
#[uniffi::remote(Record)]
pub struct PenWords {
    /// Across.
    pub x: i32,
    /// Down.
    pub y: i32,
    /// The words.
    pub text: String,
    /// How.
    pub ink: Ink,
}

/// What a mark is.
#[uniffi::remote(Enum)]
pub enum MarkKind {
    /// The tape's hook.
    Hook,
    /// Where the tape is read.
    Arrow,
    /// A corner where the light shows, a screw, a bracket.
    Dot,
}

/// A mark on a drawing.
#[uniffi::remote(Record)]
pub struct PenMark {
    /// Across.
    pub x: i32,
    /// Down.
    pub y: i32,
    /// Where it points, in degrees clockwise from right.
    pub turn: i32,
    /// What it is.
    pub kind: MarkKind,
    /// How.
    pub ink: Ink,
}

/// What an opening's readings say.
#[uniffi::remote(Record)]
pub struct OpeningScreen {
    /// The opening.
    pub id: Uuid,
    /// What the readings say, in one sentence.
    pub says: String,
    /// The drawing with what was read.
    pub drawing: Drawing,
    /// All flags, the gravest first.
    pub flags: Vec<FlagCard>,
    /// Every reading, by place.
    pub readings: Vec<ReadingRow>,
    /// Places left out, with the reason.
    pub skipped: Vec<String>,
    /// What mount is advised and why, in one sentence.
    pub advice: String,
    /// The ways it can be mounted, side by side, and those that it cannot.
    pub ways: Vec<Way>,
    /// Numbers of the shade as it is mounted then, before the client chooses.
    pub shade: Vec<FigureRow>,
    /// What can be chosen.
    pub choices: Vec<ChoiceGroup>,
    /// The choices that are lengths, each to be typed; the prompt says what stands.
    pub lengths: Vec<Naming>,
    /// Adds a remark.
    pub note: Naming,
    /// Remarks, oldest first.
    pub notes: Vec<String>,
    /// Asks of the workroom that are not answered.
    pub asks: Vec<AskRow>,
    /// How far it is, in places.
    pub progress: HowFar,
    /// Goes on reading.
    pub measure: Touch,
    /// Goes to the next opening that stands open, if there is one.
    pub next: Option<Touch>,
}

/// One way to mount a shade.
#[uniffi::remote(Record)]
pub struct Way {
    /// "Inside", "Outside, flush".
    pub title: String,
    /// False when it cannot be mounted so, or not enough was read to tell.
    pub can: bool,
    /// True when the readings speak for it.
    pub advised: bool,
    /// Why, or why not, in one sentence.
    pub says: String,
    /// Its numbers.
    pub rows: Vec<FigureRow>,
    /// What it leaves to know or decide.
    pub flags: Vec<FlagCard>,
    /// Places to read before it can be told.
    pub missing: Vec<Touch>,
    /// Chooses it.
    pub choose: Touch,
}

/// A number with its name.
#[uniffi::remote(Record)]
pub struct FigureRow {
    /// "Finished width".
    pub name: String,
    /// The number.
    pub figure: Figure,
}

/// A choice to make.
#[uniffi::remote(Record)]
pub struct ChoiceGroup {
    /// The field: `choices.mount`.
    pub field: String,
    /// "Mount".
    pub title: String,
    /// The options; the first clears the choice where there is a default.
    pub options: Vec<Touch>,
}

/// An ask of the workroom.
#[uniffi::remote(Record)]
pub struct AskRow {
    /// The ask.
    pub id: Uuid,
    /// "The desk asks for the top width: an inch?".
    pub says: String,
    /// Goes to the first place that it names.
    pub answer: Touch,
    /// Closes it without reading.
    pub close: Touch,
}

/// What is missing before leaving.
#[uniffi::remote(Record)]
pub struct Leaving {
    /// One sentence: "Nothing is missing." or "3 things stand open."
    pub says: String,
    /// What stands open; each leads there.
    pub rows: Vec<LeavingRow>,
    /// How far the house is, in openings.
    pub progress: HowFar,
}

/// One thing that stands open.
#[uniffi::remote(Record)]
pub struct LeavingRow {
    /// The room and opening.
    pub opening: String,
    /// What stands open.
    pub says: String,
    /// How much it asks.
    pub severity: Severity,
    /// Where the opening stands because of it: "to decide".
    pub asks: String,
    /// Leads there.
    pub go: Touch,
}

/// The numbers of the house and the ways of this device.
#[uniffi::remote(Record)]
pub struct SettingsScreen {
    /// The house's numbers; empty when no house is open.
    pub rows: Vec<SettingRow>,
    /// The house's unit, region and the like.
    pub house: Vec<ChoiceGroup>,
    /// Leads to the workroom's numbers, which every house uses where it has none of its own.
    pub workroom: Option<Touch>,
    /// Writes the workroom's numbers down as this house's own, so that they stay when the workroom's change.
    pub hold: Option<Touch>,
    /// Who holds the device.
    pub by: Naming,
    /// Colours.
    pub themes: Vec<Touch>,
    /// Hands.
    pub hands: Vec<Touch>,
    /// The unit that the pad starts in.
    pub units: Vec<Touch>,
}

/// One number of the house.
#[uniffi::remote(Record)]
pub struct SettingRow {
    /// Its name: `inside_width_deduction`.
    pub name: String,
    /// Its name in words: "Inside width deduction".
    pub words: String,
    /// Its value here.
    pub value: String,
    /// The default: the workroom's where it has one, and else the built-in one.
    pub default: String,
    /// True when the house changed it.
    pub changed: bool,
    /// Why it is what it is.
    pub reason: String,
    /// Gives it another value.
    pub change: Naming,
    /// Goes back to the default.
    pub reset: Touch,
}

/// What is here, and what the workroom has.
#[uniffi::remote(Record)]
pub struct SyncScreen {
    /// One sentence.
    pub says: String,
    /// Facts that were written on this device.
    pub here: u64,
    /// Of them, those that the place of exchange confirmed to hold.
    pub with_workroom: u64,
    /// That place: "the workroom", or "the folder of exchange".
    pub place: String,
    /// When it last confirmed, in milliseconds since 1970.
    pub confirmed_ms: Option<i64>,
    /// Facts that wait for something: a newer program, or what they are about.
    pub waiting: u64,
}
