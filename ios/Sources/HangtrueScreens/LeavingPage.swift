// What is missing before leaving.
import HangtrueState
import SwiftUI

/// What stands open in the house; each row leads there.
struct LeavingPage: View {
    @EnvironmentObject private var watched: Watched
    let screen: Screen
    let leaving: Leaving

    var body: some View {
        Page(screen) {
            HStack(spacing: 10) {
                if leaving.rows.isEmpty { Mark(.tick, \.ink) }
                Words(leaving.says, font: .title3, weight: .medium)
            }
            ProgressLine(progress: leaving.progress, what: "openings")
            ForEach(Array(leaving.rows.enumerated()), id: \.offset) { _, row in
                Card {
                    Heading(row.opening)
                    Asked(severity: row.severity, asks: row.asks, says: row.says)
                    Press(row.go.label, spoken: "\(row.go.spoken): \(row.opening)", live: row.go.live, id: row.go.id) {
                        watched.state.act(row.go.event)
                    }
                }
            }
        }
    }
}
