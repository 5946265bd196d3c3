// Words that are put together from what the core says: what a screen reader says of a row, and what it announces. The
// core's own words and numbers are never changed, only joined.
import Foundation
import HangtrueCore

/// A fault in words. The core's own say what was wrong and what would be right; anything else is shown as it is.
public func inWords(_ fault: any Error) -> String {
    switch fault {
    case BookFault.Refused(let reason, let advice, _): "\(sentence(reason)) \(sentence(advice))"
    case BookFault.NotKept(let reason, let advice, _): "Not kept. \(sentence(reason)) \(sentence(advice))"
    default: sentence(fault.localizedDescription)
    }
}

/// With a capital letter and one full stop.
public func sentence(_ words: String) -> String {
    var words = capital(words)
    while words.hasSuffix(".") { words.removeLast() }
    return words + "."
}

/// With a capital letter.
public func capital(_ words: String) -> String {
    words.prefix(1).uppercased() + words.dropFirst()
}

/// The day as it is written on a sheet: `2026-11-25`, in the time zone of the device.
public func isoDay(_ date: Date, in zone: TimeZone) -> String {
    var calendar = Calendar(identifier: .gregorian)
    calendar.timeZone = zone
    let day = calendar.dateComponents([.year, .month, .day], from: date)
    return String(format: "%04d-%02d-%02d", day.year ?? 0, day.month ?? 0, day.day ?? 0)
}

/// What a screen reader announces when the screen changes: what the touch did; the place that is asked for when it is
/// another one; the number when a key changed it; a reading that is doubted from now on. What else there is to know stands on
/// the screen and is not said over the next number.
public func announcement(from: Screen?, to: Screen) -> String {
    let notice = to.notice == from?.notice ? nil : to.notice?.says
    var words: [String] = [notice ?? ""]
    switch (from?.shown, to.shown) {
    case (.reading(let before)?, .reading(let now)) where before.opening == now.opening && before.place == now.place:
        // digits that went because they were kept are told by the notice
        if before.typed != now.typed, notice == nil { words.append(now.spoken) }
        if before.because != now.because { words.append(now.because) }
        if before.problem != now.problem { words.append(now.problem) }
        words += doubts(now, since: before)
    case (let before, .reading(let now)):
        words += [now.prompt, now.because, now.typed.isEmpty ? "" : now.spoken]
        if case .reading(let before)? = before { words += doubts(now, since: before) } else { words += doubts(now, since: nil) }
    default:
        if from?.title != to.title { words.append(to.title) }
    }
    return joined(words)
}

private func doubts(_ now: ReadingScreen, since before: ReadingScreen?) -> [String] {
    let known = before?.flags ?? []
    return now.flags.filter { flag in
        flag.severity == .takeAgain && !known.contains { $0.code == flag.code && $0.says == flag.says }
    }.map(spoken)
}

/// A flag as it is said.
public func spoken(_ flag: FlagCard) -> String {
    joined([flag.asks, flag.says, flag.settle])
}

/// A reading that was taken, as it is said.
public func spoken(_ row: ReadingRow) -> String {
    [row.placeWords, row.figure.spoken, row.says, row.by.isEmpty ? "" : "by \(row.by)"].filter { !$0.isEmpty }.joined(separator: ", ")
}

/// A number with its name, as it is said.
public func spoken(_ row: FigureRow) -> String {
    "\(row.name): \(row.figure.spoken)"
}

/// What stands below an opening's name in the list, a line each.
public func below(_ opening: OpeningRow) -> [String] {
    [opening.says, opening.asks, opening.asked ?? ""].filter { !$0.isEmpty }
}

/// An opening in the list, as it is said.
public func spoken(_ opening: OpeningRow) -> String {
    joined([opening.open.spoken] + below(opening))
}

/// A place of the opening, as it is said.
public func spoken(_ chip: PlaceChip) -> String {
    chip.text.isEmpty ? chip.go.spoken : "\(chip.go.spoken), \(chip.text)"
}

/// How far something is, in words.
public func inWords(_ progress: HowFar, _ what: String) -> String {
    let left = progress.skipped > 0 ? ", \(progress.skipped) left out" : ""
    return "\(progress.done) of \(progress.of) \(what)\(left)"
}

/// Sentences one after the other.
public func joined(_ parts: [String]) -> String {
    parts.filter { !$0.isEmpty }.map(sentence).joined(separator: " ")
}

/// A name that every file system takes: letters, digits, hyphens, points and blanks of `name`.
public func fileName(_ name: String) -> String {
    let safe = String(name.map { $0.isLetter || $0.isNumber || "-_. ".contains($0) ? $0 : "-" })
        .trimmingCharacters(in: CharacterSet(charactersIn: ". "))
    return safe.isEmpty ? "sheet" : safe
}
