// The settings of the house and of this device.
import HangtrueState
import SwiftUI

/// Colours, hand, unit, name; and the numbers of the house that is open, each with its reason.
struct SettingsPage: View {
    @EnvironmentObject private var watched: Watched
    let screen: Screen
    let settings: SettingsScreen

    private var title: String { settings.workroom == nil ? "For every house that has none of its own" : "Settings of this house" }

    var body: some View {
        let act: Act = { watched.state.act($0) }
        Page(screen) {
            EmptyView()
        } content: {
            Choose(title: "Colours", options: settings.themes, act: act)
            Choose(title: "Hand that holds the device", options: settings.hands, act: act)
            Choose(title: "Unit the pad starts in", options: settings.units, act: act)
            Foldaway(settings.by.prompt, settings.by)
            ForEach(settings.house, id: \.field) { Choose(title: $0.title, options: $0.options, act: act) }
            if let workroom = settings.workroom { Press(workroom, act: act) }
        } beside: {
            if !settings.rows.isEmpty { Heading(title, font: .title3).padding(.top, 8) }
            if let hold = settings.hold { Press(hold, act: act) }
            ForEach(settings.rows, id: \.name) { Setting(row: $0, act: act) }
        }
    }
}

private struct Setting: View {
    @State private var open = false
    let row: SettingRow
    let act: Act

    var body: some View {
        let value = row.value + (row.changed ? "; changed, the default is \(row.default)" : "")
        VStack(alignment: .leading, spacing: 6) {
            Leads(
                name: row.words, below: [value], spoken: joined([row.words, value]), id: "setting_\(row.name)",
                shape: row.changed ? .dot : nil
            ) { open.toggle() }
            if open || !row.change.typed.isEmpty {
                Card {
                    Words(row.reason)
                    NamingField(row.change)
                    Press(row.reset, act: act)
                }
            }
        }
    }
}
