// What is here, and what the workroom has of it.
import HangtrueState
import SwiftUI

/// How many facts are here, how many the workroom has, and when it last said so.
struct SyncPage: View {
    let screen: Screen
    let sync: SyncScreen

    var body: some View {
        Page(screen) {
            Words(sync.says, font: .title3, weight: .medium)
            Card {
                Count(name: "Facts here", value: String(sync.here))
                Count(name: "With the workroom", value: String(sync.withWorkroom))
                Count(name: "Last confirmed", value: sync.confirmedMs.map(clock) ?? "never yet")
                if sync.waiting > 0 {
                    Count(name: "Waiting for a newer program, or for what they are about", value: String(sync.waiting))
                }
            }
        }
    }

    /// A moment as this device writes dates and times.
    private func clock(_ ms: Int64) -> String {
        Date(timeIntervalSince1970: Double(ms) / 1000).formatted(date: .abbreviated, time: .shortened)
    }
}

private struct Count: View {
    let name: String
    let value: String

    var body: some View {
        HStack(spacing: 12) {
            Words(name, paint: \.quiet)
            Spacer(minLength: 0)
            Words(value, weight: .medium)
        }
        .accessibilityElement(children: .combine)
    }
}
