// Runs the scenarios through the generated Swift and compares every screen and house with what the Rust test saw.
import Foundation
import HangtrueCore

/// Runs every scenario. `cargo test -p hangtrue-tests --test walk_scenario` writes the digests under target/scenarios/ first.
func compare(_ repository: URL) throws {
    for scenario in try Scenario.all(in: repository) {
        let file = scenario.name.replacingOccurrences(of: ".json", with: ".digests")
        let digests = try String(contentsOf: repository.appendingPathComponent("target/scenarios/\(file)"), encoding: .utf8)
        let want = digests.split(separator: "\n").map(String.init)
        guard want.count == scenario.steps.count else {
            throw Wrong("\(scenario.name): \(scenario.steps.count) steps here, \(want.count) in the Rust test")
        }
        let checked = try compare(scenario, want)
        guard checked > 0 else { throw Wrong("\(scenario.name) expects nothing") }
        print("\(scenario.name): \(want.count) steps as in Rust, \(checked) values checked")
    }
}

private func compare(_ scenario: Scenario, _ want: [String]) throws -> Int {
    let folder = try newFolder()
    defer { try? FileManager.default.removeItem(at: folder) }
    var books: [String: HouseBook] = [:]
    var now = ""
    var checked = 0
    for (n, step) in scenario.steps.enumerated() {
        func book() throws -> HouseBook {
            guard let book = books[now] else { throw Wrong("\(scenario.at(n)): no book is open") }
            return book
        }
        if let name = step["open"]?.string, let seed = step["seed"]?.whole {
            now = name
            // The old one first: two at once would be two programs on one file.
            books[name] = nil
            books[name] = try HouseBook.openSeeded(folder: folder.appendingPathComponent(name).path, seed: seed)
        } else if let name = step["book"]?.string {
            now = name
        } else if let touch = step["touch"]?.string {
            _ = try book().act(event: book().eventOf(touch: touch))
        } else if let number = step["type"]?.string {
            for key in try keys(number) { _ = try book().act(event: .press(key: key)) }
        } else if let slot = step["words"]?.string {
            _ = try book().act(event: .typeWords(slot: slot, text: step["text"]?.string ?? ""))
        } else if let event = step["event"] {
            _ = try book().act(event: eventFromJson(text: event.written()))
        } else if let event = step["refused"] {
            let before = try book().screenDigest()
            do {
                _ = try book().act(event: eventFromJson(text: event.written()))
                throw Wrong("\(scenario.at(n)): was not refused")
            } catch BookFault.Refused(let reason, let advice, _) {
                guard !reason.isEmpty, !advice.isEmpty else { throw Wrong("\(scenario.at(n)): refused without a word") }
            }
            guard try book().screenDigest() == before else { throw Wrong("\(scenario.at(n)): changed the screen") }
        } else if let ms = step["clock_step"]?.whole {
            try book().setClockStep(stepMs: ms)
        } else if let from = step["merge_from"]?.string, let other = books[from] {
            _ = try book().mergeFacts(lines: other.factsAfter(after: 0, limit: 10_000).lines)
        } else if let lines = step["merge"]?.string {
            _ = try book().mergeFacts(lines: lines)
        } else if let same = step["same_houses"]?.items {
            let houses = try Set(same.map { try books[$0.string ?? ""]?.housesDigest() })
            guard houses.count == 1 else { throw Wrong("\(scenario.at(n)): they are not the same") }
        } else {
            throw Wrong("\(scenario.at(n)): there is no such step")
        }
        checked += try scenario.expect(n, on: Json.read(book().screenJson()))
        guard try "\(book().screenDigest()) \(book().housesDigest())" == want[n] else {
            throw Wrong("\(scenario.at(n)): another screen than in Rust")
        }
    }
    return checked
}
