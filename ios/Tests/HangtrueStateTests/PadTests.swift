// The pad under the thumb, the keyboard with real keys, and words that are typed.
import Foundation
import Testing

@testable import HangtrueState

@MainActor
final class PadTests: BookCase {
    /// Widths of phones held upright, in points, and one on its side: 320 is the smallest that iOS runs on.
    private let rooms = [320.0, 375, 393, 430, 852]

    private func each(_ test: (Pad, ReadingScreen, Hand, Double) throws -> Void) throws {
        let state = stateIn(folder)
        try state.begin()
        for unit in try state.reading.units {
            state.act(unit.event)
            let reading = try state.reading
            for hand in [Hand.right, .left] {
                for room in rooms { try test(Pad(reading, hand, room: room - 8), reading, hand, room) }
            }
        }
    }

    @Test func everyKeyIsThereOnceWholeAndLargeEnough() async throws {
        try each { pad, reading, _, room in
            let wanted = reading.digits + reading.quick + reading.edit + [reading.accept]
            #expect(Set(pad.keys.map(\.touch.id)) == Set(wanted.map(\.id)))
            #expect(pad.keys.count == wanted.count)
            let glass = CGRect(origin: .zero, size: pad.size).insetBy(dx: -0.01, dy: -0.01)
            for key in pad.keys {
                #expect(glass.contains(key.frame))
                #expect(key.frame.height >= (key.kind == .digit ? Reach.digit : Reach.touch))
                // five digits of 64 and their gaps need 352; the smallest phone has 312
                // eight keys over an inch of tape have 39 each there, and are higher for it
                let least = key.kind == .digit && room >= 375 ? Reach.digit : [.quick, .above, .below].contains(key.kind) ? 38 : Reach.touch
                #expect(key.frame.width >= least)
            }
        }
    }

    @Test func keysDoNotLieOnEachOtherAndDigitsKeepTheirDistance() async throws {
        try each { pad, _, _, _ in
            for (n, key) in pad.keys.enumerated() {
                for other in pad.keys.dropFirst(n + 1) {
                    let shared = key.frame.insetBy(dx: 0.01, dy: 0.01).intersects(other.frame.insetBy(dx: 0.01, dy: 0.01))
                    #expect(!shared, "\(key.touch.id) and \(other.touch.id)")
                    guard key.kind == .digit, other.kind == .digit else { continue }
                    let across = max(other.frame.minX - key.frame.maxX, key.frame.minX - other.frame.maxX)
                    let down = max(other.frame.minY - key.frame.maxY, key.frame.minY - other.frame.maxY)
                    #expect(max(across, down) >= Reach.gap - 0.001, "\(key.touch.id) and \(other.touch.id)")
                }
            }
        }
    }

    @Test func acceptIsTheWidestAndEndsAtTheThumbsSide() async throws {
        try each { pad, _, hand, _ in
            let accept = try #require(pad.keys.last)
            #expect(accept.kind == .accept)
            #expect(pad.keys.dropLast().allSatisfy { $0.frame.width < accept.frame.width })
            #expect(abs((hand == .left ? accept.frame.minX : accept.frame.maxX) - (hand == .left ? 0 : pad.size.width)) <= 0.001)
        }
    }

    /// 852 points is a usual phone held upright.
    @Test func thePadIsNoHigherThanTheBottomThirdOfAUsualPhone() async throws {
        try each { pad, _, _, _ in #expect(pad.size.height <= 852.0 / 3) }
    }

    @Test func fractionsLieAsOnATape() async throws {
        let state = stateIn(folder)
        try state.begin()
        let rows = quickRows(try state.reading.quick).map { $0.map(\.label) }
        #expect(rows == [
            ["1/16", "3/16", "5/16", "7/16", "9/16", "11/16", "13/16", "15/16"],
            ["1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"],
        ])
        #expect(quickRows([]).isEmpty)
    }

    /// Where a fraction's line is on an inch is its value: nothing of the layout is asked for that.
    @Test func everyFractionKeyMeetsItsOwnLine() async throws {
        try each { pad, reading, _, _ in
            guard let tape = pad.tape else { return #expect(!reading.quick.contains { $0.label.contains("/") }) }
            #expect(tape.lines.count == 17)
            let keys = pad.keys.filter { $0.kind == .above || $0.kind == .below }
            #expect(keys.count == 15)
            for key in keys {
                let number = key.touch.label.split(separator: "/").compactMap { Double($0) }
                let line = try #require(tape.lines.first { abs($0.x - pad.size.width * number[0] / number[1]) < 0.01 })
                #expect(abs(key.frame.midX - line.x) < 0.5, "\(key.touch.label)")
                #expect(line.up == (key.kind == .above))
                // the line ends in its key, and the tape stands between the rows
                #expect(key.kind == .above ? key.frame.maxY == tape.frame.midY : key.frame.minY == tape.frame.midY)
            }
        }
    }

    @Test func theTapeIsFilledToTheFractionThatWasChosen() async throws {
        let state = stateIn(folder)
        try state.begin()
        #expect(Pad(try state.reading, .right, room: 320).tape?.filled == 0)
        try state.type("34 5/8")
        #expect(Pad(try state.reading, .right, room: 320).tape?.filled == 200)
    }

    @Test func aKeyboardWritesWhatThePadWrites() async throws {
        let state = stateIn(folder)
        try state.begin()
        try state.type("34 11/16")
        #expect(try state.reading.typed == "34 11/16")
        var keys = HardKeys()
        func press(_ key: HardKeys.Key) throws -> HardKeys.Answer { keys.press(key, try state.reading) }
        // a fraction that is begun is all that is taken off
        for key in [HardKeys.Key.character(" "), .character("1"), .erase] {
            let answer = try press(key)
            #expect(answer == .taken)
        }
        guard case .touch(let erase) = try press(.erase) else { throw NotShown(what: "a key that erases") }
        state.act(erase.event)
        #expect(try state.reading.typed == "34")
        guard case .touch(let accept) = try press(.accept) else { throw NotShown(what: "a key that keeps") }
        #expect(accept.id == "accept")
        state.act(accept.event)
        // with nothing typed it would do nothing, and is still not anybody else's key
        let (nothing, unknown) = (try press(.accept), try press(.character("x")))
        #expect(nothing == .taken)
        #expect(unknown == .none)
    }

    @Test func aDeviceThatTypesGivesItsNumberWithItsUnit() async throws {
        let state = stateIn(folder)
        try state.begin()
        var keys = HardKeys()
        for letter in "873.1 mm" {
            switch keys.press(.character(letter), try state.reading) {
            case .touch(let touch): state.act(touch.event)
            case .event(let event): state.act(event)
            case .taken, .none: break
            }
        }
        guard case .event(let given) = keys.press(.accept, try state.reading) else { throw NotShown(what: "what was typed") }
        #expect(given == .giveWords(slot: "reading", text: "873.1 mm"))
        state.act(given)
        #expect(state.screen?.notice?.says == "Top width 873.1 mm, kept.")
        // on an inch pad a point is a point, and a letter long after is not part of the number
        try state.type("34.375")
        #expect(try state.reading.typed == "34.375")
        _ = keys.press(.character("3"), try state.reading, at: 100)
        let late = keys.press(.character("m"), try state.reading, at: 110)
        #expect(late == .none)
    }

    @Test func lettersAreShownAsTheyAreTypedAndTheCoreRulesWhenNothingIsOnItsWay() async throws {
        let state = stateIn(folder)
        guard case .houses(let houses)? = state.screen?.shown else { throw NotShown(what: "the houses") }
        var typed = NamingText(houses.begin)
        #expect(!typed.canGive)
        typed.text = "Elm "
        let told = typed.tell(houses.begin)
        state.act(try #require(told))
        let again = typed.tell(houses.begin)
        #expect(again == nil)
        guard case .houses(let now)? = state.screen?.shown else { throw NotShown(what: "the houses") }
        #expect(now.begin.typed == "Elm ")
        typed.text = "Elm R"
        typed.settle(now.begin, waiting: 1)
        #expect(typed.text == "Elm R")
        // letters that were told and are taken off again before the core answered are told again
        let longer = typed.tell(now.begin)
        typed.text = "Elm "
        let shorter = typed.tell(now.begin)
        #expect(longer == .typeWords(slot: now.begin.slot, text: "Elm R"))
        #expect(shorter == .typeWords(slot: now.begin.slot, text: "Elm "))
        typed.text = "Elm R"
        // an offer made before the last letter gives all letters
        let offer = try #require(now.begin.offers.first)
        guard case .giveWords(let slot, let text) = typed.give(offer, now.begin) else { throw NotShown(what: "an offer gives words") }
        #expect(text == "Elm R")
        state.act(.giveWords(slot: slot, text: text))
        #expect(state.screen?.title == "Elm R")
        typed.settle(now.begin, waiting: 0)
        #expect(typed.text == "Elm ")
    }
}
