// The state behind the screens, on the real core.
import Foundation
import Testing

@testable import HangtrueState

@MainActor
final class WalkStateTests: BookCase {
    @Test func aWholeHouse() async throws {
        let state = stateIn(folder)
        guard case .houses(let houses)? = state.screen?.shown else { throw NotShown(what: "the houses come first") }
        #expect(houses.count == 0)
        #expect(!state.canGoBack)
        try state.begin()
        #expect(state.screen?.title == "Kitchen, Window")

        // a slip: two digits swapped. It is taken back and read again
        try state.keep("34 3/8")
        try state.type("43 7/16")
        state.act(try state.reading.accept.event)
        #expect(state.screen?.notice?.kept == true)
        state.act(try #require(state.screen?.undo).event)
        #expect(try state.reading.prompt == "Middle width")
        try state.readAll()

        #expect(try state.result.progress.done == 8)
        let inside = try #require(try state.result.ways.first)
        state.act(inside.choose.event)
        #expect(try state.result.ways.first?.choose.chosen == true)

        try state.backToHouse()
        #expect(try state.house.progress.done == 1)
        state.act(try state.house.leaving.event)
        guard case .leaving(let leaving)? = state.screen?.shown else { throw NotShown(what: "what is missing before leaving") }
        #expect(leaving.progress.of == 1)
        try state.backToHouse()
        state.act(try state.house.settings.event)
        guard case .settings(let settings)? = state.screen?.shown else { throw NotShown(what: "the settings") }
        state.act(try #require(settings.themes.first { !$0.chosen }).event)
        #expect(Look.of(state.screen?.theme) == .outdoors)
    }

    @Test func aLabelsCodeOpensItsOpening() async throws {
        let state = stateIn(folder)
        try state.begin()
        let at = try state.reading.opening
        guard case .showHouse(let house)? = state.screen?.house?.event else { throw NotShown(what: "the way to the house") }
        state.act(.showHouses)
        state.offered("hangtrue-label:1?house=\(house)&opening=\(at)&sizes=4f2a99c103de")
        #expect(try state.result.id == at)
        state.offered("hangtrue-label:1?house=0192a3b4-0000-7000-8000-0000000000ff&opening=\(at)&sizes=4f2a99c103de")
        #expect(state.trouble?.contains("not on this device") == true)
        #expect(try state.result.id == at)
        // an address of somebody else's does nothing
        state.offered("https://example.org/")
        #expect(try state.result.id == at)
    }

    @Test func theAppsDeathAtAnyKeyBringsBackTheSameScreen() async throws {
        var last: Screen?
        var seed: UInt64 = 0
        // every key in another life of the app; what it left on the disk is all that the next one has
        func life(_ act: (WalkState) throws -> Void) throws {
            seed += 1
            let state = stateIn(folder, seed: seed)
            if let last { #expect(state.screen == last) }
            try act(state)
            last = state.screen
            state.close()
        }
        try life { try $0.begin() }
        for key in ["3", "4", " 3/8"] { try life { try $0.type(key) } }
        try life { state in
            #expect(try state.reading.typed == "34 3/8")
            state.act(try state.reading.accept.event)
        }
        try life { state in
            let reading = try state.reading
            #expect(reading.prompt == "Middle width")
        }
        try life { $0.act(.typeWords(slot: try $0.reading.skipWords.slot, text: "behind a pian")) }
        try life { state in
            let reading = try state.reading
            #expect(reading.skipWords.typed == "behind a pian")
        }
    }

    @Test func whatTheCoreRefusesIsSaidInItsWordsAndChangesNothing() async throws {
        let state = stateIn(folder)
        try state.begin()
        let before = state.screen
        state.act(.goTo(opening: "00000000-0000-7000-8000-000000000000", place: "width_top"))
        #expect(state.screen == before)
        let trouble = try #require(state.trouble)
        #expect(trouble.contains("not in the house"))
        #expect(!trouble.contains("BookFault"))
        #expect(state.said.words == trouble)
        try state.type("1")
        #expect(state.trouble == nil)
    }

    @Test func aHouseFileGoesOutAndComesInAgain() async throws {
        let state = stateIn(folder.appendingPathComponent("one"))
        try state.begin()
        try state.readAll()
        try state.backToHouse()
        var file = ""
        state.houseFile(try state.house.id) { file = $0 }
        #expect(file.contains("34 7/16"))

        let other = stateIn(folder.appendingPathComponent("two"), seed: 500)
        other.takeIn(file)
        guard case .houses(let houses)? = other.screen?.shown else { throw NotShown(what: "the houses") }
        other.act(try #require(houses.rows.first).open.event)
        #expect(other.screen?.title == "Larch House")
        #expect(try other.house.progress.done == 1)
        // a file that is none is refused with its line
        other.takeIn("not a house")
        #expect(try #require(other.trouble).lowercased().contains("line 1"))
    }

    @Test func whatIsHandedToAnotherAppIsAFileUnderItsName() async throws {
        let state = stateIn(folder)
        try state.begin("Larch/House")
        try state.backToHouse()
        let house = try state.house
        let file = try await state.houseFileToHand(house.id, name: "Larch/House")
        defer { try? FileManager.default.removeItem(at: file) }
        #expect(file.lastPathComponent == "Larch-House.json")
        var asked = ""
        state.houseFile(house.id) { asked = $0 }
        #expect(try String(contentsOf: file, encoding: .utf8) == asked)
        let sheet = try await state.sheetToHand(house: house.id, opening: nil)
        defer { try? FileManager.default.removeItem(at: sheet) }
        #expect(sheet.pathExtension == "html")
        #expect(try String(contentsOf: sheet, encoding: .utf8).contains("Larch/House"))
        #expect(state.trouble == nil && state.waiting == 0)
        // the share sheet is told that there is nothing, and a person why
        await #expect(throws: (any Error).self) { try await state.sheetToHand(house: "nowhere", opening: nil) }
        #expect(state.trouble != nil && state.waiting == 0)
    }

    @Test func sheetsAreMadeWhenTheyAreAskedFor() async throws {
        let state = stateIn(folder)
        try state.begin()
        try state.readAll()
        try state.backToHouse()
        state.showSheets()
        #expect(state.canGoBack)
        var sheets: [SheetFile] = []
        let house = try state.house
        state.sheet(house: house.id, opening: nil) { sheets.append($0) }
        state.sheet(house: house.id, opening: house.rooms[0].openings[0].id) { sheets.append($0) }
        #expect(sheets.map(\.title) == ["Larch House", "Kitchen, Window"])
        #expect(sheets.allSatisfy { $0.html.contains(isoDay(Date(), in: .current)) })
        state.back()
        #expect(!state.sheets)
        #expect(try state.house.id == house.id)
    }

    @Test func aPhotoIsKeptOfWhatIsInTheHouseAndOfNothingElse() async throws {
        let state = stateIn(folder)
        try state.begin()
        let opening = try state.reading.opening
        state.addPhoto(on: opening, bytes: Data([0xFF, 0xD8, 0xFF, 0xD9]), caption: "the sill")
        #expect(state.trouble == nil)
        state.addPhoto(on: "00000000-0000-7000-8000-000000000000", bytes: Data([1]), caption: "")
        #expect(try #require(state.trouble).contains("no opening of the house"))
    }

    @Test func aBookThatCannotBeOpenedIsSaidAndTriedAgain() async throws {
        let file = folder.appendingPathComponent("taken")
        try Data("a file where a folder should be".utf8).write(to: file)
        let state = stateIn(file)
        #expect(state.screen == nil)
        #expect(try #require(state.trouble).hasPrefix("Not kept."))
        try FileManager.default.removeItem(at: file)
        state.reopen()
        #expect(state.screen != nil)
    }

    @Test func theAppsOwnFolderIsMade() async throws {
        let inner = folder.appendingPathComponent("Application Support/Hangtrue")
        let state = WalkState(AtOnce()) { try openBook(in: inner) }
        #expect(state.screen != nil)
        #expect(FileManager.default.fileExists(atPath: inner.path))
    }

    /// A queue keeps the order of a fast thumb, the screens are told on the main thread, and a pause waits for all of it.
    @Test func touchesReachTheCoreInTheirOrder() async throws {
        let state = stateIn(folder, line: OneQueue())
        await answered(state)
        state.act(.giveWords(slot: "house/in", text: "Larch House"))
        await answered(state)
        state.act(.giveWords(slot: try state.house.addRoom.slot, text: "Kitchen"))
        await answered(state)
        state.act(.giveWords(slot: try state.house.rooms[0].addOpening.slot, text: "Window"))
        await answered(state)
        for digit: UInt8 in [1, 2, 3, 4] { state.act(.press(key: .digit(digit))) }
        #expect(state.waiting == 4)
        state.pause()
        let kept = try HouseBook.openSeeded(folder: folder.path, seed: 99).screen()
        guard case .reading(let reading) = kept.shown else { throw NotShown(what: "a reading") }
        #expect(reading.typed == "1234")
        await answered(state)
        #expect(try state.reading.typed == "1234")
        state.close()
    }

    @Test func whoDrawsIsToldBeforeEveryChange() async throws {
        let state = stateIn(folder)
        var told: [String?] = []
        state.willChange = { told.append(state.screen?.title) }
        state.act(.showSync)
        #expect(told.first == "Houses")
        #expect(state.screen?.title != "Houses")
        let before = told.count
        state.showSheets()
        state.tell("No camera.")
        #expect(told.count >= before + 3)
    }

    private func answered(_ state: WalkState) async {
        for _ in 0..<2000 where state.waiting > 0 { try? await Task.sleep(nanoseconds: 5_000_000) }
        #expect(state.waiting == 0, "the core did not answer")
    }
}
