// What the tests share: real books in folders of their own, and a hand that presses what the screen has.
import Foundation
import Testing

@testable import HangtrueState

/// Tests with an empty folder for books, which each of them has for itself.
@MainActor
class BookCase {
    let folder: URL

    init() throws {
        folder = FileManager.default.temporaryDirectory.appendingPathComponent("hangtrue-test-\(UUID().uuidString)")
        try FileManager.default.createDirectory(at: folder, withIntermediateDirectories: true)
    }

    deinit {
        try? FileManager.default.removeItem(at: folder)
    }
}

/// The state over a real book in `folder`, with a clock that goes on by a second at every touch: no two are a bouncing thumb.
@MainActor
func stateIn(_ folder: URL, seed: UInt64 = 1, line: any Line = AtOnce()) -> WalkState {
    let path = folder.path
    return WalkState(line) { try HouseBook.openSeeded(folder: path, seed: seed) }
}

/// What is read at a window of an invented house, by the prompt that asks for it.
let window = [
    "Top width": "34 3/8",
    "Middle width": "34 7/16",
    "Bottom width": "34 3/8",
    "Left height": "58 1/4",
    "Right height": "58 1/4",
    "Rising diagonal": "67 5/8",
    "Falling diagonal": "67 5/8",
    "Depth": "3 1/2",
]

extension WalkState {
    /// The reading that is asked for.
    var reading: ReadingScreen {
        get throws {
            guard case .reading(let reading)? = screen?.shown else { throw NotShown(what: "a reading") }
            return reading
        }
    }

    /// The opening that is shown.
    var result: OpeningScreen {
        get throws {
            guard case .opening(let opening)? = screen?.shown else { throw NotShown(what: "an opening") }
            return opening
        }
    }

    /// The house that is shown.
    var house: HouseScreen {
        get throws {
            guard case .house(let house)? = screen?.shown else { throw NotShown(what: "a house") }
            return house
        }
    }

    /// Types `written` on the pad as a keyboard with real keys would.
    func type(_ written: String) throws {
        var keys = HardKeys()
        for letter in written {
            switch keys.press(.character(letter), try reading) {
            case .touch(let touch): act(touch.event)
            case .event(let event): act(event)
            case .taken: break
            case .none: throw NotShown(what: "a key for \"\(letter)\"")
            }
        }
    }

    /// Types `written` and keeps it.
    func keep(_ written: String) throws {
        try type(written)
        #expect(try reading.typed == written)
        act(try reading.accept.event)
    }

    /// Begins a house with one room and one window, and leaves the screen at its first reading.
    func begin(_ name: String = "Larch House") throws {
        act(.giveWords(slot: "house/in", text: name))
        act(.giveWords(slot: try house.addRoom.slot, text: "Kitchen"))
        act(.giveWords(slot: try house.rooms[0].addOpening.slot, text: "Window"))
        #expect(trouble == nil)
    }

    /// Reads on until nothing is asked for; what is asked beyond `window` - to settle a doubt - is put off.
    func readAll() throws {
        for _ in 0..<40 {
            guard case .reading(let reading)? = screen?.shown else { return }
            if let written = window[reading.prompt] { try keep(written) } else { act(reading.later.event) }
        }
        Issue.record("the walk asks without end")
    }

    /// Goes back until a house is shown.
    func backToHouse() throws {
        for _ in 0..<60 {
            if case .house? = screen?.shown { return }
            back()
        }
        throw NotShown(what: "a house")
    }
}

/// A screen that a test wants is not there.
struct NotShown: Error {
    let what: String
}
