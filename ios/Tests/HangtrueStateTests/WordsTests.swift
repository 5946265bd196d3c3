// Words that are joined here, and what is announced, on screens of the real core.
import Foundation
import Testing

@testable import HangtrueState

@MainActor
final class WordsTests: BookCase {
    @Test func faultsAreSaidInTheCoresWords() async throws {
        #expect(inWords(BookFault.Refused(reason: "it is not there", advice: "go back.", id: nil)) == "It is not there. Go back.")
        #expect(inWords(BookFault.NotKept(reason: "the disk is full", advice: "make room", id: nil)) == "Not kept. The disk is full. Make room.")
    }

    @Test func aFilesNameHasNothingThatAFileSystemRefuses() async throws {
        #expect(fileName("Alder Row 4.json") == "Alder Row 4.json")
        #expect(fileName("../4/8: Élan") == "-4-8- Élan")
        #expect(fileName("..") == "sheet")
    }

    @Test func aDayIsThatOfTheDevice() async throws {
        let moment = Date(timeIntervalSince1970: 1_764_028_800) // 2025-11-25 00:00 UTC
        #expect(isoDay(moment, in: try #require(TimeZone(identifier: "UTC"))) == "2025-11-25")
        #expect(isoDay(moment, in: try #require(TimeZone(secondsFromGMT: -3600))) == "2025-11-24")
    }

    @Test func eachKeyAnnouncesTheNumberAndEachReadingWhatWasKeptAndWhatIsNext() async throws {
        let state = stateIn(folder)
        try state.begin()
        #expect(state.said.words.contains("Top width."))
        try state.type("34")
        #expect(state.said.words == "Thirty-four inches.")
        try state.type(" 3/8")
        #expect(state.said.words == "Thirty-four and three eighths inches.")
        state.act(try state.reading.accept.event)
        #expect(state.said.words.hasPrefix("Top width 34 3/8 in, kept. Middle width."))
    }

    @Test func theSameWordsTwiceAreSaidTwice() async throws {
        let state = stateIn(folder)
        state.tell("No camera.")
        let first = state.said
        state.tell("No camera.")
        #expect(state.said != first)
    }

    @Test func aFlagIsAnnouncedWhenItRises() async throws {
        let state = stateIn(folder)
        try state.begin()
        try state.keep("34 3/8")
        try state.keep("34 7/16")
        try state.type("44 3/8")
        // what is half typed is not judged
        #expect(try state.reading.flags.allSatisfy { $0.severity != .takeAgain })
        state.act(try state.reading.accept.event)
        // said when it is kept, with what was kept
        let flag = try #require(try state.reading.flags.first { $0.severity == .takeAgain }, "ten inches out is doubted")
        #expect(state.said.words.hasPrefix("Bottom width 44 3/8 in, kept."))
        #expect(state.said.words.contains(sentence(flag.says)))
        #expect(!state.said.words.contains("othing typed"))
        // and not again while the next is typed
        try state.type("5")
        #expect(!state.said.words.contains(sentence(flag.says)))
    }

    @Test func everyRowHasWordsForAScreenReader() async throws {
        let state = stateIn(folder)
        try state.begin()
        try state.keep("34 3/8")
        for chip in try state.reading.places { #expect(!spoken(chip).isEmpty) }
        #expect(try state.reading.places.first { $0.go.id == "place_width_top" }.map(spoken)?.hasSuffix("34 3/8 in") == true)
        try state.readAll()
        for row in try state.result.readings {
            #expect(spoken(row).contains("inches"))
            #expect(!spoken(row).contains("/"))
        }
        for row in try state.result.shade + state.result.ways.flatMap(\.rows) {
            #expect(!spoken(row).contains("/"))
        }
        try state.backToHouse()
        let opening = try state.house.rooms[0].openings[0]
        #expect(spoken(opening).contains(opening.open.spoken.dropFirst()))
        #expect(inWords(HowFar(done: 3, skipped: 1, of: 8), "places") == "3 of 8 places, 1 left out")
    }
}
