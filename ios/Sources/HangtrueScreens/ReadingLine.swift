// A reading that was taken.
import HangtrueState
import SwiftUI

/// Its number, when it no longer stands why, and what can be done about it.
struct ReadingLine: View {
    let row: ReadingRow
    var place = true
    let act: Act

    var body: some View {
        Card {
            VStack(alignment: .leading, spacing: 2) {
                if place { Words(row.placeWords, font: .subheadline, paint: \.quiet) }
                HStack(spacing: 10) {
                    Mark(row.stands ? .tick : .ring, \.ink, size: 16)
                    Words(row.figure.text, font: .title3, weight: .medium, paint: row.stands ? \.ink : \.quiet)
                }
                Words([row.figure.echo, row.says, row.by].filter { !$0.isEmpty }.joined(separator: "; "), font: .subheadline, paint: \.quiet)
            }
            .accessibilityElement(children: .ignore)
            .accessibilityLabel(Text(verbatim: spoken(row)))
            if row.amend.live || row.withdraw.live {
                Presses {
                    Press(row.amend, act: act)
                    Press(row.withdraw, act: act)
                }
            }
        }
    }
}
